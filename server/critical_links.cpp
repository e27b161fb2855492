#include "server/critical_links.hpp"

#include <algorithm>
#include <map>

#include "facilities/offered.hpp"
#include "routing/nearest_places.hpp"
#include "server/settlements.hpp"
#include "server/ways.hpp"

namespace waybourne::server {

namespace {

constexpr std::size_t most_paired = 10;

bool is_same(const coverage::Failure& a, const coverage::Failure& b) {
    constexpr double crumb = 1e-6;
    return std::abs(a.births_lost - b.births_lost) < crumb &&
           std::abs(a.births_cut_off - b.births_cut_off) < crumb &&
           std::abs(a.birth_minutes_added - b.birth_minutes_added) < crumb;
}

/// Pieces of one road whose failure has the same outcome become one stretch.
std::vector<LinkFailure> stretches_of(const routing::RoadNetwork& network,
                                      const std::vector<coverage::CriticalLink>& links) {
    std::vector<LinkFailure> stretches;
    std::map<routing::RoadId, std::vector<std::size_t>> of_road;
    for (const coverage::CriticalLink& link : links) {
        const routing::Piece& piece = network.piece(link.piece);
        auto& known = of_road[piece.road];
        auto same = std::find_if(known.begin(), known.end(), [&](std::size_t one) {
            return is_same(stretches[one].failure, link.failure);
        });
        if (same == known.end()) {
            const routing::RoadAttributes& road = network.attributes_of(piece);
            known.push_back(stretches.size());
            same = std::prev(known.end());
            LinkFailure& made = stretches.emplace_back();
            made.road = network.name_of(piece);
            made.road_id = piece.road;
            made.road_class = routing::to_name(road.kind.road_class);
            made.failure = link.failure;
        }
        LinkFailure& stretch = stretches[*same];
        const routing::RoadAttributes& road = network.attributes_of(piece);
        stretch.is_bridge = stretch.is_bridge || road.is_bridge;
        stretch.is_ford = stretch.is_ford || road.is_ford;
        stretch.is_ferry = stretch.is_ferry || piece.is_ferry();
        stretch.length += Metres{piece.length_cm / 100.0};
        stretch.lines.push_back(line_of(network, piece));
        stretch.pieces.push_back(link.piece);
    }
    return stretches;
}

std::vector<LinkPairFailure> pairs_of(coverage::CriticalLinks& search,
                                      const std::vector<LinkFailure>& links) {
    std::vector<LinkPairFailure> pairs;
    const std::size_t most = std::min(most_paired, links.size());
    for (std::size_t a = 0; a < most; ++a) {
        for (std::size_t b = a + 1; b < most; ++b) {
            const std::vector<routing::PieceId> both{links[a].pieces.front(),
                                                     links[b].pieces.front()};
            const coverage::Failure failure = search.failure_of(both);
            const double apart = links[a].failure.births_lost + links[b].failure.births_lost;
            constexpr double crumb = 1e-6;
            if (failure.births_lost > apart + crumb) {
                pairs.push_back({a, b, failure});
            }
        }
    }
    std::stable_sort(pairs.begin(), pairs.end(), [](const auto& a, const auto& b) {
        return a.failure.births_lost > b.failure.births_lost;
    });
    return pairs;
}

std::vector<VehicleFailure> vehicles_failing(const Snapshot& snapshot,
                                             const CoverageRequest& request, Instant now,
                                             const coverage::Work& work) {
    std::vector<VehicleFailure> failures;
    const double with_all =
        AccessStudy(snapshot, request, {}, now, work).total(request.question).in_time;
    for (const dispatch::Vehicle& vehicle : snapshot.vehicles) {
        AccessStudy without(snapshot, request, {}, now, work, {.vehicle_left_out = vehicle.id});
        failures.push_back({vehicle.id, with_all - without.total(request.question).in_time});
    }
    std::stable_sort(failures.begin(), failures.end(),
                     [](const auto& a, const auto& b) { return a.births_lost > b.births_lost; });
    return failures;
}

std::vector<routing::Snap> on_the_road(const ScenarioRoads& roads,
                                       std::span<const GeoPoint> points) {
    std::vector<routing::Snap> snaps;
    for (const auto& snap : roads.snaps(points)) {
        snaps.push_back(snap.value_or(routing::Snap{}));
    }
    return snaps;
}

}  // namespace

std::vector<GeoPoint> line_of(const routing::RoadNetwork& network, const routing::Piece& piece) {
    std::vector<GeoPoint> line;
    for (const routing::FixedPoint& point : network.shape_of(piece)) {
        line.push_back(routing::to_geo_point(point));
    }
    return line;
}

LinksAnswer answer_links(const Snapshot& snapshot, const CoverageRequest& request, Instant now,
                         const coverage::Work& work) {
    LinksAnswer answer;
    answer.leave_at = request.leave_at.value_or(now);
    answer.road_conditions = conditions_of(snapshot, request.road_conditions, answer.leave_at);
    const auto settlements =
        settlements_of(snapshot, {request.settlements, request.areas, request.births_per_1000});
    std::vector<GeoPoint> homes;
    std::vector<double> births;
    for (const coverage::Settlement& settlement : settlements) {
        homes.push_back(settlement.point);
        births.push_back(settlement.births_per_year);
        answer.births += settlement.births_per_year;
    }
    std::vector<GeoPoint> doors;
    std::vector<bool> is_capable;
    for (const facilities::Facility& place : snapshot.facilities.facilities()) {
        doors.push_back(place.point);
        is_capable.push_back(facilities::offered_by(place).contains_all(request.question.needed));
    }
    if (std::find(is_capable.begin(), is_capable.end(), true) == is_capable.end()) {
        throw InputError("no facility offers all that is needed, so no road leads there");
    }
    const ScenarioRoads roads(*snapshot.roads, {request.means, answer.road_conditions},
                              answer.leave_at, {});
    answer.has_timetables = roads.metric()->has_waits();
    const auto base = std::make_shared<const routing::NearestPlaces>(
        roads.metric(), on_the_road(roads, doors), is_capable, on_the_road(roads, homes));
    const Seconds standard =
        request.question.standard - answer.assumptions.preparation - answer.assumptions.handover;
    for (std::size_t i = 0; i < births.size(); ++i) {
        const auto nearest = base->of_settlement(i);
        answer.births_in_time += nearest && nearest->travel_time.allow <= standard ? births[i] : 0;
    }
    coverage::CriticalLinks search(base, births, standard);
    answer.links = stretches_of(roads.metric()->network(), search.all(work));
    answer.pairs = pairs_of(search, answer.links);
    for (const coverage::CriticalPlace& place : search.places()) {
        answer.places.push_back({snapshot.facilities.facilities()[place.place].id, place.failure});
    }
    if (request.transport != coverage::Transport::at_hand) {
        answer.vehicles = vehicles_failing(snapshot, request, now, work);
    }
    return answer;
}

}  // namespace waybourne::server
