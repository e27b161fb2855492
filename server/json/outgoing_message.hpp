#pragma once
/// Text messages as JSON: as the journal keeps them and as answers show them.

#include <string>
#include <string_view>
#include <vector>

#include "server/json/object_reader.hpp"
#include "server/json/writer.hpp"
#include "server/messages/outgoing_message.hpp"

namespace waybourne::server {

void write_message_step(JsonWriter& json, const MessageStep& step);

/// What `write_message_step` wrote; errors as `ObjectReader` finds them.
MessageStep parse_message_step(const JsonValue& value, const std::string& pointer,
                               std::vector<FieldError>& errors);

/// The messages of a referral, as a list: to which account, about what, and what became of each.
/// Never its words, which tell what was found, and never a number.
void write_messages(JsonWriter& json, const std::vector<OutgoingMessage>& messages);

}  // namespace waybourne::server
