#pragma once
/// What upgrades are judged by, as one thing to be made as great as can be.

#include <optional>
#include <string_view>
#include <vector>

#include "coverage/minutes_plan.hpp"
#include "coverage/room_plan.hpp"
#include "server/access_study.hpp"

namespace waybourne::server {

std::string_view to_name(UpgradeObjective objective);

/// All that the objectives ask of a district under one set of conditions. Options are the
/// facilities, by their numbers in the register; those that offer the care already are forced out.
struct UpgradeGoal {
    UpgradeObjective objective = UpgradeObjective::covering;
    /// Births in time; for every objective, since that is always told as well.
    coverage::LocationModel covering;
    coverage::MinutesModel minutes;
    coverage::RoomModel room;
    /// Births that find room as it is.
    double with_room_now = 0;
    /// Of the settlements.
    std::vector<bool> is_in_time;
    /// Numbers of facilities whose room nobody says: it is taken to suffice.
    std::vector<std::size_t> without_capacity;

    std::vector<coverage::Option>& options() { return covering.options; }
    const std::vector<coverage::Option>& options() const { return covering.options; }
};

/// @throws InputError where no facility may be raised; NotFound for costs of one that there is not
UpgradeGoal upgrade_goal(const Snapshot& snapshot, const UpgradeRequest& request,
                         AccessStudy& study);

/// What a choice gains over what is there: births a year in time, births a year that find room in
/// time, births × minutes saved, or minutes less for whoever waits longest.
double worth_of(const UpgradeGoal& goal, std::span<const std::uint32_t> facilities);

/// The choice that gains most by this measure, with the bound that none exceeds. The options'
/// choices are those of `goal.options()`.
/// @throws InputError for a limit of nothing, or less than what is forced in
coverage::Plan best_plan(const UpgradeGoal& goal, const coverage::Limit& limit, Seconds time,
                         const coverage::Work& work = {});

}  // namespace waybourne::server
