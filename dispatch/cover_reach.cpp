#include "dispatch/cover_reach.hpp"

#include <algorithm>

#include "dispatch/internal/ways.hpp"

namespace waybourne::dispatch {

namespace {

bool is_free_now(const DispatchSituation& situation, const Vehicle& vehicle) {
    const auto available =
        availability(vehicle, situation.zone, situation.now, situation.settings.vehicles);
    return available.from == situation.now;
}

/// The zones that lie on the vehicle's roads, with their numbers.
struct ZoneSnaps {
    std::vector<routing::Snap> snaps;
    std::vector<std::size_t> numbers;
};

ZoneSnaps snaps_of(const DispatchSituation& situation, std::span<const GeoPoint> zones,
                   routing::Means means, Instant departs) {
    ZoneSnaps found;
    for (std::size_t zone = 0; zone < zones.size(); ++zone) {
        if (const auto snap = situation.roads.snap(zones[zone], means, departs)) {
            found.snaps.push_back(*snap);
            found.numbers.push_back(zone);
        }
    }
    return found;
}

/// One vehicle that is called now, and the time from the call within which it must be there.
struct CalledNow {
    const DispatchSituation& situation;
    const Vehicle& vehicle;
    Seconds within;

    Instant sets_out() const { return sets_out_at(situation, vehicle, situation.now); }
};

/// Marks what a vehicle would reach from there, in column `column`.
void add_reach(const CalledNow& called, const std::optional<routing::Snap>& from,
               const ZoneSnaps& zones, std::size_t column, ReachTable& table) {
    const Instant sets_out = called.sets_out();
    const Seconds left = called.within - (sets_out - called.situation.now);
    if (!from || left <= Seconds{0}) {
        return;
    }
    // Always the same limit, so that roads which are remembered are searched once.
    const auto times = called.situation.roads.roads(called.vehicle.means, sets_out)
                           .router->travel_times({*from, sets_out}, zones.snaps, called.within);
    for (std::size_t i = 0; i < times.size(); ++i) {
        if (times[i] && times[i]->allow <= left) {
            table.set(zones.numbers[i], column);
        }
    }
}

}  // namespace

ReachTable reach_of(const DispatchSituation& situation, std::span<const GeoPoint> zones,
                    std::span<const Vehicle> vehicles, Seconds within) {
    ReachTable table(zones.size(), vehicles.size());
    for (const std::size_t number : free_now(situation, vehicles)) {
        const CalledNow called{situation, vehicles[number], within};
        std::vector<Message> remarks;
        const auto from = place_of(situation, called.vehicle, called.sets_out(), remarks);
        add_reach(called, from, snaps_of(situation, zones, called.vehicle.means, called.sets_out()),
                  number, table);
    }
    return table;
}

std::vector<ReachTable> reach_from_bases(const DispatchSituation& situation,
                                         std::span<const GeoPoint> zones,
                                         std::span<const Vehicle> vehicles,
                                         std::span<const Base> bases, Seconds within) {
    std::vector<ReachTable> tables(vehicles.size(), ReachTable(zones.size(), 0));
    for (const std::size_t number : free_now(situation, vehicles)) {
        const CalledNow called{situation, vehicles[number], within};
        const ZoneSnaps snaps = snaps_of(situation, zones, called.vehicle.means, called.sets_out());
        tables[number] = ReachTable(zones.size(), bases.size());
        for (std::size_t base = 0; base < bases.size(); ++base) {
            add_reach(called,
                      place_of(situation, bases[base], called.vehicle.means, called.sets_out()),
                      snaps, base, tables[number]);
        }
    }
    return tables;
}

std::vector<Base> bases_of(std::span<const Vehicle> vehicles) {
    std::vector<Base> bases;
    for (const Vehicle& vehicle : vehicles) {
        if (std::find(bases.begin(), bases.end(), vehicle.base) == bases.end()) {
            bases.push_back(vehicle.base);
        }
    }
    return bases;
}

std::vector<std::size_t> free_now(const DispatchSituation& situation,
                                  std::span<const Vehicle> vehicles) {
    std::vector<std::size_t> free;
    for (std::size_t number = 0; number < vehicles.size(); ++number) {
        if (is_free_now(situation, vehicles[number])) {
            free.push_back(number);
        }
    }
    return free;
}

}  // namespace waybourne::dispatch
