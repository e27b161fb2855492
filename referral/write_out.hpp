#pragma once
/// A plan written out for people: both times, margins, chances and the way.

#include "referral/staged.hpp"

namespace waybourne::referral {

/// Changes of vehicle on all ways of the plan: going from one means to another that is not walking.
/// Boarding a ferry and leaving it are a change each: it may not carry the vehicle.
int changes_of_vehicle(Ways& ways, const Plan& plan);

/// Complexity: one route per stop, and where it takes a ferry a few searches more for `leave_by`.
Choice write_out(const Situation& situation, Ways& ways, const Plan& plan);

}  // namespace waybourne::referral
