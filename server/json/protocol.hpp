#pragma once
/// The protocol in force as JSON: what can be given and asked, and what the rules rest on.

#include "server/json/writer.hpp"
#include "triage/protocol.hpp"
#include "triage/protocol_check.hpp"
#include "vocabulary/message.hpp"

namespace waybourne::server {

void write_protocol(JsonWriter& json, const triage::Protocol& protocol, const Catalogue& catalogue);

/// What `waybourne protocol check --json` prints.
void write_verdict(JsonWriter& json, const triage::ProtocolVerdict& verdict);

}  // namespace waybourne::server
