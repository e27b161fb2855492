#include "dispatch/vehicle.hpp"

#include <algorithm>
#include <span>
#include <utility>

namespace waybourne::dispatch {

namespace {

constexpr std::array<std::string_view, 5> kinds{"ambulance", "motorcycle_ambulance", "pick_up",
                                                "car", "boat"};
constexpr std::array<std::string_view, 6> terrains{"paved", "unpaved",       "track",
                                                   "path",  "ford_when_dry", "river"};
constexpr std::array<std::string_view, 5> skills{"first_aid", "nurse", "midwife",
                                                 "clinical_officer", "doctor"};
constexpr std::array<std::string_view, 8> holds{"rest",      "refuelling", "repair", "mission",
                                                "breakdown", "no_fuel",    "taken",  "off_duty"};

template <typename Enum>
std::optional<Enum> find_in(std::span<const std::string_view> names, std::string_view name) {
    const auto found = std::find(names.begin(), names.end(), name);
    return found == names.end() ? std::nullopt
                                : std::optional{static_cast<Enum>(found - names.begin())};
}

std::string minutes(Seconds span) {
    return std::to_string(ceil_minutes(span).count());
}

/// Sooner of `first` and when the duty is first worked from `from` on.
std::optional<Instant> sooner(const std::optional<Instant>& first, const Duty& duty, Instant from) {
    const Instant begins = std::max(duty.from, from);
    return begins < duty.until && (!first || begins < *first) ? begins : first;
}

/// The first moment from `from` on at which somebody is on duty.
std::optional<Instant> next_on_shift(const Vehicle& vehicle, const TimeZone& zone, Instant from) {
    std::optional<Instant> first;
    if (vehicle.roster.empty()) {
        first = vehicle.shift.next_open(from, zone, {});
    }
    for (const Duty& duty : vehicle.roster) {
        first = sooner(first, duty, from);
    }
    return vehicle.called_in ? sooner(first, *vehicle.called_in, from) : first;
}

}  // namespace

std::string_view to_name(VehicleKind kind) {
    return kinds.at(static_cast<std::size_t>(kind));
}
std::string_view to_name(Terrain terrain) {
    return terrains.at(static_cast<std::size_t>(terrain));
}
std::string_view to_name(Skill skill) {
    return skills.at(static_cast<std::size_t>(skill));
}
std::string_view to_name(Hold hold) {
    return holds.at(static_cast<std::size_t>(hold));
}
std::optional<VehicleKind> find_vehicle_kind(std::string_view name) {
    return find_in<VehicleKind>(kinds, name);
}
std::optional<Terrain> find_terrain(std::string_view name) {
    return find_in<Terrain>(terrains, name);
}
std::optional<Skill> find_skill(std::string_view name) {
    return find_in<Skill>(skills, name);
}
std::optional<Hold> find_hold(std::string_view name) {
    return find_in<Hold>(holds, name);
}

KnownPosition position_of(const Vehicle& vehicle, Instant now, const VehicleSettings& settings) {
    if (!vehicle.last_position) {
        return {std::nullopt, std::nullopt, Message{"dispatch.position_taken_as_base"}};
    }
    KnownPosition known;
    known.point = vehicle.last_position->point;
    known.age = std::max(Seconds{0}, now - vehicle.last_position->at);
    if (*known.age > settings.position_is_fresh_for) {
        known.remark = Message{"dispatch.position_is_old", {{"minutes", minutes(*known.age)}}};
    }
    return known;
}

std::optional<Instant> on_duty_until(const Vehicle& vehicle, const TimeZone& zone, Instant at) {
    const bool has_hours = vehicle.roster.empty();
    if (has_hours && vehicle.shift.is_always_open()) {
        return Instant::max();
    }
    Instant end = at;
    const auto extend = [&](const Duty& duty) {
        end = duty.from <= end && end < duty.until ? duty.until : end;
    };
    Instant before{};
    do {
        before = end;
        if (has_hours && vehicle.shift.is_open(end, zone, {})) {
            end = vehicle.shift.next_closed(end, zone, {}).value_or(Instant::max());
        }
        std::for_each(vehicle.roster.begin(), vehicle.roster.end(), extend);
        if (vehicle.called_in) {
            extend(*vehicle.called_in);
        }
    } while (end != before && end != Instant::max());
    return end == at ? std::nullopt : std::optional(end);
}

Availability availability(const Vehicle& vehicle, const TimeZone& zone, Instant now,
                          const VehicleSettings& settings) {
    Availability answer;
    Instant from = now;
    const std::string held =
        vehicle.busy ? "dispatch.held_by_" + std::string{to_name(vehicle.busy->because)} : "";
    if (vehicle.busy && !vehicle.busy->until) {
        answer.reasons.push_back({held + "_open_ended"});
        return answer;
    }
    if (vehicle.busy && *vehicle.busy->until > from) {
        from = *vehicle.busy->until;
        answer.reasons.push_back({held, {{"until", to_rfc3339(from)}}});
    }
    auto on_shift = next_on_shift(vehicle, zone, from);
    bool goes_later = false;
    while (on_shift && *on_shift <= now + settings.waits_for_shift) {
        const Instant ends = *on_duty_until(vehicle, zone, *on_shift);
        if (*on_shift + mobilisation_at(vehicle, zone, *on_shift) < ends) {
            break;
        }
        if (!std::exchange(goes_later, true)) {
            answer.reasons.push_back(
                {"dispatch.shift_ends_before_it_goes", {{"ends", to_rfc3339(ends)}}});
        }
        on_shift = next_on_shift(vehicle, zone, ends);
    }
    if (!on_shift || *on_shift > now + settings.waits_for_shift) {
        answer.reasons.push_back({"dispatch.no_shift_soon"});
        return answer;
    }
    if (*on_shift > from) {
        answer.reasons.push_back(
            {"dispatch.shift_begins_later", {{"begins", to_rfc3339(*on_shift)}}});
    }
    answer.from = on_shift;
    return answer;
}

Seconds mobilisation_at(const Vehicle& vehicle, const TimeZone& zone, Instant called) {
    constexpr auto day = 24h;
    const Seconds of_day = (zone.local(called).since_1970 % day + day) % day;
    return vehicle.mobilisation.at(static_cast<std::size_t>(of_day / 1h));
}

}  // namespace waybourne::dispatch
