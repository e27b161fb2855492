#pragma once
/// The messages file: which gateway carries text messages, and the secrets shared with it.

#include <filesystem>
#include <string>
#include <string_view>

#include "server/messages/outgoing_message.hpp"
#include "server/security/guard.hpp"

namespace waybourne::server {

/// Where to hand messages over. `docs/howto/text-messages.md` describes what is sent there.
struct GatewaySettings {
    std::string url;  ///< `https://…`; `http://` on this machine only
    std::string origin;
    std::string path;
    std::string header = "Authorization";  ///< where the secret stands
    std::string secret;
    std::string authority;  ///< PEM of who signed its certificate; empty: those the machine trusts
};

struct MessagesSettings {
    GatewaySettings gateway;
    /// What the gateway shows when it brings a text or a receipt.
    BearerSecret hook_secret;
    /// How much it may bring. Ours, no source.
    Rate brought = GuardSettings{}.gateway;
    SendingSettings sending;
};

/// @throws InputError for the first thing that is wrong, never repeating a secret
MessagesSettings parse_messages_file(std::string_view text);

/// @throws NotFound; InputError, also when others than its owner may read it
MessagesSettings read_messages_file(const std::filesystem::path& file);

}  // namespace waybourne::server
