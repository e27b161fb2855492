#pragma once
/// What differs between two JSON values.

#include <string>
#include <vector>

#include "server/json/value.hpp"
#include "server/referrals/replay.hpp"

namespace waybourne::server {

/// Every value that differs, lists place by place. A line on the map is told as one difference.
/// @param pointer of the values themselves; members come below it
void add_differences(const JsonValue& then, const JsonValue& now, const std::string& pointer,
                     std::vector<Difference>& differences);

}  // namespace waybourne::server
