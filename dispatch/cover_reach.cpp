#include "dispatch/cover_reach.hpp"

#include "dispatch/internal/ways.hpp"

namespace waybourne::dispatch {

namespace {

bool is_free_now(const DispatchSituation& situation, const Vehicle& vehicle) {
    const auto available =
        availability(vehicle, situation.zone, situation.now, situation.settings.vehicles);
    return available.from == situation.now;
}

/// Marks what one vehicle reaches.
void add_reach(const DispatchSituation& situation, std::span<const GeoPoint> zones,
               const Vehicle& vehicle, std::size_t number, Seconds within, ReachTable& table) {
    const Instant sets_out = sets_out_at(situation, vehicle, situation.now);
    const Seconds left = within - (sets_out - situation.now);
    std::vector<Message> remarks;
    const auto from = place_of(situation, vehicle, sets_out, remarks);
    if (!from || left <= Seconds{0}) {
        return;
    }
    std::vector<routing::Snap> targets;
    std::vector<std::size_t> numbers;
    for (std::size_t zone = 0; zone < zones.size(); ++zone) {
        if (const auto snap = situation.roads.snap(zones[zone], vehicle.means, sets_out)) {
            targets.push_back(*snap);
            numbers.push_back(zone);
        }
    }
    const auto times = situation.roads.roads(vehicle.means, sets_out)
                           .router->travel_times({*from, sets_out}, targets, left);
    for (std::size_t i = 0; i < times.size(); ++i) {
        if (times[i] && times[i]->allow <= left) {
            table.set(numbers[i], number);
        }
    }
}

}  // namespace

ReachTable reach_of(const DispatchSituation& situation, std::span<const GeoPoint> zones,
                    std::span<const Vehicle> vehicles, Seconds within) {
    ReachTable table(zones.size(), vehicles.size());
    for (const std::size_t number : free_now(situation, vehicles)) {
        add_reach(situation, zones, vehicles[number], number, within, table);
    }
    return table;
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
