#include "server/messages/store_step.hpp"

#include "server/json/referral_body.hpp"
#include "server/referrals/raise_alert.hpp"

namespace waybourne::server {

namespace {

/// The first order to the account that is not answered; null when all are.
const OutgoingMessage* unanswered_order(const ReferralRecord& record, const std::string& account) {
    for (const OutgoingMessage& message : record.messages) {
        if (message.purpose == Purpose::order && message.to == account && !message.answered_at &&
            message.attempts > 0) {
            return &message;
        }
    }
    return nullptr;
}

}  // namespace

void store_step(Records& records, const ReferralRecord& record, const MessageStep& step,
                const std::string& key, Instant now) {
    StoredBody body;
    body.message = step;
    journal::Append append = entry_about(record.code, kind_of(step.what), body, record.version);
    append.at = now;
    append.who = service_account;
    append.idempotency_key = key;
    try {
        records.append(append);
    } catch (const journal::KeyReused&) {
        // Another server queued it a moment ago, with other minutes in its words.
        records.catch_up();
    }
}

void store_answered(Records& records, const std::string& code, const std::string& account,
                    Instant now) {
    const auto store_next = [&] {
        const auto record = records.find(code);
        const OutgoingMessage* order = record ? unanswered_order(*record, account) : nullptr;
        if (order == nullptr) {
            return false;
        }
        MessageStep step;
        step.what = MessageWhat::answered;
        step.message.id = order->id;
        store_step(records, *record, step, {}, now);
        return true;
    };
    while (until_nobody_interferes(records, store_next)) {
    }
}

}  // namespace waybourne::server
