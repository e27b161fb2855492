#pragma once
/// Text messages in both directions, wired together.

#include "server/messages/http_gateway.hpp"
#include "server/messages/outbox.hpp"
#include "server/messages/text_answer.hpp"

namespace waybourne::server {

/// Lives as long as the server does. Safe from any thread.
class Texting {
public:
    /// @param gateway null: the one of the settings
    Texting(const MessagesSettings& settings, Records& records, Desk& desk,
            const Current<Snapshot>& snapshot, const Outbox::KeysNow& keys, const Clock& clock,
            Log& log, AuditTrail* audit, std::unique_ptr<MessageSender> gateway = nullptr);

    /// Whether this is `Bearer` and the secret that the gateway shows when it brings something: it
    /// is always let in. Of wrong ones twenty from an address are heard, then one in three seconds.
    /// @throws HttpRefusal 401, 429
    void check_gateway(const std::string& authorization, const std::string& address);

    Outbox& outbox() { return outbox_; }
    TextAnswers& answers() { return answers_; }

private:
    BearerSecret hook_secret_;
    std::unique_ptr<MessageSender> gateway_;
    Outbox outbox_;
    TextAnswers answers_;
    RateLimiter failures_;
};

}  // namespace waybourne::server
