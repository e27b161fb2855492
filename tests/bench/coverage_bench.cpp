// What planners wait for, as ratios within one run: every settlement's nearest capable place
// against one sweep, a table of ways by sweeps against a search for each settlement, the report of
// the sample, critical links against recomputing each, and plans of 50 upgrades among 500 for
// 20,000 settlements: most births in time, least mean and least longest minutes.

#include <algorithm>
#include <cmath>
#include <random>

#include "coverage/critical_link.hpp"
#include "coverage/location.hpp"
#include "coverage/minutes_plan.hpp"
#include "routing/customise.hpp"
#include "routing/hierarchy_router.hpp"
#include "routing/place_sweep.hpp"
#include "server/coverage.hpp"
#include "server/coverage_indicators.hpp"
#include "server/load_district.hpp"
#include "server/program_files.hpp"
#include "tests/bench/bench_network.hpp"
#include "tests/bench/figure.hpp"

namespace {

using namespace waybourne;
using namespace waybourne::bench;
using namespace waybourne::routing;

std::vector<Snap> some_snaps(const std::vector<Snap>& all, std::size_t count, unsigned seed) {
    std::mt19937 random{seed};
    std::vector<Snap> snaps;
    for (std::size_t i = 0; i < count; ++i) {
        snaps.push_back(all[random() % all.size()]);
    }
    return snaps;
}

/// A scenario of a planner's map: one downward sweep, and what is on top of it.
void measure_access(const Arguments& arguments) {
    constexpr std::size_t settlements = 20'000;
    constexpr std::size_t table_places = 200;
    constexpr std::size_t table_settlements = 2'000;
    const BenchNetwork made = made_bench_network(static_cast<std::uint32_t>(arguments.size));
    const auto roads = std::make_shared<const RoadNetwork>(road_network_of(made));
    const auto metric = std::make_shared<const Metric>(roads, made.dry_ds, made.variance_ds2());
    const auto prepared = std::make_shared<const PreparedMetric>(metric, make_hierarchy(*roads));
    const auto order = std::make_shared<const SweepOrder>(prepared->hierarchy());
    const std::vector<Snap> snaps = snaps_at_nodes(*roads);
    std::vector<std::vector<Snap>> capable(1);
    for (const BenchNetwork::Place& place : made.places) {
        if (place.is_capable) {
            capable[0].push_back(snaps[place.node]);
        }
    }
    const auto as_places = [](const std::vector<Snap>& some) {
        return std::vector<std::optional<Snap>>(some.begin(), some.end());
    };
    const auto homes = as_places(some_snaps(snaps, settlements, 3));
    const PlaceSweep access{prepared, homes, order};
    std::vector<Time> times;
    for (const std::uint32_t ds : made.dry_ds) {
        times.push_back({ds});
    }
    const auto weights = customised<Time>(prepared->hierarchy(), times);
    const SweepArcs arcs{prepared->hierarchy(), weights, order};
    std::vector<std::uint32_t> ds(roads->node_count());
    const std::vector<SweepStart> start{{0, 0, 0}};
    const double sweep = median_seconds(9, [&] {
        sweep_from(prepared->hierarchy(), arcs, start, ds);
        keep(ds.back());
    });
    const double nearest = median_seconds(9, [&] { keep(access.to_nearest(capable).size()); });
    const std::string network = std::to_string(roads->node_count()) + " nodes, " +
                                std::to_string(settlements) + " settlements";
    print({"access",
           "every settlement to its nearest capable place, with its spread",
           nearest * 1000,
           "ms",
           "one downward sweep, times as long",
           "<= 1.5",
           network,
           {},
           nearest / sweep});
    const auto rows = as_places(some_snaps(snaps, table_settlements, 4));
    const auto columns = as_places(some_snaps(snaps, table_places, 5));
    HierarchyRouter router{prepared};
    const PlaceSweep table_sweep{prepared, rows, order};
    const double by_sweeps = seconds(
        [&] { keep(coverage::travel_times(table_sweep, router, rows, columns, {}).places()); });
    const double by_searches =
        seconds([&] { keep(coverage::travel_times(router, rows, columns, {}).places()); });
    print({"access_table",
           "ways from 2,000 settlements to 200 places by sweeps",
           by_sweeps,
           "s",
           "a search for each settlement, times as fast",
           ">= 5",
           network,
           {},
           by_searches / by_sweeps});
}

/// Twelve kinds of care in four seasons and hours, on the sample district.
void measure_report() {
    server::LoadOptions load;
    load.folder = server::program_folder() / "maps-sample";
    load.now = parse_rfc3339("2026-03-04T09:40:00Z");
    const auto snapshot = server::load_district(load);
    const coverage::IndicatorProfile profile = server::default_indicator_profile();
    for (const auto readiness :
         {coverage::ReadinessAssumption::as_registered, coverage::ReadinessAssumption::by_hour}) {
        server::CoverageRequest request;
        request.readiness = readiness;
        const double time = median_seconds(3, [&] {
            keep(server::answer_overview(*snapshot, request, profile, load.now).totals.size());
        });
        print({"district_report",
               "4 seasons and hours x 12 kinds of care, places " +
                   std::string(coverage::to_name(readiness)),
               time, "s", "", "<= 2", "sample district"});
    }
}

/// Each planned change alone, on the sample district: what a planner waits for while dragging.
void measure_what_if() {
    server::LoadOptions load;
    load.folder = server::program_folder() / "maps-sample";
    load.now = parse_rfc3339("2026-03-04T09:40:00Z");
    const auto snapshot = server::load_district(load);
    const auto point = snapshot->facilities.facilities().front().point;
    const FacilityId place = snapshot->facilities.facilities().front().id;
    using triage::Capability;
    const std::vector<coverage::Change> changes{
        coverage::AddedService{place, {Capability::operative_delivery}},
        coverage::AddedFacility{FacilityId("new"), "new", point, {Capability::operative_delivery}},
        coverage::WaitingHome{place, 100},
        coverage::NewBridge{point, snapshot->facilities.facilities().back().point, 50},
        coverage::BridgedRoad{RoadName{"Ford road"}},
        coverage::PavedRoad{RoadName{"Zhelappu track"}},
        coverage::ClosedRoad{RoadName{"Valley road"}}};
    server::CoverageRequest request;
    request.question.needed = {Capability::operative_delivery};
    for (const coverage::Change& change : changes) {
        const coverage::Scenario scenario{"one", {change}};
        const double time = median_seconds(5, [&] {
            server::AccessStudy study(*snapshot, request, scenario, load.now);
            keep(static_cast<std::size_t>(study.total(request.question).in_time));
        });
        print({"what_if", "a what-if: " + std::string(coverage::to_name(change)), time * 1000, "ms",
               "", "<= 200", "sample district"});
    }
}

void measure_links(const Arguments& arguments) {
    const BenchNetwork made = made_bench_network(static_cast<std::uint32_t>(arguments.size));
    const auto roads = std::make_shared<const RoadNetwork>(road_network_of(made));
    const auto metric = std::make_shared<const Metric>(roads, made.dry_ds, made.variance_ds2());
    const std::vector<Snap> snaps = snaps_at_nodes(*roads);
    std::vector<Snap> places;
    std::vector<bool> capable;
    for (const BenchNetwork::Place& place : made.places) {
        places.push_back(snaps[place.node]);
        capable.push_back(place.is_capable);
    }
    std::mt19937 random{1};
    std::vector<Snap> settlements;
    std::vector<double> births;
    for (std::size_t i = 0; i < snaps.size() / 20; ++i) {
        settlements.push_back(snaps[random() % snaps.size()]);
        births.push_back(static_cast<double>(1 + random() % 100));
    }
    const double once = median_seconds(3, [&] {
        keep(NearestPlaces(metric, places, capable, settlements).of_node(NodeId{0}).has_value());
    });
    const auto base = std::make_shared<const NearestPlaces>(metric, places, capable, settlements);
    coverage::CriticalLinks links(base, births, 60min);
    std::size_t found = 0;
    const double all = seconds([&] { found = links.all().size(); });
    keep(found);
    print({"critical_links",
           "births lost by every road's failure",
           all,
           "s",
           "recomputing each, times as fast",
           ">= 50",
           std::to_string(roads->node_count()) + " nodes, " + std::to_string(roads->piece_count()) +
               " roads",
           {},
           once * static_cast<double>(roads->piece_count()) / all});
}

void measure_plan() {
    constexpr std::size_t settlements = 20'000;
    constexpr std::size_t options = 500;
    std::mt19937 random{2};
    std::uniform_real_distribution<double> anywhere(0, 300);
    std::vector<std::pair<double, double>> sites;
    for (std::size_t j = 0; j < options; ++j) {
        sites.emplace_back(anywhere(random), anywhere(random));
    }
    coverage::LocationModel model;
    model.options.resize(options);
    model.serves.resize(options);
    for (std::uint32_t i = 0; i < settlements; ++i) {
        const double x = anywhere(random);
        const double y = anywhere(random);
        model.births.push_back(static_cast<double>(1 + random() % 100));
        for (std::size_t j = 0; j < options; ++j) {
            const double dx = sites[j].first - x;
            const double dy = sites[j].second - y;
            if (dx * dx + dy * dy <= 15.0 * 15.0) {
                model.serves[j].push_back({i, 1});
            }
        }
    }
    coverage::Plan plan;
    const double time =
        seconds([&] { plan = coverage::exact_plan(model, {.count = 50}, 9s, 0.005); });
    const std::string network = "20000 settlements, 500 options on 300 x 300 km, 15 km";
    print({"upgrade_plan", "plan of 50 upgrades", time, "s", "", "<= 10", network});
    print({"upgrade_gap", "what a better plan could gain at most", plan.gap() * 100, "%", "",
           "<= 1", network});
    const coverage::Plan quick = coverage::quick_plan(model, {.count = 50});
    print({"upgrade_quick", "quick plan of 50 upgrades, share of the bound",
           quick.value / plan.bound * 100, "%", "", "", network});
}

/// A country of towns: settlements and places anywhere, ways along straight lines at 40 km/h, and
/// twenty places that give care already.
coverage::MinutesModel country() {
    constexpr std::size_t settlements = 20'000;
    constexpr std::size_t options = 500;
    constexpr std::size_t there = 20;
    constexpr double minutes_a_kilometre = 60.0 / 40;
    std::mt19937 random{7};
    std::uniform_real_distribution<double> anywhere(0, 300);
    const auto points = [&](std::size_t count) {
        std::vector<std::pair<double, double>> made;
        for (std::size_t i = 0; i < count; ++i) {
            const double x = anywhere(random);
            made.emplace_back(x, anywhere(random));
        }
        return made;
    };
    const auto homes = points(settlements);
    const auto sites = points(options);
    const auto places = points(there);
    const auto minutes = [&](const auto& from, const auto& to) {
        return minutes_a_kilometre * std::hypot(from.first - to.first, from.second - to.second);
    };
    coverage::MinutesModel model;
    model.options.resize(options);
    model.with.resize(options);
    for (const auto& home : homes) {
        model.births.push_back(static_cast<double>(1 + random() % 100));
        double now = minutes(home, places.front());
        for (const auto& place : places) {
            now = std::min(now, minutes(home, place));
        }
        model.now.emplace_back(now);
        for (std::size_t j = 0; j < options; ++j) {
            model.with[j].emplace_back(minutes(home, sites[j]));
        }
    }
    return model;
}

void measure_minutes(const Arguments& arguments) {
    const std::string network =
        "20000 settlements, 500 options, 20 places there, on 300 x 300 km at 40 km/h";
    const coverage::MinutesModel model = country();
    const auto print_plan = [&](const std::string& name, const std::string& what, double time,
                                const coverage::MinutesPlan& plan) {
        print({name, what, time, "s", "", "<= 10", network});
        print({name + "_gap", what + ": what a better plan could save at most",
               (plan.minutes - plan.at_least) / plan.minutes * 100, "%", "", "<= 1", network});
    };
    if (arguments.wants("plan_median") || arguments.wants("plan_median_gap")) {
        coverage::MinutesPlan plan;
        const double time =
            seconds([&] { plan = coverage::least_minutes(model, {.count = 50}, 9s); });
        print_plan("plan_median", "50 upgrades for the least mean minutes", time, plan);
    }
    if (arguments.wants("plan_centre") || arguments.wants("plan_centre_gap")) {
        coverage::MinutesPlan plan;
        const double time =
            seconds([&] { plan = coverage::least_greatest_minutes(model, {.count = 50}, 9s); });
        print_plan("plan_centre", "50 upgrades for the least longest minutes", time, plan);
    }
}

}  // namespace

int main(int count, char** values) {
    const Arguments arguments = parse_arguments(count, values);
    if (arguments.wants("access") || arguments.wants("access_table")) {
        measure_access(arguments);
    }
    if (arguments.wants("district_report")) {
        measure_report();
    }
    if (arguments.wants("what_if")) {
        measure_what_if();
    }
    if (arguments.wants("critical_links")) {
        measure_links(arguments);
    }
    if (arguments.wants("upgrade_plan") || arguments.wants("upgrade_gap") ||
        arguments.wants("upgrade_quick")) {
        measure_plan();
    }
    measure_minutes(arguments);
    return 0;
}
