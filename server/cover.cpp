#include "server/cover.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "server/facility_name.hpp"

namespace waybourne::server {

namespace {

/// Complications that are expected in an hour.
double calls_per_hour(const Snapshot& snapshot) {
    constexpr double hours_per_year = 8766;
    return coverage::births_of(*snapshot.settlements) * snapshot.complications_per_birth /
           hours_per_year;
}

/// Free, and not promised to anybody.
std::vector<std::size_t> idle_vehicles(const dispatch::DispatchSituation& situation,
                                       std::span<const dispatch::Vehicle> vehicles,
                                       std::span<const dispatch::Promise> promised) {
    auto idle = dispatch::free_now(situation, vehicles);
    std::erase_if(idle, [&](std::size_t number) {
        return std::any_of(promised.begin(), promised.end(), [&](const auto& promise) {
            return takes(promise, vehicles[number].id);
        });
    });
    return idle;
}

/// The idle vehicles that the plan takes.
std::vector<std::size_t> newly_sent(std::span<const dispatch::Vehicle> vehicles,
                                    std::span<const std::size_t> idle,
                                    std::span<const dispatch::Carried> carried) {
    std::vector<std::size_t> leaving;
    std::copy_if(idle.begin(), idle.end(), std::back_inserter(leaving), [&](std::size_t number) {
        return std::any_of(carried.begin(), carried.end(),
                           [&](const auto& one) { return takes(one.way, vehicles[number].id); });
    });
    return leaving;
}

std::vector<std::size_t> without(std::span<const std::size_t> idle,
                                 std::span<const std::size_t> leaving) {
    std::vector<std::size_t> left;
    std::copy_if(idle.begin(), idle.end(), std::back_inserter(left), [&](std::size_t number) {
        return std::find(leaving.begin(), leaving.end(), number) == leaving.end();
    });
    return left;
}

/// Rounded down: never more than the truth.
std::string percent(double share) {
    constexpr double hundred = 100;
    constexpr double rounding = 1e-9;
    return std::to_string(static_cast<int>(std::floor(share * hundred + rounding)));
}

/// Fills in what idle vehicles should do.
void advise(const dispatch::Waiting& waiting, const dispatch::CoverSettings& settings,
            std::span<const std::size_t> left, double births, CoverAnswer& answer) {
    double covered = dispatch::expected_cover(waiting.zones, waiting.now, left, waiting.busy);
    for (const dispatch::Move& move : dispatch::moves_to_make(waiting, left, settings.most_moves)) {
        covered += move.gains;
        answer.waits.push_back({move, covered / births});
    }
    for (const dispatch::MoveUp& one : dispatch::move_ups(waiting, left)) {
        answer.move_ups.push_back({one, one.before / births, one.after / births});
    }
    for (const dispatch::LastVehicle& one :
         dispatch::last_vehicles(waiting.zones, waiting.now, left)) {
        CoverAnswer::Last last{one.vehicle, {}};
        for (const std::size_t zone : one.zones) {
            last.areas.push_back(waiting.zones[zone].name);
        }
        answer.lasts.push_back(std::move(last));
    }
}

}  // namespace

std::optional<CoverAnswer> find_cover(const Snapshot& snapshot,
                                      const dispatch::DispatchSituation& situation,
                                      std::span<const dispatch::Vehicle> vehicles,
                                      std::span<const dispatch::Promise> promised,
                                      std::span<const dispatch::Carried> carried) {
    if (!snapshot.settlements || vehicles.empty()) {
        return std::nullopt;
    }
    std::vector<dispatch::Zone> zones;
    std::vector<GeoPoint> points;
    for (const coverage::Settlement& settlement : *snapshot.settlements) {
        zones.push_back({settlement.name, settlement.births_per_year});
        points.push_back(settlement.point);
    }
    const dispatch::CoverSettings settings;
    const auto table = dispatch::reach_of(situation, points, vehicles, settings.within);
    const auto idle = idle_vehicles(situation, vehicles, promised);
    const auto leaving = newly_sent(vehicles, idle, carried);
    constexpr double seconds_per_hour = 3600;
    const double busy = dispatch::busy_share(
        calls_per_hour(snapshot), static_cast<double>(settings.mission.count()) / seconds_per_hour,
        vehicles.size());
    CoverAnswer answer;
    answer.report = dispatch::cover_report(zones, table, idle, leaving, busy);
    answer.bases = dispatch::bases_of(vehicles);
    const double births = coverage::births_of(*snapshot.settlements);
    if (births > 0) {
        const auto from_bases =
            dispatch::reach_from_bases(situation, points, vehicles, answer.bases, settings.within);
        advise({zones, table, from_bases, busy, settings.least_gain * births}, settings,
               without(idle, leaving), births, answer);
    }
    return answer;
}

std::string name_of(const dispatch::Base& base, const Snapshot& snapshot) {
    if (const auto* facility = std::get_if<FacilityId>(&base)) {
        return name_of(snapshot.facilities, *facility);
    }
    const auto& point = std::get<GeoPoint>(base);
    return fmt::format("{:.4f}, {:.4f}", point.latitude().degrees, point.longitude().degrees);
}

Message message_of(const CoverAnswer::Wait& wait, const CoverAnswer& cover,
                   const Snapshot& snapshot, std::span<const dispatch::Vehicle> vehicles) {
    return {"dispatch.should_wait",
            {{"vehicle", vehicles[wait.move.vehicle].name},
             {"base", name_of(cover.bases[wait.move.base], snapshot)},
             {"percent", percent(wait.share_after)}}};
}

Message message_of(const CoverAnswer::MoveUp& move_up, const CoverAnswer& cover,
                   const Snapshot& snapshot, std::span<const dispatch::Vehicle> vehicles) {
    return {"dispatch.should_move_up",
            {{"called", vehicles[move_up.what.called].name},
             {"vehicle", vehicles[move_up.what.move.vehicle].name},
             {"base", name_of(cover.bases[move_up.what.move.base], snapshot)},
             {"percent", percent(move_up.share_after)},
             {"before", percent(move_up.share_before)}}};
}

Message message_of(const CoverAnswer::Last& last, std::span<const dispatch::Vehicle> vehicles) {
    if (last.areas.size() == 1) {
        return {"dispatch.is_last_for_one",
                {{"vehicle", vehicles[last.vehicle].name}, {"area", last.areas.front()}}};
    }
    return {"dispatch.is_last_for_several",
            {{"vehicle", vehicles[last.vehicle].name},
             {"area", last.areas.front()},
             {"count", std::to_string(last.areas.size())}}};
}

}  // namespace waybourne::server
