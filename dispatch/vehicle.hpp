#pragma once
/// What carries her: a vehicle as a value, when it can set out, and from where.

#include <array>
#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "facilities/opening_hours.hpp"
#include "facilities/service.hpp"
#include "routing/route.hpp"
#include "vocabulary/distance.hpp"
#include "vocabulary/geo_point.hpp"
#include "vocabulary/identifier.hpp"
#include "vocabulary/message.hpp"
#include "vocabulary/time_zone.hpp"

namespace waybourne::dispatch {

/// What it is to people. `means` is what it is to the roads.
enum class VehicleKind : std::uint8_t { ambulance, motorcycle_ambulance, pick_up, car, boat };
/// Where it can go. For people to read: which roads it may use is decided by its means.
enum class Terrain : std::uint8_t { paved, unpaved, track, path, ford_when_dry, river };
/// What whoever comes along has learnt.
enum class Skill : std::uint8_t { first_aid, nurse, midwife, clinical_officer, doctor };

std::string_view to_name(VehicleKind kind);
std::string_view to_name(Terrain terrain);
std::string_view to_name(Skill skill);
std::optional<VehicleKind> find_vehicle_kind(std::string_view name);
std::optional<Terrain> find_terrain(std::string_view name);
std::optional<Skill> find_skill(std::string_view name);

struct Seats {
    int lying = 0;
    int sitting = 0;
    bool operator==(const Seats&) const = default;
};

/// Where it was when it was last heard of.
struct Position {
    GeoPoint point{Latitude{0}, Longitude{0}};
    Instant at{};
    bool operator==(const Position&) const = default;
};

/// One duty of a roster: works from `from` until just before `until`, which lies after it.
struct Duty {
    Instant from{};
    Instant until{};
    bool operator==(const Duty&) const = default;
};

/// A facility of the register, or a point.
using Base = std::variant<FacilityId, GeoPoint>;

/// Why a vehicle cannot be sent now.
enum class Hold : std::uint8_t {
    rest,
    refuelling,
    repair,
    mission,
    breakdown,
    no_fuel,
    taken,     ///< for something else
    off_duty,  ///< nobody drives it, whatever its shift says
};
std::string_view to_name(Hold hold);
std::optional<Hold> find_hold(std::string_view name);

struct Busy {
    /// None: until somebody says that it is free.
    std::optional<Instant> until = {};
    Hold because = Hold::mission;
    bool operator==(const Busy&) const = default;
};

/// A vehicle with its crew. What is unknown is empty and never counts as a no.
struct Vehicle {
    VehicleId id;
    std::string name;
    Base base;
    VehicleKind kind = VehicleKind::ambulance;
    routing::Means means = routing::Means::car;
    std::set<Terrain> terrain = {};
    Seats seats = {1, 0};
    /// What is on board, in the words of the care it serves. It is shown and decides between equal
    /// ways; a need counts as met only where a place meets it.
    triage::CapabilitySet kit = {};
    std::set<Skill> escort_skills = {};
    /// Weekly hours in the district's time zone; not asked where there is a roster.
    facilities::OpeningHours shift = {};
    std::vector<Duty> roster = {};
    /// From the call until the wheels turn, by the local hour in which the call comes.
    std::array<std::chrono::minutes, 24> mobilisation = {};
    /// Cleaning, refuelling and rest after a mission, before it can be sent again.
    Seconds turnaround = {};
    std::optional<Position> last_position = {};
    std::optional<Busy> busy = {};
    /// Somebody drives it then, whatever its shift says.
    std::optional<Duty> called_in = {};
    std::vector<std::string> phones = {};
    bool operator==(const Vehicle&) const = default;
};

/// Every figure this room takes from nowhere else. Proposals without a published source unless one
/// is named.
struct VehicleSettings {
    /// A position older than this is still used, and said to be old. Proposal.
    Seconds position_is_fresh_for = 15min;
    /// Clocks run ahead a little: a position up to this far after now counts as now. Proposal.
    Seconds clock_tolerance = 2min;
    /// Last heard of this near to a woman, it stands where she is. Proposal.
    Metres stands_there_within{100};
    /// A shift that begins within this is waited for. Proposal.
    Seconds waits_for_shift = 12h;
};

/// From where it is sent, with what a dispatcher must know of that.
struct KnownPosition {
    /// None: at its base.
    std::optional<GeoPoint> point;
    /// Of the report; none at the base.
    std::optional<Seconds> age;
    std::optional<Message> remark;
};

/// The last reported position, however old; old ones say so. Without a report: its base, said so.
KnownPosition position_of(const Vehicle& vehicle, Instant now, const VehicleSettings& settings);

/// When it can be told to go, and why not now.
struct Availability {
    /// None: not within `waits_for_shift`.
    std::optional<Instant> from;
    std::vector<Message> reasons = {};
};

/// Until when somebody is on duty without a break from `at` on: `Instant::max()` where no end is
/// known; none: nobody is on duty then. Where duties follow each other at once the last one counts.
std::optional<Instant> on_duty_until(const Vehicle& vehicle, const TimeZone& zone, Instant at);

/// On shift, rested and free, from `now` on. Where its wheels would turn when the duty is over, the
/// next duty counts.
Availability availability(const Vehicle& vehicle, const TimeZone& zone, Instant now,
                          const VehicleSettings& settings);

/// From a call at that moment until the wheels turn.
Seconds mobilisation_at(const Vehicle& vehicle, const TimeZone& zone, Instant called);

}  // namespace waybourne::dispatch
