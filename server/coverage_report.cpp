#include "server/coverage_report.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "server/coverage_indicators.hpp"
#include "server/json/coverage.hpp"
#include "server/json/report_inputs.hpp"
#include "server/report_page.hpp"
#include "server/report_pictures.hpp"
#include "server/report_sections.hpp"
#include "server/upgrade_goal.hpp"

namespace waybourne::server {

namespace {

/// Colours: `report_pictures.hpp`.
constexpr const char* style = R"(
  body { font: 11pt/1.45 sans-serif; color: #111; max-width: 19cm; margin: 1cm auto; padding: 0 .5cm; }
  h1 { font-size: 20pt; margin: 0 0 .2cm; } h2 { font-size: 14pt; margin: .9cm 0 .2cm; }
  h3 { font-size: 11pt; margin: .5cm 0 .1cm; } ul { margin: .1cm 0; }
  table { border-collapse: collapse; width: 100%; margin: .2cm 0; }
  th, td { border-bottom: 1px solid #999; padding: .08cm .2cm; text-align: left; vertical-align: top; }
  td.n, th.n { text-align: right; font-variant-numeric: tabular-nums; }
  figure { margin: .3cm 0; } figcaption, .small { font-size: 9pt; color: #333; }
  svg { width: 100%; height: auto; } svg text { font: 11px sans-serif; fill: #111; }
  .in_time { fill: #0b4a7a; stroke: #062a45; } .beyond { fill: #a9cbe8; stroke: #0b3a5e; }
  .no_route { fill: #fff; stroke: #111; } .unknown { fill: #ccc; stroke: #666; }
  .road { fill: none; stroke: #bbb; } .place { fill: none; stroke: #111; stroke-width: 2; }
  .worst { fill: none; stroke: #111; stroke-width: 4; stroke-linecap: round; }
  code { font-size: 8pt; overflow-wrap: anywhere; }
  @media print { body { margin: 0; max-width: none; } h2, h3 { break-after: avoid; }
    tr, figure { break-inside: avoid; } }
)";

void write_trust(ReportPage& page, const TrustAnswer& trust) {
    page.heading("trust");
    page.paragraph(page.words("trust.births", {{"births", whole(trust.births)},
                                               {"settlements", std::to_string(trust.settlements)},
                                               {"estimated", whole(trust.births_estimated)}}));
    std::vector<ReportPage::Cells> areas;
    for (const coverage::AreaTotal& area : trust.areas) {
        areas.push_back({area.area.value().empty() ? page.words("no_area") : area.area.value(),
                         whole(area.births_per_year),
                         area.official_births_per_year ? whole(*area.official_births_per_year)
                                                       : page.words("not_known")});
    }
    page.table({page.words("area"), page.words("births"), page.words("official")}, areas, 1);
    constexpr std::size_t most = 5;
    std::vector<ReportPage::Cells> far;
    for (std::size_t i = 0; i < std::min(most, trust.far_from_road.size()); ++i) {
        const auto& one = trust.far_from_road[i];
        far.push_back({one.name,
                       one.off_road ? fmt::format("{:.1f} km", one.off_road->value() / 1000)
                                    : page.words("off_the_map"),
                       whole(one.births)});
    }
    page.table({page.words("far"), page.words("walk"), page.words("births")}, far, 1);
    page.paragraph(
        page.words("trust.never", {{"count", std::to_string(trust.never_confirmed.size())}}));
    double assumed = 0;
    double measured = 0;
    for (const TrustAnswer::Speeds& speeds : trust.speeds) {
        assumed += speeds.assumed.value();
        measured += speeds.measured.value();
    }
    const double observed = trust.observed().value() / 1000;
    page.paragraph(page.words(observed > 0 ? "trust.speeds_observed" : "trust.speeds",
                              {{"assumed", whole(assumed / 1000)},
                               {"measured", whole(measured / 1000)},
                               {"observed", whole(observed)}}));
}

void write_overview(ReportPage& page, const CoverageReport& report, const Words& words) {
    page.heading("overview");
    std::vector<ReportPage::Cells> rows;
    for (std::size_t row = 0; row < report.overview.care.size(); ++row) {
        const CareGroup& care = report.overview.care[row];
        const auto capability = triage::find_capability(care.name);
        ReportPage::Cells cells{capability ? words.capability(*capability)
                                           : page.words("care." + care.name)};
        for (std::size_t column = 0; column < report.overview.times.size(); ++column) {
            cells.push_back(whole_percent(report.overview.at(row, column).at_least()));
        }
        rows.push_back(std::move(cells));
    }
    page.table({page.words("care"), page.words("dry_day"), page.words("dry_night"),
                page.words("wet_day"), page.words("wet_night")},
               rows, 1);
}

void write_losses(ReportPage& page, const LossesAnswer& losses) {
    constexpr std::size_t most = 12;
    page.heading("losses");
    std::vector<ReportPage::Cells> rows;
    for (const SeasonLoss& one : losses.losses) {
        std::string names;
        for (std::size_t i = 0; i < std::min(most, one.loss.lost.size()); ++i) {
            names += (i == 0 ? "" : ", ") + losses.settlements[one.loss.lost[i]].name;
        }
        if (one.loss.lost.size() > most) {
            names += ", " + page.words("and_more",
                                       {{"count", std::to_string(one.loss.lost.size() - most)}});
        }
        rows.push_back({page.words(to_name(one.then.conditions)), names,
                        whole(one.loss.births_lost), whole(one.loss.births_in_doubt)});
    }
    page.table(
        {page.words("when"), page.words("settlement"), page.words("lost"), page.words("in_doubt")},
        rows, 2);
}

void write_gaps(ReportPage& page, const CoverageAnswer& access) {
    constexpr std::size_t most = 20;
    page.heading("gaps");
    std::vector<ReportPage::Cells> rows;
    const auto gaps = gaps_of(access);
    for (std::size_t i = 0; i < std::min(most, gaps.size()); ++i) {
        const auto& one = access.accesses[gaps[i]];
        rows.push_back({access.settlements[gaps[i]].name,
                        page.words("class." + std::string(coverage::to_name(one.access))),
                        whole(access.settlements[gaps[i]].births_per_year),
                        one.care ? page.span(one.care->allow) : "–"});
    }
    page.table({page.words("settlement"), page.words("why"), page.words("births"),
                page.words("care_after")},
               rows, 2);
}

/// What comes to each place, and where many share little: as far as anybody says what places have
/// room for.
void write_competition(ReportPage& page, const CoverageReport& report) {
    page.heading("loads");
    const CoverageAnswer& access = report.access;
    std::vector<ReportPage::Cells> rows;
    for (std::size_t place = 0; place < access.loads.size(); ++place) {
        const coverage::PlaceLoad& load = access.loads[place];
        if (load.births > 0 || access.capacities[place]) {
            rows.push_back({access.facilities.facilities()[place].name, whole(load.births),
                            access.capacities[place] ? whole(*access.capacities[place])
                                                     : page.words("not_known"),
                            whole_percent(load.of_capacity)});
        }
    }
    page.table(
        {page.words("facility"), page.words("births"), page.words("room"), page.words("of_room")},
        rows, 1);
    if (!report.competition) {
        page.paragraph(page.words("scores.none"), "small");
        return;
    }
    constexpr std::size_t most = 12;
    page.heading("scores");
    rows.clear();
    for (const std::size_t i : least_scores(*report.competition, most)) {
        rows.push_back({access.settlements[i].name, whole(access.settlements[i].births_per_year),
                        fmt::format("{:.2f}", *report.competition->of_settlement[i])});
    }
    page.table({page.words("settlement"), page.words("births"), page.words("score")}, rows, 1);
    page.paragraph(page.words("scores.caution"), "small");
    std::string names;
    for (const auto* const places :
         {&report.competition->without_capacity, &report.competition->without_readiness}) {
        for (const std::size_t place : *places) {
            names += (names.empty() ? "" : ", ") + access.facilities.facilities()[place].name;
        }
    }
    if (!names.empty()) {
        page.paragraph(page.words("scores.without", {{"names", names}}), "small");
    }
}

std::optional<CompetitionAnswer> competition_of(const Snapshot& snapshot,
                                                const CoverageRequest& question, Instant now,
                                                const coverage::Work& work) {
    if (question.capacities.empty()) {
        return std::nullopt;
    }
    CompetitionRequest request;
    request.coverage = question;
    return answer_competition(snapshot, request, now, work);
}

void write_links(ReportPage& page, const LinksAnswer& links) {
    constexpr std::size_t most = 10;
    page.heading("links");
    std::vector<ReportPage::Cells> rows;
    for (std::size_t i = 0; i < std::min(most, links.links.size()); ++i) {
        const LinkFailure& link = links.links[i];
        const char* const kind = link.is_ferry    ? "ferry"
                                 : link.is_ford   ? "ford"
                                 : link.is_bridge ? "bridge"
                                                  : "road";
        rows.push_back({link.road.empty() ? link.road_class : link.road,
                        page.words(std::string("link.") + kind),
                        fmt::format("{:.1f} km", link.length.value() / 1000),
                        whole(link.failure.births_lost), whole(link.failure.births_cut_off)});
    }
    page.table({page.words("road"), page.words("kind"), page.words("length"), page.words("lost"),
                page.words("cut_off")},
               rows, 2);
    if (links.has_timetables) {
        page.paragraph(page.words("links.no_waiting"), "small");
    }
}

/// What the plan brings, by the measure that was asked for.
std::string plan_words(const ReportPage& page, const CoverageReport& report) {
    const UpgradeAnswer& answer = report.upgrades;
    const UpgradeObjective objective = report.request.upgrades.objective;
    const auto minutes = [](double value) { return fmt::format("{:.1f}", value); };
    ReportPage::Values values{{"births", whole(answer.plan.value)},
                              {"cost", fmt::format("{:.10g}", answer.plan.cost)},
                              {"bound", whole(answer.plan.bound)}};
    if (answer.minutes) {
        values.back().second = minutes(answer.minutes->no_plan_has_less_than);
        values.emplace_back("before", minutes(answer.minutes->before));
        values.emplace_back("after", minutes(answer.minutes->after));
    }
    if (objective == UpgradeObjective::covering) {
        return page.words(answer.plan.is_proven() ? "upgrades.proven" : "upgrades.within", values);
    }
    return page.words("upgrades." + std::string(to_name(objective)), values) + ' ' +
           page.words(answer.plan.is_proven() ? "upgrades.is_proven" : "upgrades.gap",
                      {{"gap", whole_percent(answer.plan.gap())}});
}

void write_upgrades(ReportPage& page, const CoverageReport& report, const Snapshot& snapshot) {
    const UpgradeAnswer& answer = report.upgrades;
    const UpgradeObjective objective = report.request.upgrades.objective;
    page.heading("upgrades");
    page.paragraph(plan_words(page, report));
    std::vector<ReportPage::Cells> rows;
    const double births = answer.before.total.births;
    const bool is_mean = objective == UpgradeObjective::median && births > 0;
    for (const Upgrade& upgrade : answer.upgrades) {
        const std::string only =
            answer.minutes
                ? fmt::format("{:.1f}", upgrade.worth_only_by_it / (is_mean ? births : 1))
                : whole(objective == UpgradeObjective::capacity ? upgrade.worth_only_by_it
                                                                : upgrade.births_only_by_it);
        rows.push_back({snapshot.facilities.facilities()[upgrade.facility].name,
                        page.words(upgrade.is_rank_sure() ? "rank.sure" : "rank.unsure"),
                        fmt::format("{:.10g}", upgrade.cost), only});
    }
    page.table({page.words("facility"), page.words("rank"), page.words("cost"),
                page.words(answer.minutes                            ? "only_by_it_minutes"
                           : objective == UpgradeObjective::capacity ? "only_by_it_room"
                                                                     : "only_by_it")},
               rows, 2);
    std::string names;
    for (const std::size_t place : answer.without_capacity) {
        names += (names.empty() ? "" : ", ") + snapshot.facilities.facilities()[place].name;
    }
    if (!names.empty()) {
        page.paragraph(page.words("upgrades.room_unknown", {{"names", names}}), "small");
    }
    if (!answer.curve.empty()) {
        page.figure(budget_curve(answer, page), page.words("budget"));
    }
}

/// Without a word about them: the twelve months before this one.
IndicatorRequest indicators_asked(const Snapshot& snapshot, const ReportRequest& request,
                                  const journal::Journal* journal, Instant now) {
    IndicatorRequest asked;
    if (request.indicators) {
        asked = *request.indicators;
    } else {
        asked.last = {month_of(snapshot.zone, now).number - 1};
        asked.births_per_1000 = request.upgrades.coverage.births_per_1000;
        asked.settlements = request.upgrades.coverage.settlements;
        asked.areas = request.upgrades.coverage.areas;
    }
    asked.from_journal = asked.from_journal || journal != nullptr;
    return asked;
}

std::optional<WhatIfAnswer> what_ifs_of(const Snapshot& snapshot, const ReportRequest& request,
                                        Instant now, const coverage::Work& work) {
    return request.scenarios.empty()
               ? std::nullopt
               : std::optional(answer_what_if(
                     snapshot, {request.upgrades.coverage, request.scenarios}, now, work));
}

std::optional<JourneysAnswer> journeys_of(const Snapshot& snapshot,
                                          const journal::Journal* journal) {
    return journal == nullptr ? std::nullopt : std::optional(answer_journeys(snapshot, *journal));
}

void write_inputs_of(ReportPage& page, const Snapshot& snapshot, const CoverageReport& report) {
    page.heading("inputs");
    JsonWriter json{1};
    json.begin_object();
    write_inputs(json, snapshot, report.request.upgrades.coverage, report.access.road_conditions,
                 report.access.leave_at, report.access.assumptions);
    write_report_inputs(json, report);
    page.raw("<pre><code>" + escaped(json.end_object().take()) + "</code></pre>\n");
}

}  // namespace

CoverageReport make_coverage_report(const Snapshot& snapshot, const ReportRequest& request,
                                    Instant now, const journal::Journal* journal,
                                    const coverage::Work& work) {
    const CoverageRequest& question = request.upgrades.coverage;
    const coverage::IndicatorProfile profile = default_indicator_profile();
    return {request,
            answer_trust(snapshot, question, now),
            answer_coverage(snapshot, question, now, work),
            answer_overview(snapshot, question, profile, now, work),
            answer_losses(snapshot, question, now, work),
            competition_of(snapshot, question, now, work),
            answer_links(snapshot, question, now, work),
            answer_upgrades(snapshot, request.upgrades, now, work),
            what_ifs_of(snapshot, request, now, work),
            answer_indicators(snapshot, indicators_asked(snapshot, request, journal, now), profile,
                              now, journal),
            journeys_of(snapshot, journal),
            journal == nullptr ? std::nullopt : std::optional(journal->head()),
            answer_sensitivity(snapshot, question, now, work)};
}

std::string render_coverage_report(const Snapshot& snapshot, const CoverageReport& report,
                                   const Catalogue& catalogue, Instant now) {
    const Words words{catalogue, snapshot.zone, now};
    ReportPage page(words);
    const CoverageRequest& question = report.request.upgrades.coverage;
    const coverage::AccessTotal& total = report.access.total;
    std::string needed;
    for (const triage::Capability one : question.question.needed.members()) {
        needed += (needed.empty() ? "" : ", ") + words.capability(one);
    }
    const std::string title = page.words("title", {{"district", snapshot.district.name}});
    page.raw(
        fmt::format("<!doctype html>\n<html lang=\"{}\"><head><meta charset=\"utf-8\"><title>{}"
                    "</title><style>{}</style></head><body><main>\n<h1>{}</h1>\n",
                    escaped(catalogue.language()), escaped(title), style, escaped(title)));
    page.paragraph(page.words(
        "question",
        {{"needs", needed},
         {"span", words.span(question.question.standard)},
         {"time", to_rfc3339(report.access.leave_at)},
         {"surface",
          page.words(report.access.road_conditions.surface == routing::Surface::wet ? "wet"
                                                                                    : "dry")}}));
    page.paragraph(page.words("answer", {{"births", whole(total.births)},
                                         {"in_time", whole(total.in_time)},
                                         {"share", whole_percent(total.at_least())},
                                         {"unknown", whole_percent(total.share(total.unknown))}}));
    if (!snapshot.district.about.empty()) {
        page.paragraph(snapshot.district.about, "small");
    }
    write_trust(page, report.trust);
    page.heading("map");
    page.figure(map_of(snapshot, report, page) + legend(page), page.words("map.caption"));
    page.heading("curve");
    page.figure(curve_of(report.access, page), page.words("curve.caption"));
    write_overview(page, report, words);
    write_losses(page, report.losses);
    write_gaps(page, report.access);
    write_competition(page, report);
    write_links(page, report.links);
    write_upgrades(page, report, snapshot);
    write_what_ifs(page, report, words);
    write_indicators(page, report, words);
    write_journeys(page, report, snapshot, words);
    page.heading("sensitivity");
    std::vector<ReportPage::Cells> rows;
    for (const SensitivityPoint& point : report.sensitivity) {
        rows.push_back({fmt::format("× {:.2f}", point.time_factor),
                        whole_percent(point.total.at_least()), whole(point.total.in_time * 0.8),
                        whole(point.total.in_time), whole(point.total.in_time * 1.2)});
    }
    page.table({page.words("times"), page.words("share"), page.words("births_less"),
                page.words("births_as_told"), page.words("births_more")},
               rows, 1);
    write_inputs_of(page, snapshot, report);
    page.raw("</main></body></html>\n");
    return page.take();
}

}  // namespace waybourne::server
