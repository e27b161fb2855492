/// How soon a district is planned anew: 30 open referrals and 40 vehicles, against what a program
/// does that asks Dijkstra's algorithm for every pair (each vehicle to each woman, each woman to
/// each place that could take her), without planning anything yet.

#include <array>
#include <random>

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
        router_ = std::make_unique<routing::HierarchyRouter>(
            std::make_shared<const routing::PreparedMetric>(
                metric_, std::make_shared<const routing::Hierarchy>(routing::Hierarchy::build(
                             graph, routing::nested_dissection_order(graph, {})))));
    }
    RoadsOf roads(routing::Means /*means*/, Instant /*departs*/) override {
        return {router_.get(), metric_, places_};
    }
    std::optional<routing::Snap> snap(const GeoPoint& point, routing::Means /*means*/,
                                      Instant /*departs*/) override {
        return known.at({point.latitude().degrees, point.longitude().degrees});
    }
    std::optional<Instant> dawn_after(Instant /*now*/) override { return std::nullopt; }

    std::map<std::pair<double, double>, routing::Snap> known;

private:
    std::shared_ptr<const routing::Metric> metric_;
    std::unique_ptr<routing::Router> router_;
    std::vector<std::optional<routing::Snap>> places_;
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

}  // namespace

int main(int count, char** values) {
    const bench::Arguments arguments = bench::parse_arguments(count, values);
    if (!arguments.wants("dispatch")) {
        return 0;
    }
    const bench::BenchNetwork made =
        bench::made_bench_network(static_cast<std::uint32_t>(arguments.size));
    const auto network = std::make_shared<const routing::RoadNetwork>(bench::road_network_of(made));
    std::mt19937 random{1};
    std::vector<std::uint32_t> typical(network->arc_count());
    for (std::uint32_t& one : typical) {
        one = 100 + static_cast<std::uint32_t>(random() % 200);
    }
    const auto metric = std::make_shared<const routing::Metric>(
        network, typical, std::vector<std::uint32_t>(typical.size(), 2000));
    const auto anywhere = [&] {
        while (true) {
            const routing::NodeId node{
                static_cast<std::uint32_t>(random() % network->node_count())};
            if (auto snap = snap_at(*metric, node)) {
                return *std::move(snap);
            }
        }
    };
    std::vector<routing::Snap> places;
    for (std::size_t i = 0; i < place_count; ++i) {
        places.push_back(anywhere());
    }
    BenchRoads roads(metric, places);
    const auto facilities = register_at(places);
    const TimeZone zone;
    const referral::ChoiceSettings choice;
    const DispatchSituation situation{facilities, roads, zone, choice, {}, ten};
    std::vector<routing::Snap> starts;
    std::vector<routing::Snap> bases;
    std::vector<double> times;
    for (int plan = 0; plan < plans; ++plan) {
        std::vector<OpenReferral> women;
        std::vector<Vehicle> vehicles;
        starts.clear();
        bases.clear();
        for (std::size_t i = 0; i < women_count; ++i) {
            starts.push_back(anywhere());
            women.push_back(woman_at(starts.back(), i, random));
        }
        for (std::size_t i = 0; i < vehicle_count; ++i) {
            bases.push_back(anywhere());
            vehicles.push_back(vehicle_at(bases.back(), i));
        }
        for (const auto* all : {&starts, &bases}) {
            for (const routing::Snap& snap : *all) {
                roads.known.insert_or_assign(
                    {snap.point.latitude().degrees, snap.point.longitude().degrees}, snap);
            }
        }
        times.push_back(bench::seconds([&] {
            bench::keep(plan_transport(situation, {women, vehicles}).carried.size());
        }));
    }
    routing::ReferenceRouter dijkstra(metric);
    const double naive = bench::seconds([&] {
        ask_every_pair(dijkstra, bases, starts);
        ask_every_pair(dijkstra, starts, places);
    });
    constexpr double milliseconds = 1000;
    bench::Figure figure;
    figure.name = "dispatch";
    figure.what = "30 referrals and 40 vehicles planned anew";
    figure.value = bench::median(times) * milliseconds;
    figure.p99 = bench::percentile(times, 0.99) * milliseconds;
    figure.unit = "ms";
    figure.against = "Dijkstra for every pair";
    figure.ratio = naive / bench::median(times);
    figure.network = made.name;
    bench::print(figure);
    return 0;
}
