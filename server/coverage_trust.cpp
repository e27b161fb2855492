#include "server/coverage_trust.hpp"

#include <algorithm>
#include <map>
#include <set>

#include "server/settlements.hpp"
#include "server/speed_offer.hpp"
#include "server/ways.hpp"

namespace waybourne::server {

namespace {

std::vector<TrustAnswer::FarFromRoad> distances(
    const Snapshot& snapshot, const CoverageRequest& request, Instant at,
    const std::vector<coverage::Settlement>& settlements) {
    const Roads::State roads = snapshot.roads->state(
        {request.means, conditions_of(snapshot, request.road_conditions, at)}, at);
    std::vector<TrustAnswer::FarFromRoad> all;
    for (const coverage::Settlement& settlement : settlements) {
        const auto snap = roads.snap(settlement.point);
        all.push_back({settlement.id, settlement.name, settlement.births_per_year,
                       snap ? std::optional(snap->accesses.front().off_road) : std::nullopt});
    }
    std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) {
        if (a.off_road.has_value() != b.off_road.has_value()) {
            return !a.off_road;
        }
        return a.off_road && *a.off_road > *b.off_road;
    });
    return all;
}

std::vector<TrustAnswer::NeverConfirmed> unconfirmed(const facilities::FacilityRegister& places) {
    std::map<FacilityId, std::set<std::string>> reported;
    for (const facilities::Report& report : places.reports()) {
        reported[report.facility].insert(facilities::to_name(report.about));
    }
    std::vector<TrustAnswer::NeverConfirmed> all;
    for (const facilities::Facility& place : places.facilities()) {
        const auto& heard = reported[place.id];
        TrustAnswer::NeverConfirmed made{place.id, place.name, !place.hours_confirmed_at, {}};
        for (const facilities::Service& service : place.services) {
            const bool is_heard_of =
                heard.contains(std::string(triage::to_name(service.capability))) ||
                service.last_performed_at.has_value() ||
                std::any_of(service.needs.begin(), service.needs.end(),
                            [&](const auto& need) { return heard.contains(need.resource); });
            if (!is_heard_of) {
                made.care.insert(service.capability);
            }
        }
        if (made.hours || !made.care.empty()) {
            all.push_back(std::move(made));
        }
    }
    return all;
}

std::vector<TrustAnswer::Speeds> speed_sources(const RoadSources& sources) {
    std::map<routing::RoadClass, TrustAnswer::Speeds> by_class;
    const routing::RoadNetwork& network = *sources.network;
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        const routing::PieceId id{number};
        const routing::Piece& piece = network.piece(id);
        const routing::RoadKind& kind = network.attributes_of(piece).kind;
        const routing::SpeedRow* const row = piece.is_ferry() || network.original(id) != id
                                                 ? nullptr
                                                 : sources.speeds->find_row(kind);
        if (row == nullptr) {
            continue;
        }
        TrustAnswer::Speeds& of_class = by_class[kind.road_class];
        of_class.road_class = routing::to_name(kind.road_class);
        const bool is_measured = sources.speeds->rows().sources.at(row->source).is_measured;
        const bool is_own = row->source.starts_with(own_journeys);
        (is_own        ? of_class.observed
         : is_measured ? of_class.measured
                       : of_class.assumed) += Metres{piece.length_cm / 100.0};
    }
    std::vector<TrustAnswer::Speeds> all;
    all.reserve(by_class.size());
    for (const auto& [road_class, speeds] : by_class) {
        all.push_back(speeds);
    }
    std::stable_sort(all.begin(), all.end(),
                     [](const auto& a, const auto& b) { return a.assumed > b.assumed; });
    return all;
}

/// Without boundaries and official figures.
std::vector<coverage::Area> areas_named_by(const std::vector<coverage::Settlement>& settlements) {
    std::set<AreaId> ids;
    for (const coverage::Settlement& settlement : settlements) {
        if (!settlement.area.value().empty()) {
            ids.insert(settlement.area);
        }
    }
    std::vector<coverage::Area> areas;
    areas.reserve(ids.size());
    for (const AreaId& id : ids) {
        areas.push_back({id, id.value(), {}, {}});
    }
    return areas;
}

}  // namespace

Metres TrustAnswer::observed() const {
    Metres sum{0};
    for (const Speeds& of_class : speeds) {
        sum += of_class.observed;
    }
    return sum;
}

TrustAnswer answer_trust(const Snapshot& snapshot, const CoverageRequest& request, Instant now) {
    const auto settlements =
        settlements_of(snapshot, {request.settlements, request.areas, request.births_per_1000});
    TrustAnswer answer;
    answer.settlements = settlements.size();
    answer.births = coverage::births_of(settlements);
    for (const coverage::Settlement& settlement : settlements) {
        if (settlement.births_are_estimated) {
            ++answer.estimated;
            answer.births_estimated += settlement.births_per_year;
        }
    }
    const auto areas = areas_of(snapshot, request.areas);
    answer.areas =
        coverage::area_totals(settlements, areas.empty() ? areas_named_by(settlements) : areas);
    answer.far_from_road =
        distances(snapshot, request, request.leave_at.value_or(now), settlements);
    answer.never_confirmed = unconfirmed(snapshot.facilities);
    answer.speeds = speed_sources(snapshot.roads->sources());
    return answer;
}

}  // namespace waybourne::server
