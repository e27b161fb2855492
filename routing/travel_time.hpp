#pragma once
/// How long a way takes, and how surely.

#include "vocabulary/time.hpp"

namespace waybourne::routing {

/// `typical` is the median, `allow` the 90th percentile; typical <= allow. "In time" means `allow`.
struct TravelTime {
    Seconds typical{};
    Seconds allow{};
    bool operator==(const TravelTime&) const = default;
};

}  // namespace waybourne::routing
