#pragma once
/// One referral as the journal tells it: how it was opened, what happened since, and the way she is
/// on.

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "dispatch/way.hpp"
#include "journal/envelope.hpp"
#include "referral/life.hpp"
#include "referral/merge.hpp"
#include "referral/watch.hpp"
#include "server/json/referral_event.hpp"
#include "server/messages/outgoing_message.hpp"
#include "server/request.hpp"

namespace waybourne::server {

/// What opens a referral: the request that was answered with a recommendation, and what was chosen.
struct Opening {
    RecommendationRequest request;
    FacilityId sender;
    /// The place that is asked; none: nobody yet.
    std::optional<FacilityId> to = {};
    referral::Channel channel = referral::Channel::page;
    std::vector<referral::PersonReport> persons = {};
    std::vector<Treatment> treatments = {};
    /// Chosen by a phone without connection; none: the server chooses.
    std::optional<std::string> code = {};
    bool is_late = false;
    /// `request.transport` was given: something is at hand where she is.
    bool has_own_transport = false;
    Instant opened_at{};
};

/// What an answer was made from, so that it can be made again.
struct MadeFrom {
    std::string map_sha256;
    std::string protocol_id;
    std::string protocol_version;
    std::string protocol_sha256;
    std::size_t facilities = 0;
    std::size_t reports = 0;
    /// Reports and road changes of the journal up to here were known.
    journal::Sequence sequence = 0;
    bool operator==(const MadeFrom&) const = default;
};

/// The way to the place that is asked, as it was planned.
struct PlannedWay {
    FacilityId to;
    /// The second stop of a staged plan.
    std::optional<FacilityId> onward = {};
    routing::Means means = routing::Means::car;
    Instant planned_at{};
    /// None: no way was found.
    std::optional<routing::TravelTime> travel_time = {};
    std::optional<referral::Expected> arrival = {};
    std::optional<Instant> leave_by = {};
    std::optional<Instant> deadline = {};
    MadeFrom made_from = {};
    std::vector<GeoPoint> line = {};
    bool operator==(const PlannedWay&) const = default;

    referral::WatchTimes watch_times() const;
};

/// Who carries her, as a dispatcher has accepted it.
struct AcceptedTransport {
    dispatch::WayKind kind{};
    /// In the order in which they carry her; empty: her own transport, or she waits.
    std::vector<VehicleId> vehicles = {};
    bool waits = false;
    std::optional<Instant> sets_out = {};
    std::optional<referral::Expected> with_her = {};
    std::optional<GeoPoint> meets_at = {};
    /// Where she waits for it, after she had left; none: where she was referred from.
    std::optional<GeoPoint> fetch_at = {};
    /// When both vehicles of a rendezvous are there.
    std::optional<referral::Expected> meets = {};
    /// The codes of all whom the vehicle fetches on one tour, in that order, hers among them;
    /// empty: her alone.
    std::vector<std::string> tour = {};
    /// What is driven before the last stretch, as it was planned.
    std::vector<dispatch::Stretch> before = {};
    Instant accepted_at{};
    bool operator==(const AcceptedTransport&) const = default;
};

/// Under review: its personal data stay although their time is over.
struct Hold {
    Instant at{};
    std::string who;
    std::string reason;
    bool operator==(const Hold&) const = default;
};

/// Immutable once it is shared.
struct ReferralRecord {
    std::string code;
    journal::Sequence opened_sequence = 0;
    /// The last envelope about it.
    journal::Sequence version = 0;
    /// The last one that was neither an alert nor about a text message: what somebody who acts must
    /// have seen.
    journal::Sequence acted_version = 0;
    bool is_practice = false;
    /// None once redacted.
    std::shared_ptr<const Opening> opening = {};
    /// The body that opened it, as it came.
    std::shared_ptr<const std::string> given = {};
    /// To the place that is asked now.
    std::shared_ptr<const PlannedWay> way = {};
    /// The newest to each place that was ever asked: a diversion can be told late or taken back.
    std::map<FacilityId, std::shared_ptr<const PlannedWay>> ways = {};
    std::shared_ptr<const AcceptedTransport> transport = {};
    /// When that tour, or that there is none any more, was accepted first; none: there never was.
    std::optional<Instant> tour_since = {};
    std::vector<ToldEvent> told = {};
    /// Where she or the vehicle was seen last, by the time at which it happened.
    std::optional<GeoPoint> position = {};
    std::vector<Treatment> treatments = {};
    std::optional<Hold> hold = {};
    /// What was texted about it, oldest first.
    std::vector<OutgoingMessage> messages = {};
    referral::Life life = {};

    std::vector<referral::Event> events() const;
    /// When she is expected at the place that is asked; none: not known, or she is there.
    std::optional<referral::Expected> expected_arrival() const;
    referral::WatchTimes watch_times() const;
    /// `transport->tour`, as long as her vehicle is the one that was accepted.
    std::vector<std::string> tour() const;
    /// Nothing more is to come: over, the sender knows, and no message waits to be sent.
    bool is_settled() const;
    /// The entity tag of `acted_version`, with its quotation marks.
    std::string entity_tag() const;
};

/// `referral/CODE`
std::string subject_of(const std::string& code);
/// The code of such a subject; none for others.
std::optional<std::string> code_of(const std::string& subject);

/// `referral.STEP`: how the journal calls a step.
std::string kind_of(referral::EventKind step);
inline constexpr const char* transport_planned_kind = "referral.transport_planned";
inline constexpr const char* held_kind = "referral.held";
inline constexpr const char* released_kind = "referral.released";

struct StoredBody;

/// One entry about a referral, to be stored only if its last envelope is still `version` (0: there
/// is none yet). Who, when and under which key is the caller's to fill in.
journal::Append entry_about(const std::string& code, const std::string& kind,
                            const StoredBody& body, journal::Sequence version);

/// The record with one more envelope about it. Of a redacted envelope remains what its header says.
/// @param record null for the first
/// @throws DataError naming an envelope that cannot be read
std::shared_ptr<const ReferralRecord> with_envelope(
    const std::shared_ptr<const ReferralRecord>& record, const journal::Envelope& envelope);

}  // namespace waybourne::server
