#pragma once
/// Where people tell what happened to a referral: what they say is judged, stored, and then seen by
/// all.

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "server/caller.hpp"
#include "server/json/referral_body.hpp"
#include "server/referrals/open_transport.hpp"
#include "server/referrals/records.hpp"
#include "server/referrals/shift_handover.hpp"

namespace waybourne::server {

/// A call that changes something.
struct Call {
    Caller caller;
    /// Chosen by the client; empty: none.
    std::string idempotency_key = {};
    std::string if_match = {};
    /// SHA-256 of method, path and body: what a repeated key must repeat.
    std::string request_sha256 = {};
};

/// What a call came to: the referral as it was when the call was stored.
struct Told {
    std::shared_ptr<const ReferralRecord> record;  ///< null: the call was about no referral
    Instant at{};
};

/// What a facility says in one call.
struct FacilityCall {
    FacilityId facility;
    std::vector<facilities::Report> reports = {};
    /// The referral that it answers; none: it only reports.
    std::optional<std::string> code = {};
    std::optional<ToldEvent> reply = {};
};

/// A change on the roads, or the end of one.
struct RoadCall {
    std::optional<routing::RoadChange> change = {};
    /// What ends.
    std::vector<std::string> lifted = {};
};

/// What somebody says of a vehicle.
struct VehicleCall {
    VehicleId vehicle;
    dispatch::VehicleReport report = {};
};

/// Every function refuses by throwing: `NotFound` also for what the caller may not see, so that
/// nobody can find out what exists; `HttpRefusal` 403, 409 (with `state` and `possible`), 412 (with
/// `current`), 422 and 428; `InputError`; `Unavailable` when the journal cannot be written, and
/// then nothing has happened. A call with the key of an earlier one gives what that one gave.
class Desk {
public:
    Desk(Records& records, const Current<Snapshot>& snapshot, const Clock& clock)
        : records_(records), snapshot_(snapshot), clock_(clock) {}

    /// @param given the body as it came
    Told open(const Call& call, Opening opening, const std::string& given);
    Told tell(const Call& call, const std::string& code, ToldEvent told);
    /// Puts a case on hold, or releases it (empty `reason`).
    Told hold(const Call& call, const std::string& code, const std::string& reason);
    Told report(const Call& call, const FacilityCall& said);
    void report_road(const Call& call, const RoadCall& said);
    void report_vehicle(const Call& call, const VehicleCall& said);
    /// Makes it the transport of these referrals, all of them or none. `call.if_match` is the
    /// entity tag of the plan it was chosen from: refused with 412 when anybody has acted since on
    /// one of these referrals, or on one that holds a vehicle of these.
    /// @param accepted with no vehicle: her own transport, or she waits
    /// @throws also `Conflict` for a woman who is under way, a vehicle that another one was
    ///         promised, and what is not possible any more
    void accept_transport(const Call& call, const std::vector<dispatch::Promise>& accepted);

    /// What is open in the caller's world now, to be read before it is signed.
    SignedList open_now(const Caller& caller) const;
    /// The caller leaves and signs what is open. `call.if_match` is the tag of the list that was
    /// read, its SHA-256: refused with 412 when something has happened since.
    ShiftHandover leave_shift(const Call& call);
    /// The caller comes and acknowledges what was signed, with the same tag.
    /// @throws also `Conflict` when somebody has done so before, for an older list than the newest,
    ///         and for whoever signed it
    ShiftHandover take_shift(const Call& call, const std::string& id);
    /// @throws NotFound also for one of the other world
    ShiftHandover handover(const Caller& caller, const std::string& id) const;

    /// @throws NotFound also for a referral that the caller may not see
    std::shared_ptr<const ReferralRecord> visible(const Caller& caller,
                                                  const std::string& code) const;
    /// The referral for the caller: with what it may be one with.
    std::string render(const Caller& caller, const ReferralRecord& record, Instant now) const;
    /// The request for a new recommendation from where she is now; those who declined are not asked
    /// again.
    static RecommendationRequest onward_request(const ReferralRecord& record,
                                                const std::optional<Place>& from);

private:
    std::optional<Told> told_before(const Call& call) const;
    std::optional<ShiftHandover> handed_over_before(const Call& call) const;
    Told append(const Call& call, journal::Append append, const std::string& code);
    void require_seen(const Call& call, const ReferralRecord& record) const;
    void require_possible(const Caller& caller, const ReferralRecord& record,
                          const referral::Event& event) const;
    void check_places(const Caller& caller, const ReferralRecord& record,
                      const ToldEvent& told) const;
    Told tell_once(const Call& call, const std::string& code, ToldEvent told);
    Told report_once(const Call& call, const FacilityCall& said);
    void accept_transport_once(const Call& call, const std::vector<dispatch::Promise>& accepted);
    void add_transport(journal::Append& append, const Call& call, const OpenWoman& woman,
                       const dispatch::Carried& carried, Instant now) const;

    Records& records_;
    const Current<Snapshot>& snapshot_;
    const Clock& clock_;
};

/// An id for an event that somebody tells now. Events of the same second stand in the order of
/// their ids, so ids grow with what the teller could have seen.
referral::EventId new_event_id(journal::Sequence seen);

/// @throws HttpRefusal 400 for a key that is longer than 128 bytes or holds anything but printable
///         ASCII
void check_idempotency_key(const std::string& key);

}  // namespace waybourne::server
