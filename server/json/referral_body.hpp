#pragma once
/// The body of a journal entry about a referral, and of the calls that make one.

#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "server/json/referral_event.hpp"
#include "server/referrals/kept_answer.hpp"
#include "server/referrals/record.hpp"

namespace waybourne::server {

/// What one entry of the journal says.
struct StoredBody {
    std::optional<ToldEvent> told = {};
    std::optional<PlannedWay> way = {};
    std::optional<AcceptedTransport> transport = {};
    /// The recommendation that the way comes from. Written only: who wants it back asks
    /// `parse_kept_answer`, so that it does not stay in memory with every referral.
    std::shared_ptr<const KeptAnswer> recommended = {};
    /// Of the entry that opens.
    std::shared_ptr<const Opening> opening = {};
    std::shared_ptr<const std::string> given = {};
    bool is_practice = false;
    std::string reason = {};  ///< of a hold
    std::optional<MessageStep> message = {};
    /// The fingerprint of the request that made it, see `Call`.
    std::string request_sha256 = {};
};

std::string to_stored(const StoredBody& body);

/// @throws InputError for anything else than `to_stored` writes
StoredBody parse_stored_body(std::string_view json);

/// The body of `POST /v1/referrals`.
/// @param now stands in for times that were not given
/// @throws InputError with the pointer of each error
Opening parse_opening(std::string_view json, Instant now);

void write_way(JsonWriter& json, const PlannedWay& way);

void write_accepted(JsonWriter& json, const AcceptedTransport& transport);

}  // namespace waybourne::server
