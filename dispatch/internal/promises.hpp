#pragma once
/// Which promises a choice of options breaks.

#include "dispatch/assignment.hpp"

namespace waybourne::dispatch {

/// The women whose promise some option still keeps.
std::vector<bool> still_promised(const AssignmentProblem& problem);

/// How many of `promised` are given something else by this option.
std::size_t changes_of(const TransportOption& option, const std::vector<bool>& promised);

}  // namespace waybourne::dispatch
