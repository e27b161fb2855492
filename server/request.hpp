#pragma once
/// What a client asks, after reading and before any rule has looked at it.

#include <map>
#include <optional>
#include <variant>
#include <vector>

#include "referral/recommend.hpp"
#include "routing/closure.hpp"
#include "routing/reach.hpp"
#include "routing/road_conditions.hpp"
#include "routing/route.hpp"
#include "triage/findings.hpp"
#include "vocabulary/geo_point.hpp"
#include "vocabulary/identifier.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::server {

/// A facility of the register, or any point.
using Place = std::variant<FacilityId, GeoPoint>;

/// What can carry her, as the health worker says.
struct Transport {
    routing::Means means = routing::Means::car;
    /// None: assumed, and said so in the answer.
    std::optional<Seconds> ready_in;
    bool operator==(const Transport&) const = default;
};

/// `POST /v1/recommendations` and `waybourne ask`.
struct RecommendationRequest {
    triage::Findings findings;
    Place from;
    Transport transport;
    /// None: from the clock and the district's season.
    std::optional<routing::RoadConditions> road_conditions;
    bool can_phone = true;
    /// What calls have already brought.
    std::map<FacilityId, referral::CallAnswer> calls;
};

/// `POST /v1/routes` and `waybourne route`.
struct RouteRequest {
    Place from;
    Place to;
    routing::Means means = routing::Means::car;
    /// None: now.
    std::optional<Instant> leave_at;
    std::optional<routing::RoadConditions> road_conditions;
};

/// `POST /v1/alternatives` and `waybourne alternatives`.
struct AlternativesRequest {
    RouteRequest way;
    /// Taken as closed, whatever is known of them.
    std::vector<routing::Where> closed;
    /// Besides the best.
    std::size_t most_others = 2;
};

/// `POST /v1/reach` and `waybourne reach`.
struct ReachRequest {
    Place place;
    /// Else: from where the place is reached.
    bool is_from = true;
    Seconds within{};
    routing::JudgedBy judged_by = routing::JudgedBy::typical;
    routing::Means means = routing::Means::car;
    /// None: now.
    std::optional<Instant> leave_at;
    std::optional<routing::RoadConditions> road_conditions;
};

}  // namespace waybourne::server
