#include <fmt/format.h>

#include <ostream>

#include "journal/open_journal.hpp"
#include "server/cli/coverage_shared.hpp"
#include "server/json/coverage.hpp"
#include "server/json/coverage_csv.hpp"

namespace waybourne::server {

namespace {

std::string level_words(const coverage::Acceptable& level) {
    const auto as_text = [](double value) { return fmt::format("{:.10g}", value); };
    std::string text;
    if (level.at_least) {
        text += ">= " + as_text(*level.at_least);
    }
    if (level.at_most) {
        text += (text.empty() ? "" : ", ") + ("<= " + as_text(*level.at_most));
    }
    if (level.below) {
        text += "< " + as_text(*level.below);
    }
    return text;
}

void print_each(const IndicatorAnswer& answer, const std::vector<coverage::Indicator>& indicators,
                const Words& words, std::ostream& out) {
    for (const coverage::Indicator& one : indicators) {
        const auto& level = answer.profile.acceptable.at(static_cast<std::size_t>(one.kind));
        const std::string name = words.text(
            Message{"server.coverage.indicator." + std::string(coverage::to_name(one.kind))});
        const char* const id = !one.value           ? "server.coverage.indicator_unknown"
                               : !one.is_acceptable ? "server.coverage.indicator_alone"
                               : *one.is_acceptable ? "server.coverage.indicator_met"
                                                    : "server.coverage.indicator_not_met";
        out << "  "
            << words.text(Message{
                   id,
                   {{"name", name},
                    {"value", one.value ? fmt::format("{:.2f} %", *one.value * 100) : ""},
                    {"numerator", one.numerator ? fmt::format("{:.10g}", *one.numerator) : ""},
                    {"denominator",
                     one.denominator ? fmt::format("{:.10g}", *one.denominator) : ""},
                    {"level", level_words(level)},
                    {"missing", joined(one.missing)}}})
            << '\n';
    }
}

void print_journal(const IndicatorAnswer& answer, const Words& words, std::ostream& out) {
    const JournalCounts& counts = answer.journal->counts;
    out << words.text(Message{"server.coverage.referred",
                              {{"received", std::to_string(counts.received)},
                               {"other", std::to_string(counts.other_conditions)},
                               {"without", std::to_string(counts.without_findings)},
                               {"outcome", std::to_string(counts.without_outcome)}}})
        << '\n';
    print_each(answer, answer.journal->indicators, words, out);
    if (!counts.above_monthly.empty()) {
        out << words.text(Message{"server.coverage.above_monthly",
                                  {{"names", joined(counts.above_monthly)}}})
            << '\n';
    }
}

void print_areas(const IndicatorAnswer& answer, const Words& words, std::ostream& out) {
    for (const AreaIndicator& one : answer.areas) {
        const char* const id = !one.is_met   ? "server.coverage.area_unknown"
                               : *one.is_met ? "server.coverage.area_met"
                                             : "server.coverage.area_not_met";
        const auto& area = one.availability;
        out << "  "
            << words.text(
                   Message{id,
                           {{"area", area.area},
                            {"people", area.population ? number(*area.population) : "-"},
                            {"functioning", number(area.functioning)},
                            {"comprehensive", number(area.comprehensive)},
                            {"maybe", number(area.maybe_functioning + area.maybe_comprehensive)}}})
            << '\n';
    }
}

void print_indicators(const IndicatorAnswer& answer, const Words& words, std::ostream& out) {
    out << words.text(Message{"server.coverage.indicators",
                              {{"first", coverage::to_text(answer.first)},
                               {"last", coverage::to_text(answer.last)},
                               {"source", answer.profile.source}}})
        << '\n';
    print_each(answer, answer.indicators, words, out);
    print_areas(answer, words, out);
    for (const Message& sentence : what_is_missing(answer)) {
        out << words.text(sentence) << '\n';
    }
    if (answer.journal) {
        print_journal(answer, words, out);
    }
}

}  // namespace

int run_coverage_indicators(const CoverageOptions& options, Terminal& terminal) {
    const IndicatorRequest request = indicator_request_of(options, terminal);
    const coverage::IndicatorProfile profile =
        options.profile.empty()
            ? default_indicator_profile()
            : coverage::parse_indicator_profile(text_of(options.profile, terminal));
    const Asked from = asked(options, terminal);
    const auto journal = request.from_journal
                             ? journal::open_journal(options.journal, journal::Access::read)
                             : nullptr;
    const IndicatorAnswer answer =
        answer_indicators(*from.snapshot, request, profile, from.now, journal.get());
    if (options.csv) {
        terminal.out << indicators_csv(answer);
    } else if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) { write_indicator_answer(json, answer); });
    } else {
        print_indicators(answer, from.words(), terminal.out);
    }
    return 0;
}

}  // namespace waybourne::server
