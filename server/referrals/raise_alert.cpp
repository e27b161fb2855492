#include "server/referrals/raise_alert.hpp"

#include "server/json/referral_body.hpp"

namespace waybourne::server {

referral::Event event_of_service(const std::string& id, referral::EventKind kind, Instant now) {
    referral::Event event;
    event.id = referral::EventId{id};
    event.kind = kind;
    event.occurred_at = now;
    event.recorded_at = now;
    event.by = {referral::Role::service, {}};
    return event;
}

bool raise(Records& records, const ReferralRecord& record, const std::string& key,
           referral::Event event) {
    StoredBody body;
    body.told = ToldEvent{std::move(event)};
    journal::Append append =
        entry_about(record.code, kind_of(body.told->event.kind), body, record.version);
    append.at = body.told->event.recorded_at;
    append.who = service_account;
    append.idempotency_key = record.code + "/" + key;
    try {
        return !records.append(append).was_there;
    } catch (const journal::KeyReused&) {
        return false;  // raised before, by another server or at another second
    } catch (const journal::VersionConflict&) {
        return false;  // looked at again next time
    }
}

}  // namespace waybourne::server
