#pragma once
/// One plan for all open referrals and the vehicles as they were reported: what `GET
/// /v1/transport-plans` answers, and what a dispatcher accepts of it.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "server/caller.hpp"
#include "server/cover.hpp"
#include "server/referrals/open_transport.hpp"
#include "server/referrals/records.hpp"
#include "server/transport_plan.hpp"

namespace waybourne::server {

struct OpenPlanRequest {
    /// Every way that she could be carried is worked out for this one too.
    std::optional<ReferralId> ways_of = {};
    /// What a dispatcher wants otherwise: planned around, with what it costs.
    std::optional<dispatch::Promise> decided = {};
};

struct OpenPlanAnswer {
    /// All that the journal said up to here was known, at least.
    journal::Sequence as_of = 0;
    OpenTransport open;
    TransportPlanAnswer planned;
    /// None where the district's settlements are not known.
    std::optional<CoverAnswer> cover = {};
};

/// @throws InputError for a decision that is not possible; NotFound for a referral for which
///         nothing is planned; Unavailable when every search is busy
OpenPlanAnswer answer_open_plan(const Snapshot& snapshot, const Records& records,
                                const Caller& caller, const OpenPlanRequest& request, Instant now);

/// The open referrals that the caller's world has: practice cases, or real ones.
std::vector<std::shared_ptr<const ReferralRecord>> live_of_world(const Records& records,
                                                                 const Caller& caller);

/// These women carried by these vehicles and nothing else, with the stretches before the last one.
/// @throws Conflict when that is not possible any more
std::vector<dispatch::Carried> carried_as_decided(const Snapshot& snapshot,
                                                  const OpenTransport& open,
                                                  const std::vector<dispatch::Promise>& decided,
                                                  Instant now);

/// What drives her on the last stretch of a way.
routing::Means means_of(const Snapshot& snapshot, const ReferralRecord& record,
                        const dispatch::Way& way);

/// The entity tag of a plan, with its quotation marks, and what such a tag says; none for others.
std::string to_plan_tag(journal::Sequence as_of);
std::optional<journal::Sequence> plan_tag(std::string_view tag);

}  // namespace waybourne::server
