#pragma once
/// Who carries whom, as one function of a snapshot, a request and the moment: the command line and
/// HTTP call the same one.

#include <optional>
#include <string>
#include <vector>

#include "dispatch/transport_plan.hpp"
#include "server/cover.hpp"
#include "server/request.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// One woman, as a recommendation would be asked for her.
struct ReferralToCarry {
    ReferralId id;
    RecommendationRequest request;
    /// `transport` was given: something is at hand where she is.
    bool has_own_transport = false;
    bool can_sit = false;
};

struct TransportPlanRequest {
    std::vector<ReferralToCarry> referrals;
    /// None: those of the district's file.
    std::optional<std::vector<dispatch::Vehicle>> vehicles;
    std::vector<dispatch::Promise> promises;
    std::size_t most_changed_promises = 2;
    std::optional<dispatch::Promise> decided;
};

struct TransportPlanAnswer {
    dispatch::TransportPlan plan;
    /// Of each woman every way, best first, as if she were alone; empty where more than one is
    /// planned for.
    std::vector<dispatch::Way> ways;
    std::vector<dispatch::Vehicle> vehicles;
    Instant made_at{};
    /// None where the district's settlements are not known, or the cover is told elsewhere.
    std::optional<CoverAnswer> cover = {};
};

/// @throws InputError, NotFound as `answer_recommendation`, and for vehicles off the map or from
/// the
///         future; Unavailable when every search is busy
TransportPlanAnswer answer_transport_plan(const Snapshot& snapshot,
                                          const TransportPlanRequest& request, Instant now);

/// The answer of `POST /v1/transport-plans`.
std::string transport_plan_json(const Snapshot& snapshot, const TransportPlanRequest& request,
                                Instant now);

}  // namespace waybourne::server
