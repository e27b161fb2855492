#include "server/report_sections.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "server/facility_name.hpp"
#include "server/json/coverage.hpp"
#include "server/report_pictures.hpp"

namespace waybourne::server {

namespace {

using Cells = ReportPage::Cells;
using Values = ReportPage::Values;

constexpr std::size_t most_names = 12;

std::string point_text(const GeoPoint& point) {
    return fmt::format("{:.4f}, {:.4f}", point.latitude().degrees, point.longitude().degrees);
}

std::string where_text(const routing::Where& where) {
    if (const auto* const name = std::get_if<routing::RoadName>(&where)) {
        return name->name;
    }
    const auto* const id = std::get_if<routing::RoadId>(&where);
    return id == nullptr ? "–" : std::to_string(id->value);
}

std::string care_text(triage::CapabilitySet care, const Words& words) {
    std::string text;
    for (const triage::Capability one : care.members()) {
        text += (text.empty() ? "" : ", ") + words.capability(one);
    }
    return text;
}

/// What one change says of itself, as values of its sentence.
struct ChangeValues {
    const facilities::FacilityRegister& places;
    const Words& words;

    Values operator()(const coverage::AddedService& one) const {
        return {{"place", name_of(places, one.facility)},
                {"care", care_text(one.capabilities, words)}};
    }
    Values operator()(const coverage::ExtendedHours& one) const {
        return {{"place", name_of(places, one.facility)}, {"hours", one.hours.text()}};
    }
    Values operator()(const coverage::AddedFacility& one) const {
        return {{"place", one.name},
                {"point", point_text(one.point)},
                {"care", care_text(one.capabilities, words)}};
    }
    Values operator()(const coverage::WaitingHome& one) const {
        return {{"place", name_of(places, one.facility)}, {"births", whole(one.births_per_year)}};
    }
    Values operator()(const coverage::VehiclePost& one) const {
        return {{"place", one.name},
                {"point", point_text(one.point)},
                {"span", one.mobilisation > 0s ? words.span(one.mobilisation) : "0"}};
    }
    Values operator()(const coverage::NewBridge& one) const {
        return {{"from", point_text(one.from)},
                {"to", point_text(one.to)},
                {"speed", fmt::format("{:.4g}", one.kilometres_per_hour)}};
    }
    Values operator()(const coverage::BridgedRoad& one) const {
        return {{"road", where_text(one.where)}};
    }
    Values operator()(const coverage::PavedRoad& one) const {
        return {{"road", where_text(one.where)}};
    }
    Values operator()(const coverage::ClosedRoad& one) const {
        return {{"road", where_text(one.where)}};
    }
};

std::string moved_names(const ReportPage& page, const std::vector<coverage::Settlement>& all,
                        const std::vector<std::size_t>& moved) {
    std::string names;
    for (std::size_t i = 0; i < std::min(most_names, moved.size()); ++i) {
        names += fmt::format("{}{} ({:.0f})", i == 0 ? "" : ", ", all[moved[i]].name,
                             all[moved[i]].births_per_year);
    }
    if (moved.size() > most_names) {
        names +=
            ", " + page.words("and_more", {{"count", std::to_string(moved.size() - most_names)}});
    }
    return names;
}

void write_plan(ReportPage& page, const coverage::Scenario& scenario, const ScenarioAnswer& answer,
                const CoverageAnswer& before, const Words& words) {
    page.raw("<h3>" + escaped(scenario.name) + "</h3>\n<ul>");
    const ChangeValues values{answer.after.facilities, words};
    for (const coverage::Change& change : scenario.changes) {
        page.raw("<li>" +
                 escaped(page.words("change." + std::string(coverage::to_name(change)),
                                    std::visit(values, change))) +
                 "</li>");
    }
    page.raw("</ul>\n");
    if (!answer.gained.lost.empty()) {
        page.paragraph(page.words("what_ifs.gain", {{"names", moved_names(page, before.settlements,
                                                                          answer.gained.lost)}}));
    }
    if (!answer.lost.lost.empty()) {
        page.paragraph(page.words(
            "what_ifs.lose", {{"names", moved_names(page, before.settlements, answer.lost.lost)}}));
    }
}

/// `at least 5 %, at most 15 %`
std::string level_text(const ReportPage& page, const coverage::Acceptable& level) {
    std::string text;
    const auto add = [&](const char* id, const std::optional<double>& value) {
        if (value) {
            text += (text.empty() ? "" : ", ") +
                    page.words(id, {{"value", fmt::format("{:.4g} %", *value * 100)}});
        }
    };
    add("level.at_least", level.at_least);
    add("level.at_most", level.at_most);
    add("level.below", level.below);
    return text.empty() ? "–" : text;
}

/// @param is_whole no month is missing
std::string judged_text(const ReportPage& page, const coverage::Indicator& one, bool is_whole) {
    if (!one.value) {
        std::string names;
        for (const std::string& name : one.missing) {
            names += (names.empty() ? "" : ", ") + page.words("missing." + name);
        }
        return page.words("judged.unknown", {{"names", names}});
    }
    if (!one.is_acceptable) {
        return page.words("judged.not_judged");
    }
    const std::string id = *one.is_acceptable ? "judged.met" : "judged.not_met";
    return page.words(is_whole ? id : id + ".so_far");
}

std::string count_text(const std::optional<double>& value) {
    return value ? fmt::format("{:.10g}", std::round(*value * 10) / 10) : "–";
}

void write_indicator_table(ReportPage& page, const IndicatorAnswer& answer,
                           const std::vector<coverage::Indicator>& all, bool is_judged,
                           const Words& words) {
    std::vector<Cells> rows;
    for (const coverage::Indicator& one : all) {
        const auto& level = answer.profile.acceptable.at(static_cast<std::size_t>(one.kind));
        rows.push_back({words.text(Message{"server.coverage.indicator." +
                                           std::string(coverage::to_name(one.kind))}),
                        judged_text(page, one, answer.missing.empty()),
                        is_judged ? level_text(page, level) : "–",
                        page.words("counted", {{"numerator", count_text(one.numerator)},
                                               {"denominator", count_text(one.denominator)}}),
                        one.value ? fmt::format("{:.1f} %", *one.value * 100) : "–"});
    }
    page.table({page.words("indicator"), page.words("judged"), page.words("level"),
                page.words("counts"), page.words("value")},
               rows, 3);
}

void write_area_table(ReportPage& page, const IndicatorAnswer& answer) {
    std::vector<Cells> rows;
    for (const AreaIndicator& one : answer.areas) {
        const auto& area = one.availability;
        rows.push_back({area.area,
                        page.words(!one.is_met   ? "enough.unknown"
                                   : *one.is_met ? "enough.yes"
                                                 : "enough.no"),
                        area.population ? whole(*area.population) : page.words("not_known"),
                        whole(area.functioning), whole(area.comprehensive)});
    }
    if (!rows.empty()) {
        page.table({page.words("area"), page.words("enough"), page.words("people"),
                    page.words("functioning"), page.words("comprehensive")},
                   rows, 2);
    }
}

void write_what_is_missing(ReportPage& page, const IndicatorAnswer& answer, const Words& words) {
    for (const Message& sentence : what_is_missing(answer)) {
        page.paragraph(words.text(sentence), "small");
    }
}

std::string group_text(const ReportPage& page, const DelayGroup& group,
                       const facilities::FacilityRegister& places) {
    constexpr std::string_view to = "to ";
    constexpr std::string_view sent = "sent ";
    if (group.name.starts_with(to)) {
        return page.words("journeys.to",
                          {{"name", name_of(places, FacilityId{group.name.substr(to.size())})}});
    }
    return group.name.starts_with(sent)
               ? page.words("journeys.sent", {{"hours", group.name.substr(sent.size())}})
               : page.words("journeys.all");
}

std::string span_text(const ReportPage& page, const std::optional<Seconds>& span) {
    return span ? page.span(*span) : "–";
}

const coverage::ObservedSpread* delay_of(const DelayGroup& group, const std::string& name) {
    const auto found = std::find_if(group.delays.begin(), group.delays.end(),
                                    [&](const auto& one) { return one.first == name; });
    return found == group.delays.end() ? nullptr : &found->second;
}

void write_all_delays(ReportPage& page, const DelayGroup& all, const Words& words) {
    std::vector<Cells> rows;
    std::vector<Bar> chart;
    double longest = 1;
    for (const auto& [name, spread] : all.delays) {
        longest =
            std::max(longest, static_cast<double>(spread.ninetieth.value_or(Seconds{1}).count()));
    }
    for (const auto& [name, spread] : all.delays) {
        const std::string step = words.text(Message{"server.coverage.delay." + name});
        rows.push_back({step, std::to_string(spread.count), span_text(page, spread.median),
                        span_text(page, spread.ninetieth)});
        if (spread.median && spread.ninetieth) {
            chart.push_back({step, static_cast<double>(spread.median->count()) / longest,
                             static_cast<double>(spread.ninetieth->count()) / longest,
                             page.span(*spread.ninetieth)});
        }
    }
    page.table(
        {page.words("step"), page.words("recorded"), page.words("half"), page.words("nine_of_ten")},
        rows, 1);
    if (!chart.empty()) {
        page.figure(bars(chart, page.words("journeys")), page.words("journeys.caption"));
    }
}

/// The steps that a planner can shorten, for each place and each quarter of the day.
void write_groups(ReportPage& page, const JourneysAnswer& answer,
                  const facilities::FacilityRegister& places) {
    std::vector<Cells> rows;
    for (std::size_t i = 1; i < answer.groups.size(); ++i) {
        const DelayGroup& group = answer.groups[i];
        Cells cells{group_text(page, group, places), std::to_string(group.referrals)};
        for (const char* const name : {"sent_to_arrival", "arrival_to_care", "decision_to_care"}) {
            const coverage::ObservedSpread* const spread = delay_of(group, name);
            cells.push_back(span_text(page, spread == nullptr ? std::nullopt : spread->median));
        }
        rows.push_back(std::move(cells));
    }
    if (!rows.empty()) {
        page.table({page.words("journeys.which"), page.words("referrals"),
                    page.words("half.sent_to_arrival"), page.words("half.arrival_to_care"),
                    page.words("half.decision_to_care")},
                   rows, 1);
    }
}

void write_against_the_table(ReportPage& page, const JourneysAnswer& answer, const Words& words) {
    std::vector<Cells> rows;
    for (const coverage::Calibration& one : answer.calibrations) {
        rows.push_back({page.words(to_name(one.conditions)), std::to_string(one.journeys),
                        one.median_ratio ? fmt::format("× {:.2f}", *one.median_ratio)
                                         : page.words("journeys.too_few"),
                        whole_percent(one.share_within_allow)});
    }
    page.table({page.words("when"), page.words("journeys.counted"), page.words("journeys.took"),
                page.words("journeys.within")},
               rows, 1);
    const bool is_offered = std::any_of(answer.classes.begin(), answer.classes.end(),
                                        [](const auto& one) { return one.is_offered; });
    if (is_offered) {
        page.paragraph(words.text(Message{"server.report.journeys.offered"}), "small");
    }
}

}  // namespace

void write_what_ifs(ReportPage& page, const CoverageReport& report, const Words& words) {
    page.heading("what_ifs");
    if (!report.what_ifs) {
        page.paragraph(page.words("what_ifs.none"), "small");
        return;
    }
    const WhatIfAnswer& answer = *report.what_ifs;
    std::vector<Cells> rows;
    std::vector<Bar> chart;
    const auto add = [&](const std::string& name, const coverage::AccessTotal& total,
                         const std::string& more) {
        rows.push_back({name, whole(total.in_time), whole_percent(total.at_least()), more});
        chart.push_back({name, total.at_least().value_or(0), total.at_most().value_or(0),
                         whole_percent(total.at_least())});
    };
    add(page.words("what_ifs.now"), answer.before.total, "");
    for (const ScenarioAnswer& one : answer.scenarios) {
        add(one.name, one.after.total,
            fmt::format("{:+.0f}", one.after.total.in_time - answer.before.total.in_time));
    }
    page.table({page.words("plan"), page.words("in_time"), page.words("share"),
                page.words("what_ifs.more")},
               rows, 1);
    page.figure(bars(chart, page.words("what_ifs")), page.words("what_ifs.caption"));
    for (std::size_t i = 0; i < answer.scenarios.size(); ++i) {
        write_plan(page, report.request.scenarios[i], answer.scenarios[i], answer.before, words);
    }
}

void write_indicators(ReportPage& page, const CoverageReport& report, const Words& words) {
    const IndicatorAnswer& answer = report.indicators;
    page.heading("indicators");
    page.paragraph(page.words("indicators.of", {{"first", coverage::to_text(answer.first)},
                                                {"last", coverage::to_text(answer.last)},
                                                {"source", answer.profile.source}}));
    write_indicator_table(page, answer, answer.indicators, true, words);
    write_area_table(page, answer);
    write_what_is_missing(page, answer, words);
    if (!answer.journal) {
        return;
    }
    const JournalCounts& counts = answer.journal->counts;
    page.paragraph(words.text(Message{"server.coverage.referred",
                                      {{"received", std::to_string(counts.received)},
                                       {"other", std::to_string(counts.other_conditions)},
                                       {"without", std::to_string(counts.without_findings)},
                                       {"outcome", std::to_string(counts.without_outcome)}}}));
    write_indicator_table(page, answer, answer.journal->indicators, false, words);
}

void write_journeys(ReportPage& page, const CoverageReport& report, const Snapshot& snapshot,
                    const Words& words) {
    page.heading("journeys");
    if (!report.journeys) {
        page.paragraph(page.words("journeys.none"), "small");
        return;
    }
    const JourneysAnswer& answer = *report.journeys;
    page.paragraph(page.words(
        "journeys.of",
        {{"count", std::to_string(answer.groups.front().referrals)},
         {"few", std::to_string(coverage::fewest_told)},
         {"entry", report.journal_head ? std::to_string(report.journal_head->sequence) : "–"}}));
    write_all_delays(page, answer.groups.front(), words);
    write_groups(page, answer, snapshot.facilities);
    write_against_the_table(page, answer, words);
}

}  // namespace waybourne::server
