#include "coverage/what_if.hpp"

#include <algorithm>
#include <array>
#include <iterator>

#include "facilities/offered.hpp"

namespace waybourne::coverage {

namespace {

using facilities::Facility;
using facilities::FacilityRegister;
using facilities::Service;

constexpr std::array<std::string_view, std::variant_size_v<Change>> change_names{
    "service",    "hours",   "facility", "waiting_home", "vehicle_post",
    "new_bridge", "bridged", "paved",    "closed"};

Service always_ready(triage::Capability capability) {
    Service service;
    service.capability = capability;
    service.hours = facilities::OpeningHours();
    return service;
}

facilities::Report ready_report(const FacilityId& facility, triage::Capability capability,
                                Instant at) {
    facilities::Report report;
    report.facility = facility;
    report.about = capability;
    report.at = at;
    report.by = "planned";
    report.is_ready = true;
    return report;
}

/// A register's facilities while they are being changed.
class ChangedFacilities {
public:
    ChangedFacilities(const FacilityRegister& before, Instant at)
        : before_(before),
          places_(before.facilities().begin(), before.facilities().end()),
          reports_(before.reports()),
          at_(at) {}

    void operator()(const AddedService& change) {
        Facility& place = find(change.facility);
        for (const triage::Capability capability : change.capabilities.members()) {
            std::erase_if(place.services,
                          [&](const Service& service) { return service.capability == capability; });
            add(place, capability);
        }
    }
    void operator()(const ExtendedHours& change) {
        Facility& place = find(change.facility);
        for (Service& service : place.services) {
            if (change.capabilities.empty() || change.capabilities.contains(service.capability)) {
                service.hours = change.hours;
                extend_what_it_needs(place, service);
            }
        }
        if (!facilities::offered_by(place).contains_all(change.capabilities)) {
            throw InputError(place.id.value() +
                             " does not offer all of the care whose hours are extended");
        }
        if (change.capabilities.empty()) {
            place.hours = change.hours;
        }
        place.hours_confirmed_at = at_;
    }
    void operator()(const AddedFacility& change) {
        if (std::any_of(places_.begin(), places_.end(),
                        [&](const Facility& place) { return place.id == change.id; })) {
            throw InputError("a new facility has the id of one that is there: " +
                             change.id.value());
        }
        Facility place;
        place.id = change.id;
        place.name = change.name;
        place.point = change.point;
        place.kind = "planned";
        place.time_zone = places_.empty() ? "Etc/UTC" : places_.front().time_zone;
        place.hours = facilities::OpeningHours();
        place.hours_confirmed_at = at_;
        for (const triage::Capability capability : change.capabilities.members()) {
            add(place, capability);
        }
        places_.push_back(std::move(place));
    }
    void operator()(const WaitingHome& change) { find(change.facility); }
    template <typename Other>
    void operator()(const Other& /*about roads or vehicles*/) {}

    FacilityRegister take() {
        return FacilityRegister(std::move(places_), before_.holidays()).with(reports_);
    }

private:
    Facility& find(const FacilityId& id) {
        const auto found = std::find_if(places_.begin(), places_.end(),
                                        [&](const Facility& place) { return place.id == id; });
        if (found == places_.end()) {
            before_.facility(id);  // throws with the nearest id
        }
        return *found;
    }
    void add(Facility& place, triage::Capability capability) {
        place.services.push_back(always_ready(capability));
        std::erase_if(reports_, [&](const facilities::Report& report) {
            return report.facility == place.id &&
                   report.about == facilities::ReportSubject(capability);
        });
        reports_.push_back(ready_report(place.id, capability, at_));
    }
    static void extend_what_it_needs(Facility& place, const Service& service) {
        for (facilities::Resource& resource : place.resources) {
            const bool is_needed = std::any_of(
                service.needs.begin(), service.needs.end(),
                [&](const auto& dependency) { return dependency.resource == resource.name; });
            if (is_needed) {
                resource.hours.reset();  // whenever the service is open
            }
        }
    }

    const FacilityRegister& before_;
    std::vector<Facility> places_;
    std::vector<facilities::Report> reports_;
    Instant at_;
};

routing::SpeedRules with_attributes(const routing::SpeedRules& rules,
                                    const std::function<void(routing::RoadAttributes&)>& change) {
    routing::SpeedRules changed = rules;
    changed.on_road = [on_road = rules.on_road, change](routing::RoadAttributes attributes) {
        change(attributes);
        return on_road(attributes);
    };
    return changed;
}

void pave(routing::RoadAttributes& road) {
    road.kind.surface = routing::SurfaceClass::paved;
    road.kind.track_type = routing::TrackType::grade1;
    road.kind.smoothness = routing::Smoothness::good;
    road.is_seasonal = false;
    road.is_wet_season_only = false;
}

void bridge(routing::RoadAttributes& road) {
    road.is_ford = false;
    road.is_seasonal = false;
}

std::vector<routing::PieceId> pieces_of(const routing::RoadNetwork& network,
                                        const routing::Where& where) {
    auto pieces = routing::pieces_at(network, where);
    if (pieces.empty()) {
        throw InputError(
            "a change means no road of the map: none has that id or name, or lies "
            "there");
    }
    return pieces;
}

/// In ascending order, each once.
void add_pieces(const routing::RoadNetwork& network, const routing::Where& where,
                std::vector<routing::PieceId>& pieces) {
    const auto more = pieces_of(network, where);
    std::vector<routing::PieceId> all;
    std::set_union(pieces.begin(), pieces.end(), more.begin(), more.end(), std::back_inserter(all));
    pieces = std::move(all);
}

/// Numbers of the settlements that are not in time, nearest to a point first.
std::vector<std::size_t> gaps_near(const GeoPoint& point, std::span<const Settlement> settlements,
                                   std::span<const SettlementAccess> accesses) {
    std::vector<std::size_t> gaps;
    std::vector<double> metres(accesses.size());
    for (std::size_t i = 0; i < accesses.size(); ++i) {
        metres[i] = great_circle_distance(point, settlements[i].point).value();
        if (accesses[i].access != AccessClass::in_time) {
            gaps.push_back(i);
        }
    }
    std::stable_sort(gaps.begin(), gaps.end(),
                     [&](std::size_t a, std::size_t b) { return metres[a] < metres[b]; });
    return gaps;
}

}  // namespace

std::string_view to_name(const Change& change) {
    return change_names.at(change.index());
}

bool changes_roads(const Scenario& scenario) {
    return std::any_of(scenario.changes.begin(), scenario.changes.end(), [](const Change& change) {
        return std::holds_alternative<NewBridge>(change) ||
               std::holds_alternative<BridgedRoad>(change) ||
               std::holds_alternative<PavedRoad>(change) ||
               std::holds_alternative<ClosedRoad>(change);
    });
}

FacilityRegister with_changes(const FacilityRegister& facilities, const Scenario& scenario,
                              Instant at) {
    ChangedFacilities changed(facilities, at);
    for (const Change& change : scenario.changes) {
        std::visit(changed, change);
    }
    return changed.take();
}

std::shared_ptr<const routing::Metric> with_changes(
    std::shared_ptr<const routing::Metric> metric, const routing::SpeedRules& rules,
    const std::function<routing::Metric(const routing::SpeedRules&)>& anew,
    const Scenario& scenario) {
    using Pieces = std::vector<routing::PieceId>;
    const routing::RoadNetwork& network = metric->network();
    Pieces bridged;
    Pieces paved;
    for (const Change& change : scenario.changes) {
        if (const auto* const over = std::get_if<BridgedRoad>(&change)) {
            add_pieces(network, over->where, bridged);
        } else if (const auto* const hard = std::get_if<PavedRoad>(&change)) {
            add_pieces(network, hard->where, paved);
        }
    }
    Pieces both;
    std::set_intersection(bridged.begin(), bridged.end(), paved.begin(), paved.end(),
                          std::back_inserter(both));
    const auto improve = [&](const Pieces& pieces, const routing::SpeedRules& better) {
        if (!pieces.empty()) {
            metric = std::make_shared<const routing::Metric>(metric->with(pieces, anew(better)));
        }
    };
    const routing::SpeedRules over_water = with_attributes(rules, bridge);
    improve(bridged, over_water);
    improve(paved, with_attributes(rules, pave));
    improve(both, with_attributes(over_water, pave));
    // a road that is to be closed stays closed, whatever else is planned for it
    for (const ClosedRoad& closed : changes_of<ClosedRoad>(scenario)) {
        metric = std::make_shared<const routing::Metric>(
            metric->without(pieces_of(network, closed.where)));
    }
    return metric;
}

std::vector<routing::TemporaryLink> links_of(const Scenario& scenario) {
    std::vector<routing::TemporaryLink> links;
    for (const NewBridge& bridge : changes_of<NewBridge>(scenario)) {
        routing::TemporaryLink link{.id = "planned-bridge-" + std::to_string(links.size() + 1),
                                    .from = bridge.from,
                                    .to = bridge.to,
                                    .kilometres_per_hour = bridge.kilometres_per_hour,
                                    .period = {},
                                    .reason = {}};
        links.push_back(std::move(link));
    }
    return links;
}

std::vector<Settlement> with_waiting_homes(std::vector<Settlement> settlements,
                                           std::span<const SettlementAccess> accesses,
                                           const FacilityRegister& facilities,
                                           const Scenario& scenario) {
    for (const WaitingHome& home : changes_of<WaitingHome>(scenario)) {
        const Facility& place = facilities.facility(home.facility);
        Settlement made;
        made.id = SettlementId("waiting-home-" + place.id.value());
        made.name = place.name;
        made.kind = "waiting_home";
        made.point = place.point;
        for (const std::size_t i : gaps_near(place.point, settlements, accesses)) {
            const double come = std::min(settlements[i].births_per_year,
                                         home.births_per_year - made.births_per_year);
            settlements[i].births_per_year -= come;
            made.births_per_year += come;
        }
        settlements.push_back(std::move(made));
    }
    return settlements;
}

}  // namespace waybourne::coverage
