#include <fmt/format.h>

#include <ostream>

#include "journal/open_journal.hpp"
#include "server/cli/coverage_shared.hpp"
#include "server/json/coverage.hpp"

namespace waybourne::server {

namespace {

void print_journeys(const JourneysAnswer& answer, const Words& words, std::ostream& out) {
    const auto span_or_dash = [&](const std::optional<Seconds>& span) {
        return span ? words.span(*span) : "-";
    };
    for (const DelayGroup& group : answer.groups) {
        out << words.text(
                   Message{"server.coverage.journeys.group",
                           {{"group", group.name}, {"count", std::to_string(group.referrals)}}})
            << '\n';
        for (const auto& [name, spread] : group.delays) {
            out << "  "
                << words.text(
                       Message{"server.coverage.journeys.delay",
                               {{"delay", words.text(Message{"server.coverage.delay." + name})},
                                {"count", std::to_string(spread.count)},
                                {"median", span_or_dash(spread.median)},
                                {"ninetieth", span_or_dash(spread.ninetieth)}}})
                << '\n';
        }
    }
    for (const coverage::Calibration& one : answer.calibrations) {
        const char* const id = one.speed_factor   ? "server.coverage.journeys.factor"
                               : one.median_ratio ? "server.coverage.journeys.ratio"
                                                  : "server.coverage.journeys.few";
        const auto figure = [](const std::optional<double>& value) {
            return value ? fmt::format("{:.2f}", *value) : "";
        };
        out << words.text(Message{
                   id,
                   {{"when", words.text(Message{"server.report." + to_name(one.conditions)})},
                    {"count", std::to_string(one.journeys)},
                    {"ratio", figure(one.median_ratio)},
                    {"within", percent(one.share_within_allow)},
                    {"factor", figure(one.speed_factor)}}})
            << '\n';
    }
}

}  // namespace

int run_coverage_journeys(const CoverageOptions& options, Terminal& terminal) {
    const Asked from = asked(options, terminal);
    const auto journal = journal::open_journal(options.journal, journal::Access::read);
    const JourneysAnswer answer = answer_journeys(*from.snapshot, *journal);
    if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) { write_journeys_answer(json, answer); });
    } else {
        print_journeys(answer, from.words(), terminal.out);
    }
    return 0;
}

}  // namespace waybourne::server
