#include "server/coverage_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "server/coverage_indicators.hpp"
#include "server/json/coverage.hpp"
#include "server/report_page.hpp"
#include "server/upgrade_goal.hpp"

namespace waybourne::server {

namespace {

using coverage::AccessClass;

/// One blue, dark and light, with white and grey: told apart by lightness, and by shape as well.
constexpr const char* style = R"(
  body { font: 11pt/1.45 sans-serif; color: #111; max-width: 19cm; margin: 1cm auto; padding: 0 .5cm; }
  h1 { font-size: 20pt; margin: 0 0 .2cm; } h2 { font-size: 14pt; margin: .9cm 0 .2cm; }
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
  @media print { body { margin: 0; max-width: none; } h2 { break-after: avoid; }
    tr, figure { break-inside: avoid; } }
)";

/// Places as points of a picture: equal scale both ways, north above.
class Picture {
public:
    static constexpr double width = 720;

    explicit Picture(const std::vector<GeoPoint>& points) {
        first_ = points.empty() ? GeoPoint{Latitude{0}, Longitude{0}} : points.front();
        squeeze_ = std::cos(first_.latitude().degrees * std::numbers::pi / 180);
        for (const GeoPoint& point : points) {
            const auto [x, y] = flat(point);
            left_ = std::min(left_, x);
            right_ = std::max(right_, x);
            top_ = std::max(top_, y);
            bottom_ = std::min(bottom_, y);
        }
        scale_ = (width - 2 * margin) / std::max({right_ - left_, 1e-6});
        height_ = (top_ - bottom_) * scale_ + 2 * margin;
    }
    double height() const { return height_; }
    std::pair<double, double> at(const GeoPoint& point) const {
        const auto [x, y] = flat(point);
        return {(x - left_) * scale_ + margin, (top_ - y) * scale_ + margin};
    }
    std::string line(const std::vector<GeoPoint>& points) const {
        std::string path;
        for (const GeoPoint& point : points) {
            const auto [x, y] = at(point);
            path += fmt::format("{}{:.1f} {:.1f}", path.empty() ? "M" : " L", x, y);
        }
        return path;
    }

private:
    static constexpr double margin = 14;
    std::pair<double, double> flat(const GeoPoint& point) const {
        return {std::remainder(point.longitude().degrees - first_.longitude().degrees, 360.0) *
                    squeeze_,
                point.latitude().degrees};
    }
    GeoPoint first_{Latitude{0}, Longitude{0}};
    double squeeze_ = 1;
    double left_ = 1e9;
    double right_ = -1e9;
    double top_ = -1e9;
    double bottom_ = 1e9;
    double scale_ = 1;
    double height_ = 0;
};

/// Each class has a shape of its own.
std::string mark(AccessClass access, double x, double y, double size) {
    const std::string_view name = coverage::to_name(access);
    switch (access) {
        case AccessClass::in_time:
            return fmt::format(R"(<circle class="{}" cx="{:.1f}" cy="{:.1f}" r="{:.1f}"/>)", name,
                               x, y, size);
        case AccessClass::beyond:
            return fmt::format(
                R"(<rect class="{}" x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}"/>)", name,
                x - size, y - size, 2 * size, 2 * size);
        case AccessClass::no_route:
            return fmt::format(R"(<path class="{}" d="M{:.1f} {:.1f} l{:.1f} {:.1f} h{:.1f} z"/>)",
                               name, x, y - 1.3 * size, 1.3 * size, 2.3 * size, -2.6 * size);
        case AccessClass::unknown:
            break;
    }
    return fmt::format(R"(<path class="{}" d="M{:.1f} {:.1f} l{:.1f} {:.1f} l{:.1f} {:.1f} )"
                       R"(l{:.1f} {:.1f} z"/>)",
                       name, x, y - 1.4 * size, 1.4 * size, 1.4 * size, -1.4 * size, 1.4 * size,
                       -1.4 * size, -1.4 * size);
}

std::string cross(double x, double y) {
    return fmt::format(R"(<path class="place" d="M{:.1f} {:.1f} h14 M{:.1f} {:.1f} v14"/>)", x - 7,
                       y, x, y - 7);
}

/// Main roads only: paths and tracks would hide the rest.
std::string roads_drawn(const routing::RoadNetwork& network, const Picture& picture) {
    std::string path;
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        const routing::PieceId id{number};
        const routing::Piece& piece = network.piece(id);
        const auto road_class = network.attributes_of(piece).kind.road_class;
        if (network.original(id) != id || road_class > routing::RoadClass::unclassified) {
            continue;
        }
        path += picture.line(line_of(network, piece));
    }
    return R"(<path class="road" d=")" + path + R"("/>)";
}

std::string map_of(const Snapshot& snapshot, const CoverageReport& report, const ReportPage& page) {
    std::vector<GeoPoint> points;
    for (const coverage::Settlement& settlement : report.access.settlements) {
        points.push_back(settlement.point);
    }
    for (const facilities::Facility& place : report.access.facilities.facilities()) {
        points.push_back(place.point);
    }
    const Picture picture(points);
    std::string svg =
        fmt::format(R"(<svg role="img" aria-label="{}" viewBox="0 0 {} {:.0f}">)",
                    escaped(page.words("map.label")), Picture::width, picture.height());
    svg += roads_drawn(snapshot.roads->network(), picture);
    constexpr std::size_t most_drawn = 10;
    for (std::size_t i = 0; i < std::min(most_drawn, report.links.links.size()); ++i) {
        for (const auto& line : report.links.links[i].lines) {
            svg += R"(<path class="worst" d=")" + picture.line(line) + R"("/>)";
        }
    }
    for (std::size_t i = 0; i < report.access.settlements.size(); ++i) {
        const coverage::Settlement& settlement = report.access.settlements[i];
        const auto [x, y] = picture.at(settlement.point);
        // the area grows with the births
        const double size = 2.5 + std::sqrt(std::max(0.0, settlement.births_per_year)) * 0.35;
        svg += "<g><title>" + escaped(settlement.name) + "</title>" +
               mark(report.access.accesses[i].access, x, y, size) + "</g>";
    }
    for (const facilities::Facility& place : report.access.facilities.facilities()) {
        triage::CapabilitySet offered;
        for (const facilities::Service& service : place.services) {
            offered.insert(service.capability);
        }
        if (offered.contains_all(report.request.coverage.question.needed)) {
            const auto [x, y] = picture.at(place.point);
            svg += "<g><title>" + escaped(place.name) + "</title>" + cross(x, y) + "</g>";
        }
    }
    return svg + "</svg>";
}

std::string legend(const ReportPage& page) {
    std::string svg = R"(<svg viewBox="0 0 720 26">)";
    double x = 14;
    for (const AccessClass access :
         {AccessClass::in_time, AccessClass::beyond, AccessClass::no_route, AccessClass::unknown}) {
        svg += mark(access, x, 13, 5);
        const std::string text = page.words("class." + std::string(coverage::to_name(access)));
        svg += fmt::format(R"(<text x="{:.0f}" y="17">{}</text>)", x + 12, escaped(text));
        x += 150;
    }
    svg += cross(x, 13);
    svg += fmt::format(R"(<text x="{:.0f}" y="17">{}</text>)", x + 12,
                       escaped(page.words("class.place")));
    return svg + "</svg>";
}

/// Lines over a frame: x from 0 to 1, y from 0 to 1.
struct Series {
    const char* dashes;
    std::vector<std::pair<double, double>> points;
    std::string name;
};

std::string chart(const std::vector<Series>& lines, const std::vector<std::string>& below,
                  const std::string& label) {
    constexpr double left = 44;
    constexpr double top = 12;
    constexpr double wide = 500;
    constexpr double high = 190;
    std::string svg =
        fmt::format(R"(<svg role="img" aria-label="{}" viewBox="0 0 720 236">)", escaped(label));
    for (int tenth = 0; tenth <= 10; tenth += 2) {
        const double y = top + high * (1 - tenth / 10.0);
        svg += fmt::format(
            R"(<path class="road" d="M{} {:.1f} h{}"/><text x="{}" y="{:.1f}" text-anchor="end">{} %</text>)",
            left, y, wide, left - 6, y + 4, tenth * 10);
    }
    for (std::size_t i = 0; i < below.size(); ++i) {
        const double x = left + wide * static_cast<double>(i) /
                                    static_cast<double>(std::max<std::size_t>(1, below.size() - 1));
        svg += fmt::format(R"(<text x="{:.1f}" y="{}" text-anchor="middle">{}</text>)", x,
                           top + high + 18, escaped(below[i]));
    }
    double key_y = top + 10;
    for (const Series& series : lines) {
        std::string path;
        for (const auto& [x, y] : series.points) {
            path += fmt::format("{}{:.1f} {:.1f}", path.empty() ? "M" : " L", left + wide * x,
                                top + high * (1 - y));
        }
        svg += fmt::format(
            R"(<path fill="none" stroke="#0b4a7a" stroke-width="2" stroke-dasharray="{}" d="{}"/>)",
            series.dashes, path);
        svg += fmt::format(
            R"(<path fill="none" stroke="#0b4a7a" stroke-width="2" stroke-dasharray="{}" d="M{} {} h24"/><text x="{}" y="{}">{}</text>)",
            series.dashes, left + wide + 8, key_y, left + wide + 38, key_y + 4,
            escaped(series.name));
        key_y += 20;
    }
    return svg + "</svg>";
}

std::string curve_of(const CoverageAnswer& access, const ReportPage& page) {
    std::vector<Series> lines{{"none", {}, page.words("curve.at_least")},
                              {"6 4", {}, page.words("curve.at_most")},
                              {"2 3", {}, page.words("curve.way_only")}};
    const double last =
        access.curve.empty() ? 1 : static_cast<double>(access.curve.back().standard.count());
    for (const coverage::CurvePoint& point : access.curve) {
        const double x = static_cast<double>(point.standard.count()) / last;
        lines[0].points.emplace_back(x, point.at_least);
        lines[1].points.emplace_back(x, point.at_most);
        lines[2].points.emplace_back(x, point.way_only);
    }
    return chart(lines, {"0", "1 h", "2 h", "3 h", "4 h", "5 h", "6 h"}, page.words("curve"));
}

std::string budget_curve(const UpgradeAnswer& upgrades, const ReportPage& page) {
    const double births = std::max(1.0, upgrades.before.total.births);
    Series line{"none", {{0, upgrades.before.total.in_time / births}}, page.words("budget.line")};
    std::vector<std::string> below{"0"};
    const double most = upgrades.curve.back().budget;
    for (const BudgetPoint& point : upgrades.curve) {
        line.points.emplace_back(point.budget / most,
                                 (upgrades.before.total.in_time + point.births_gained) / births);
    }
    for (int quarter = 1; quarter <= 4; ++quarter) {
        below.push_back(fmt::format("{:.6g}", most * quarter / 4));
    }
    return chart({line}, below, page.words("budget"));
}

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
    const UpgradeObjective objective = report.request.objective;
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
    const UpgradeObjective objective = report.request.objective;
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

void write_inputs_of(ReportPage& page, const Snapshot& snapshot, const CoverageReport& report) {
    page.heading("inputs");
    JsonWriter json{1};
    json.begin_object();
    write_inputs(json, snapshot, report.request.coverage, report.access.road_conditions,
                 report.access.leave_at, report.access.assumptions);
    page.raw("<pre><code>" + escaped(json.end_object().take()) + "</code></pre>\n");
}

}  // namespace

CoverageReport make_coverage_report(const Snapshot& snapshot, const UpgradeRequest& request,
                                    Instant now, const coverage::Work& work) {
    const CoverageRequest& question = request.coverage;
    return {request,
            answer_trust(snapshot, question, now),
            answer_coverage(snapshot, question, now, work),
            answer_overview(snapshot, question, default_indicator_profile(), now, work),
            answer_losses(snapshot, question, now, work),
            competition_of(snapshot, question, now, work),
            answer_links(snapshot, question, now, work),
            answer_upgrades(snapshot, request, now, work),
            answer_sensitivity(snapshot, question, now, work)};
}

std::string render_coverage_report(const Snapshot& snapshot, const CoverageReport& report,
                                   const Catalogue& catalogue, Instant now) {
    const Words words{catalogue, snapshot.zone, now};
    ReportPage page(words);
    const CoverageRequest& question = report.request.coverage;
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
