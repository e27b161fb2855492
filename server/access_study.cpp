#include "server/access_study.hpp"

#include <algorithm>
#include <set>

#include "server/settlements.hpp"
#include "server/ways.hpp"

namespace waybourne::server {

namespace {

using coverage::TravelTimes;

/// Everything that tables of ways are made from.
struct Ground {
    const Snapshot& snapshot;
    const CoverageRequest& request;
    const coverage::Scenario& scenario;
    const coverage::Work& work;
    routing::RoadConditions conditions;
    Instant leave_at;
    std::vector<GeoPoint> settlements;
    std::vector<GeoPoint> places;

    ScenarioRoads roads(routing::Means means) const {
        return {*snapshot.roads, {means, conditions}, leave_at, scenario};
    }
};

/// A vehicle that may be sent, or walked to.
struct Post {
    GeoPoint point{Latitude{0}, Longitude{0}};
    routing::Means means = routing::Means::car;
    Seconds mobilisation{};
};

std::vector<Post> posts_of(const Ground& ground, const std::optional<VehicleId>& left_out) {
    std::vector<Post> posts;
    for (const dispatch::Vehicle& vehicle : ground.snapshot.vehicles) {
        if (left_out == vehicle.id) {
            continue;
        }
        const auto* const facility = std::get_if<FacilityId>(&vehicle.base);
        posts.push_back(
            {facility == nullptr ? std::get<GeoPoint>(vehicle.base)
                                 : ground.snapshot.facilities.facility(*facility).point,
             vehicle.means,
             dispatch::mobilisation_at(vehicle, ground.snapshot.zone, ground.leave_at)});
    }
    for (const auto& post : coverage::changes_of<coverage::VehiclePost>(ground.scenario)) {
        posts.push_back({post.point, post.means, post.mobilisation});
    }
    if (posts.empty()) {
        throw InputError("no vehicle is known: the district names none, and no post is planned");
    }
    return posts;
}

std::set<routing::Means> means_of(const std::vector<Post>& posts) {
    std::set<routing::Means> all;
    for (const Post& post : posts) {
        all.insert(post.means);
    }
    return all;
}

TravelTimes at_hand(const Ground& ground) {
    ScenarioRoads roads = ground.roads(ground.request.means);
    return roads.ways(roads.snaps(ground.settlements), roads.snaps(ground.places), ground.leave_at,
                      ground.work);
}

/// By each kind of vehicle, the sooner counts.
template <typename WayBy>
TravelTimes by_any(const Ground& ground, const std::vector<Post>& posts, const WayBy& way_by) {
    TravelTimes best(ground.settlements.size(), ground.places.size());
    for (const routing::Means means : means_of(posts)) {
        std::vector<Post> some;
        std::copy_if(posts.begin(), posts.end(), std::back_inserter(some),
                     [&](const Post& post) { return post.means == means; });
        best = coverage::sooner(best, way_by(means, some));
    }
    return best;
}

std::vector<GeoPoint> points_of(const std::vector<Post>& posts) {
    std::vector<GeoPoint> points;
    points.reserve(posts.size());
    for (const Post& post : posts) {
        points.push_back(post.point);
    }
    return points;
}

TravelTimes sent(const Ground& ground, const std::vector<Post>& posts) {
    const coverage::CareAssumptions assumed;
    return by_any(ground, posts, [&](routing::Means means, const std::vector<Post>& some) {
        ScenarioRoads roads = ground.roads(means);
        const auto settlements = roads.snaps(ground.settlements);
        const auto bases = roads.snaps(points_of(some));
        std::vector<Seconds> mobilisation;
        mobilisation.reserve(some.size());
        for (const Post& post : some) {
            mobilisation.push_back(post.mobilisation);
        }
        return coverage::vehicle_sent(
            coverage::turned_round(roads.ways(bases, settlements, ground.leave_at, ground.work)),
            mobilisation, assumed.loading,
            roads.ways(settlements, roads.snaps(ground.places), ground.leave_at, ground.work));
    });
}

TravelTimes on_foot(const Ground& ground, const std::vector<Post>& posts) {
    ScenarioRoads paths = ground.roads(routing::Means::on_foot);
    const auto settlements = paths.snaps(ground.settlements);
    const TravelTimes all_the_way =
        paths.ways(settlements, paths.snaps(ground.places), ground.leave_at, ground.work);
    return by_any(ground, posts, [&](routing::Means means, const std::vector<Post>& some) {
        ScenarioRoads roads = ground.roads(means);
        const std::vector<GeoPoint> points = points_of(some);
        return coverage::on_foot_first(
            paths.ways(settlements, paths.snaps(points), ground.leave_at, ground.work),
            roads.ways(roads.snaps(points), roads.snaps(ground.places), ground.leave_at,
                       ground.work),
            all_the_way, 0s);
    });
}

TravelTimes ways_on(const Ground& ground, const std::optional<VehicleId>& left_out) {
    switch (ground.request.transport) {
        case coverage::Transport::at_hand:
            return at_hand(ground);
        case coverage::Transport::on_foot:
            return on_foot(ground, posts_of(ground, left_out));
        case coverage::Transport::sent:
            break;
    }
    return sent(ground, posts_of(ground, left_out));
}

/// Of each settlement, whether a road is near enough for a way to be told.
std::vector<bool> on_the_map(const Ground& ground) {
    const bool walks = ground.request.transport == coverage::Transport::on_foot;
    const ScenarioRoads roads =
        ground.roads(walks ? routing::Means::on_foot : ground.request.means);
    std::vector<bool> all;
    all.reserve(ground.settlements.size());
    for (const GeoPoint& point : ground.settlements) {
        all.push_back(roads.snap(point).has_value());
    }
    return all;
}

std::vector<std::optional<double>> capacities_of(const facilities::FacilityRegister& places,
                                                 const std::vector<coverage::Capacity>& given) {
    std::vector<std::optional<double>> capacities(places.facilities().size());
    for (const coverage::Capacity& one : given) {
        capacities[places.position(one.facility)] = one.births_per_year;
    }
    return capacities;
}

std::vector<coverage::Weighted> times_of(const CoverageAnswer& answer) {
    std::vector<coverage::Weighted> times;
    for (std::size_t i = 0; i < answer.settlements.size(); ++i) {
        const auto& care = answer.accesses[i].care;
        times.push_back(
            {care ? std::optional(static_cast<double>(care->allow.count())) : std::nullopt,
             answer.settlements[i].births_per_year});
    }
    return times;
}

}  // namespace

AccessStudy::AccessStudy(const Snapshot& snapshot, const CoverageRequest& request,
                         const coverage::Scenario& scenario, Instant now,
                         const coverage::Work& work, const Supposed& supposed)
    : scenario_(scenario),
      settlements_(
          settlements_of(snapshot, {request.settlements, request.areas, request.births_per_1000})),
      leave_at_(request.leave_at.value_or(now)) {
    road_conditions_ = conditions_of(snapshot, request.road_conditions, leave_at_);
    const facilities::FacilityRegister places =
        coverage::with_changes(snapshot.facilities, scenario, leave_at_);
    Ground ground{snapshot, request, scenario, work, road_conditions_, leave_at_, {}, {}};
    for (const coverage::Settlement& settlement : settlements_) {
        ground.settlements.push_back(settlement.point);
    }
    for (const auto& home : coverage::changes_of<coverage::WaitingHome>(scenario)) {
        ground.settlements.push_back(places.facility(home.facility).point);
    }
    for (const facilities::Facility& place : places.facilities()) {
        ground.places.push_back(place.point);
    }
    is_on_the_map_ = on_the_map(ground);
    TravelTimes ways = ways_on(ground, supposed.vehicle_left_out);
    ways_ = std::make_shared<const TravelTimes>(
        supposed.time_factor == 1 ? std::move(ways) : coverage::scaled(ways, supposed.time_factor));
    clock_.emplace(ways_, places, leave_at_, request.readiness, assumptions_);
    capacities_ = capacities_of(places, request.capacities);
}

AccessStudy::Told AccessStudy::tell(const coverage::AccessQuestion& question) {
    Told told{settlements_, coverage::access(*clock_, question, is_on_the_map_)};
    if (told.accesses.size() != told.settlements.size()) {
        told.settlements = coverage::with_waiting_homes(
            settlements_, std::span(told.accesses).first(settlements_.size()), facilities(),
            scenario_);
    }
    return told;
}

coverage::AccessTotal AccessStudy::total(const coverage::AccessQuestion& question) {
    const Told told = tell(question);
    return coverage::total(told.settlements, told.accesses, question.standard);
}

CoverageAnswer AccessStudy::ask(const coverage::AccessQuestion& question) {
    Told told = tell(question);
    CoverageAnswer answer;
    answer.settlements = std::move(told.settlements);
    answer.accesses = std::move(told.accesses);
    answer.facilities = facilities();
    for (std::size_t i = 0; i < is_on_the_map_.size(); ++i) {
        if (!is_on_the_map_[i]) {
            answer.off_the_road.push_back(i);
        }
    }
    answer.leave_at = leave_at_;
    answer.road_conditions = road_conditions_;
    answer.assumptions = assumptions_;
    answer.total = coverage::total(answer.settlements, answer.accesses, question.standard);
    answer.areas = coverage::total_by_area(answer.settlements, answer.accesses, question.standard);
    answer.capacities = capacities_;
    answer.loads =
        coverage::loads(answer.settlements, answer.accesses, clock_->places(), capacities_);
    answer.curve = coverage::curve(answer.settlements, answer.accesses);
    const std::vector<coverage::Weighted> times = times_of(answer);
    answer.distribution = coverage::distribution(times);
    std::vector<coverage::Ranked> ranked;
    ranked.reserve(times.size());
    for (std::size_t i = 0; i < times.size(); ++i) {
        ranked.push_back({times[i], answer.settlements[i].wealth_rank});
    }
    answer.concentration = coverage::concentration_index(ranked);
    return answer;
}

}  // namespace waybourne::server
