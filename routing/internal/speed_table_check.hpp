#pragma once
/// The promises a speed table must keep before anything is computed with it.

#include <vector>

#include "routing/speed_table.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

/// Everything wrong with a table, as JSON pointers into its file; empty for a good one.
std::vector<FieldError> check_speed_rows(const SpeedRows& rows);

/// Whether a row speaks of a kind of road.
bool fits(const SpeedRow& row, const RoadKind& kind);

}  // namespace waybourne::routing
