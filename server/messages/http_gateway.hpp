#pragma once
/// A gateway that takes messages over HTTP.
///
/// One `POST` for each attempt, `{"id": …, "to": "+…", "text": …}`, with the id as
/// `Idempotency-Key` too and the secret in the header that the settings name. Every 2xx means
/// taken; 400, 413 and 422 mean that this message is wrong and will never be taken; everything
/// else, silence too, means to try again. Redirections are not followed.

#include <chrono>

#include "server/messages/gateway.hpp"
#include "server/messages/messages_file.hpp"

namespace waybourne::server {

class HttpGateway final : public MessageSender {
public:
    /// @param patience for the connection, and for the answer
    explicit HttpGateway(GatewaySettings settings,
                         std::chrono::milliseconds patience = std::chrono::seconds{10})
        : settings_(std::move(settings)), patience_(patience) {}

    Taken send(const TextToSend& message) override;

private:
    GatewaySettings settings_;
    std::chrono::milliseconds patience_;
};

}  // namespace waybourne::server
