/// Three figures of dispatch.
///
/// - How soon a district is planned anew: 30 open referrals and 40 vehicles, against what a program
///   does that asks Dijkstra's algorithm for every pair (each vehicle to each woman, each woman to
///   each place that could take her), without planning anything yet.
/// - The best meeting point over the whole network, against one downward sweep of the same network
///   (routing/sweep.hpp): `--size 1000000` for the goal.
/// - A year of 20,000 births with the planner in the loop.

#include <array>
#include <random>

#include "dispatch/district_year.hpp"
#include "dispatch/rendezvous.hpp"
#include "dispatch/transport_plan.hpp"
#include "routing/hierarchy_router.hpp"
#include "routing/node_order.hpp"
#include "routing/reference_router.hpp"
#include "tests/bench/bench_network.hpp"
#include "tests/bench/figure.hpp"

using namespace waybourne;
using namespace waybourne::dispatch;

namespace {

constexpr std::size_t women_count = 30;
constexpr std::size_t vehicle_count = 40;
constexpr std::size_t place_count = 30;
constexpr int plans = 100;
const Instant ten = parse_rfc3339("2026-03-04T10:00:00Z");

class BenchRoads final : public DistrictRoads {
public:
    BenchRoads(std::shared_ptr<const routing::Metric> metric, std::vector<routing::Snap> places)
        : metric_(std::move(metric)), places_(places.begin(), places.end()) {
        const routing::GraphView graph = routing::view_of(metric_->network());
        const auto prepared = std::make_shared<const routing::PreparedMetric>(
            metric_, std::make_shared<const routing::Hierarchy>(routing::Hierarchy::build(
                         graph, routing::nested_dissection_order(graph, {}))));
        router_ = std::make_unique<routing::HierarchyRouter>(prepared);
        swept_ = std::make_shared<const routing::SweptMetric>(prepared);
        for (const auto& place : places_) {
            remember(*place);
        }
    }
    void remember(const routing::Snap& snap) {
        known_.insert_or_assign({snap.point.latitude().degrees, snap.point.longitude().degrees},
                                snap);
    }
    std::shared_ptr<const routing::SweptMetric> swept(routing::Means /*means*/,
                                                      Instant /*departs*/) override {
        return swept_;
    }
    RoadsOf roads(routing::Means /*means*/, Instant /*departs*/) override {
        return {router_.get(), metric_, places_};
    }
    std::optional<routing::Snap> snap(const GeoPoint& point, routing::Means /*means*/,
                                      Instant /*departs*/) override {
        return known_.at({point.latitude().degrees, point.longitude().degrees});
    }
    std::optional<Instant> dawn_after(Instant /*now*/) override { return std::nullopt; }

private:
    std::shared_ptr<const routing::Metric> metric_;
    std::unique_ptr<routing::Router> router_;
    std::shared_ptr<const routing::SweptMetric> swept_;
    std::vector<std::optional<routing::Snap>> places_;
    std::map<std::pair<double, double>, routing::Snap> known_;
};

/// A third of the places are hospitals.
facilities::FacilityRegister register_at(const std::vector<routing::Snap>& places) {
    std::vector<facilities::Facility> all;
    for (const routing::Snap& place : places) {
        facilities::Facility facility;
        std::string number = std::to_string(all.size());
        number.insert(0, 2 - std::min<std::size_t>(2, number.size()), '0');
        facility.id = FacilityId{"place-" + number};
        facility.name = "Place " + number;
        facility.point = place.point;
        facility.kind = "clinic";
        facility.time_zone = "Etc/UTC";
        facility.hours = facilities::OpeningHours{};
        facility.hours_confirmed_at = ten - 1h;
        std::vector gives{triage::Capability::magnesium_sulfate, triage::Capability::iv_fluids};
        if (all.size() % 3 == 0) {
            gives.push_back(triage::Capability::operative_delivery);
            gives.push_back(triage::Capability::blood_transfusion);
        }
        for (const triage::Capability capability : gives) {
            facilities::Service service;
            service.capability = capability;
            facility.services.push_back(service);
        }
        all.push_back(std::move(facility));
    }
    return facilities::FacilityRegister(std::move(all));
}

/// Two critical needs, the first within two hours.
triage::Assessment assessment_at(Instant at) {
    triage::Assessment assessment;
    assessment.assessed_at = at;
    assessment.refer = true;
    for (const auto& [care, within] : {std::pair{triage::Capability::operative_delivery, 240min},
                                       std::pair{triage::Capability::magnesium_sulfate, 120min}}) {
        triage::Need need;
        need.any_of = {care};
        need.critical = true;
        need.within = within;
        need.deadline = at + within;
        assessment.needs.push_back(need);
    }
    return assessment;
}

OpenReferral woman_at(const routing::Snap& snap, std::size_t number, std::mt19937& random) {
    OpenReferral referral;
    referral.id = ReferralId{"woman-" + std::to_string(number)};
    referral.at = snap.point;
    referral.assessment.assessed_at = ten;
    referral.assessment.refer = true;
    for (const triage::CapabilitySet care :
         {triage::CapabilitySet{triage::Capability::operative_delivery},
          triage::CapabilitySet{triage::Capability::magnesium_sulfate}}) {
        triage::Need need;
        need.any_of = care;
        need.critical = true;
        need.within = std::chrono::minutes{60 + random() % 180};
        need.deadline = ten + *need.within;
        referral.assessment.needs.push_back(need);
    }
    return referral;
}

Vehicle vehicle_at(const routing::Snap& snap, std::size_t number) {
    Vehicle vehicle;
    vehicle.id = VehicleId{"vehicle-" + std::to_string(number)};
    vehicle.name = vehicle.id.value();
    vehicle.base = snap.point;
    vehicle.mobilisation.fill(std::chrono::minutes{4});
    return vehicle;
}

/// Every pair asked by itself.
void ask_every_pair(routing::Router& router, const std::vector<routing::Snap>& from,
                    const std::vector<routing::Snap>& to) {
    for (const routing::Snap& one : from) {
        for (const routing::Snap& other : to) {
            bench::keep(router.travel_times({one, ten}, std::array{other}, 24h).size());
        }
    }
}

/// A made network, its roads, and places drawn on it.
class Bench {
public:
    explicit Bench(std::uint32_t size)
        : made_(bench::made_bench_network(size)),
          metric_(metric_of(made_, random_)),
          places_(anywhere(place_count)),
          roads_(metric_, places_),
          facilities_(register_at(places_)) {}

    void plan_anew() {
        std::vector<routing::Snap> starts;
        std::vector<routing::Snap> bases;
        std::vector<double> times;
        for (int plan = 0; plan < plans; ++plan) {
            starts = anywhere(women_count);
            bases = anywhere(vehicle_count);
            std::vector<OpenReferral> women;
            for (const routing::Snap& start : starts) {
                women.push_back(woman_at(start, women.size(), random_));
            }
            const auto vehicles = vehicles_at(bases);
            for (const routing::Snap& start : starts) {
                roads_.remember(start);
            }
            times.push_back(bench::seconds([&] {
                bench::keep(plan_transport(situation(), {women, vehicles}).carried.size());
            }));
        }
        routing::ReferenceRouter dijkstra(metric_);
        const double naive = bench::seconds([&] {
            ask_every_pair(dijkstra, bases, starts);
            ask_every_pair(dijkstra, starts, places_);
        });
        bench::Figure figure;
        figure.name = "dispatch";
        figure.what = "30 referrals and 40 vehicles planned anew";
        figure.value = bench::median(times) * milliseconds;
        figure.p99 = bench::percentile(times, 0.99) * milliseconds;
        figure.unit = "ms";
        figure.against = "Dijkstra for every pair";
        figure.ratio = naive / bench::median(times);
        figure.network = made_.name;
        bench::print(figure);
        bench::Figure slowest;
        slowest.name = "dispatch_p99";
        slowest.what = "30 referrals and 40 vehicles planned anew, 99th percentile";
        slowest.value = *figure.p99;
        slowest.unit = "ms";
        slowest.goal = "<= 100";
        slowest.network = made_.name;
        bench::print(slowest);
    }

    void meet() {
        const auto swept = roads_.swept(routing::Means::car, ten);
        routing::Router& router = *roads_.roads(routing::Means::car, ten).router;
        constexpr std::size_t meetings = 20;
        constexpr int runs = 5;
        const auto ends = anywhere(3 * meetings);
        const routing::Hierarchy& hierarchy = swept->prepared().hierarchy();
        std::vector<std::uint32_t> ds(hierarchy.node_count());
        const auto one_sweep = bench::query_seconds(runs, meetings, [&](std::size_t i) {
            const std::vector<routing::SweepStart> start{{static_cast<std::uint32_t>(i), 0, 0}};
            sweep_from(hierarchy, swept->arcs(), start, ds);
        });
        const auto times = bench::query_seconds(runs, meetings, [&](std::size_t i) {
            const TwoVehicles two{
                ends[3 * i],     ten,  metric_, ends[3 * i + 1], ten,   metric_, &router,
                ends[3 * i + 2], 5min, 24h,     &router,         swept, swept};
            bench::keep(best_rendezvous(two).has_value() ? 1 : 0);
        });
        bench::Figure figure;
        figure.name = "rendezvous";
        figure.what = "the best meeting point of two vehicles over all nodes";
        figure.value = bench::median(times) * milliseconds;
        figure.unit = "ms";
        figure.against = "one downward sweep, times as long";
        figure.goal = "<= 3";
        figure.ratio = bench::median(times) / bench::median(one_sweep);
        figure.network = made_.name;
        bench::print(figure);
    }

    void live_a_year() {
        constexpr double births = 20'000;
        const auto homes = anywhere(settlement_count);
        std::vector<BirthPlace> birth_places;
        for (const routing::Snap& home : homes) {
            roads_.remember(home);
            birth_places.push_back({home.point, births / settlement_count});
        }
        const std::vector<Complication> kinds{
            {"any", 1, [&](Instant at) { return assessment_at(at); }}};
        YearSettings settings;
        settings.from = ten;
        settings.until = ten + std::chrono::days{365};
        settings.places_can_fail = false;
        const auto vehicles = vehicles_at(anywhere(vehicle_count));
        std::size_t women = 0;
        const double taken = bench::seconds([&] {
            women =
                simulate_year(situation(), birth_places, kinds, vehicles, settings).women.size();
        });
        bench::Figure figure;
        figure.name = "simulated_year";
        figure.what = "a year of 20,000 births, " + std::to_string(women) + " women carried or not";
        figure.value = taken;
        figure.unit = "s";
        figure.goal = "< 60";
        figure.network = made_.name;
        bench::print(figure);
    }

private:
    static constexpr double milliseconds = 1000;
    static constexpr std::size_t settlement_count = 300;

    static std::shared_ptr<const routing::Metric> metric_of(const bench::BenchNetwork& made,
                                                            std::mt19937& random) {
        const auto network =
            std::make_shared<const routing::RoadNetwork>(bench::road_network_of(made));
        std::vector<std::uint32_t> typical(network->arc_count());
        for (std::uint32_t& one : typical) {
            one = 100 + static_cast<std::uint32_t>(random() % 200);
        }
        return std::make_shared<const routing::Metric>(
            network, typical, std::vector<std::uint32_t>(typical.size(), 2000));
    }
    std::vector<routing::Snap> anywhere(std::size_t count) {
        std::vector<routing::Snap> snaps;
        while (snaps.size() < count) {
            const auto node =
                static_cast<std::uint32_t>(random_() % metric_->network().node_count());
            if (auto snap = snap_at(*metric_, routing::NodeId{node})) {
                snaps.push_back(*std::move(snap));
            }
        }
        return snaps;
    }
    std::vector<Vehicle> vehicles_at(const std::vector<routing::Snap>& bases) {
        std::vector<Vehicle> vehicles;
        for (const routing::Snap& base : bases) {
            roads_.remember(base);
            vehicles.push_back(vehicle_at(base, vehicles.size()));
        }
        return vehicles;
    }
    DispatchSituation situation() { return {facilities_, roads_, zone_, choice_, {}, ten}; }

    std::mt19937 random_{1};
    bench::BenchNetwork made_;
    std::shared_ptr<const routing::Metric> metric_;
    std::vector<routing::Snap> places_;
    BenchRoads roads_;
    facilities::FacilityRegister facilities_;
    TimeZone zone_;
    referral::ChoiceSettings choice_;
};

}  // namespace

int main(int count, char** values) {
    const bench::Arguments arguments = bench::parse_arguments(count, values);
    const bool wants_plan = arguments.wants("dispatch") || arguments.wants("dispatch_p99");
    const bool wants_meeting = arguments.wants("rendezvous");
    const bool wants_year = arguments.wants("simulated_year");
    if (!wants_plan && !wants_meeting && !wants_year) {
        return 0;
    }
    Bench bench(static_cast<std::uint32_t>(arguments.size));
    if (wants_plan) {
        bench.plan_anew();
    }
    if (wants_meeting) {
        bench.meet();
    }
    if (wants_year) {
        bench.live_a_year();
    }
    return 0;
}
