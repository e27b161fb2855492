#include <fmt/format.h>

#include <ostream>

#include "journal/open_journal.hpp"
#include "server/cli/coverage_shared.hpp"
#include "server/json/coverage.hpp"
#include "server/json/coverage_csv.hpp"
#include "server/json/speed_offer.hpp"

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

void print_classes(const JourneysAnswer& answer, const Words& words, std::ostream& out) {
    out << words.text(Message{"server.coverage.journeys.classes",
                              {{"count", std::to_string(answer.ways)},
                               {"apart", std::to_string(coverage::fewest_to_calibrate)}}})
        << '\n';
    for (const coverage::ClassCalibration& one : answer.classes) {
        const char* const id = one.is_offered    ? "server.coverage.journeys.class_offered"
                               : one.time_factor ? "server.coverage.journeys.class"
                                                 : "server.coverage.journeys.class_few";
        const bool is_wet = one.surface == routing::Surface::wet;
        const char* const light = !one.light                            ? "both"
                                  : *one.light == routing::Light::night ? "night"
                                                                        : "day";
        out << "  "
            << words.text(Message{
                   id,
                   {{"road", one.road_class},
                    {"season",
                     words.text(Message{is_wet ? "server.report.wet" : "server.report.dry"}) +
                         ", " +
                         words.text(
                             Message{std::string("server.coverage.journeys.light.") + light})},
                    {"count", std::to_string(one.journeys)},
                    {"factor", one.time_factor ? fmt::format("{:.2f}", *one.time_factor) : ""},
                    {"error", one.error ? fmt::format("{:.2f}", *one.error) : ""}}})
            << '\n';
    }
}

}  // namespace

int run_coverage_journeys(const CoverageOptions& options, Terminal& terminal) {
    const Asked from = asked(options, terminal);
    const auto journal = journal::open_journal(options.journal, journal::Access::read);
    const JourneysAnswer answer = answer_journeys(*from.snapshot, *journal);
    if (!options.offer.empty()) {
        JsonWriter json{2};
        write_speed_offer(json, speed_offer(*from.snapshot, answer, from.now));
        write_new_file(options.offer, json.take() + '\n');
    }
    if (options.csv) {
        terminal.out << journeys_csv(answer);
    } else if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) {
            write_journeys_answer(json, *from.snapshot, answer, from.now);
        });
    } else {
        print_journeys(answer, from.words(), terminal.out);
        print_classes(answer, from.words(), terminal.out);
    }
    return 0;
}

int run_coverage_accept_speeds(const CoverageOptions& options, Terminal& terminal) {
    const SpeedOffer offer = parse_speed_offer(text_of(options.offer, terminal));
    const Asked from = asked(options, terminal);
    const AcceptedTable table =
        accepted_table(from.snapshot->speeds_text, offer, {options.by, options.why, from.now});
    write_new_file(options.output, table.text);
    if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) {
            json.begin_object().member("output", options.output);
            json.member("changes", offer.changes.size()).member("cut_off", table.cut_off);
            json.end_object();
        });
        return 0;
    }
    const Words words = from.words();
    terminal.out << words.text(Message{"server.coverage.speeds_written",
                                       {{"file", options.output},
                                        {"count", std::to_string(offer.changes.size())}}})
                 << '\n';
    if (!table.cut_off.empty()) {
        terminal.out << words.text(Message{"server.coverage.speeds_cut_off",
                                           {{"names", joined(table.cut_off)}}})
                     << '\n';
    }
    return 0;
}

}  // namespace waybourne::server
