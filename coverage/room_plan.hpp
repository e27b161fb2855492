#pragma once
/// Which few of many possible upgrades serve most births where each place has room for so many
/// only.

#include <optional>
#include <span>
#include <vector>

#include "coverage/location.hpp"

namespace waybourne::coverage {

/// A place, as it is or as an option would make it.
struct Room {
    /// Births a year; not negative. None: nobody says, and it is taken to suffice; name such places
    /// beside the figure.
    std::optional<double> births = {};
    /// Settlements within the standard.
    std::vector<std::uint32_t> in_time = {};
};

/// Maximal covering with capacities (from memory of Current, Storbeck, Naval Research Logistics 35,
/// 1988): births are shared out over the places in time of them so that most find room; those of
/// one settlement may go to several places.
struct RoomModel {
    /// Births of each settlement; not negative.
    std::vector<double> births;
    std::vector<Option> options;
    /// What is there.
    std::vector<Room> there;
    /// By option.
    std::vector<Room> with;
};

/// Births that find room in time with these options; none: as it is. A linear programme.
double births_with_room(const RoomModel& model, std::span<const std::uint32_t> options);

/// The plan's value is births that find room in time beyond those that do now. Room makes covers
/// compete, so greedy choice has no guarantee: only exact, or within the time the best found with
/// its proven bound.
/// @throws InputError as `quick_plan`
Plan room_plan(const RoomModel& model, const Limit& limit, Seconds time = 60s,
               const Work& work = {});

}  // namespace waybourne::coverage
