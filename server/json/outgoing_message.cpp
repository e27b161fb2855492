#include "server/json/outgoing_message.hpp"

namespace waybourne::server {

void write_message_step(JsonWriter& json, const MessageStep& step) {
    const OutgoingMessage& message = step.message;
    json.begin_object().key("what").value(wire_name(step.what)).member("id", message.id);
    if (step.what == MessageWhat::queued) {
        json.key("purpose").value(wire_name(message.purpose)).member("to", message.to);
        json.member("place", message.place).member("cause", message.cause);
        json.member("text", message.text);
    }
    if (!message.trouble.empty()) {
        json.member("trouble", message.trouble);
    }
    json.end_object();
}

MessageStep parse_message_step(const JsonValue& value, const std::string& pointer,
                               std::vector<FieldError>& errors) {
    ObjectReader reader{value, pointer, errors};
    MessageStep step;
    reader.require("what");
    reader.require("id");
    const auto what = find_message_what(reader.text("what").value_or("queued"));
    if (what) {
        step.what = *what;
    } else {
        reader.refuse("what", "is nothing that happens to a message");
    }
    step.message.id = reader.text("id").value_or("");
    if (step.what == MessageWhat::queued) {
        for (const char* name : {"purpose", "to", "text"}) {
            reader.require(name);
        }
        const auto purpose = find_purpose(reader.text("purpose").value_or("expected"));
        if (purpose) {
            step.message.purpose = *purpose;
        } else {
            reader.refuse("purpose", "is no purpose of a message");
        }
        step.message.to = reader.text("to").value_or("");
        if (const auto place = reader.text("place")) {
            step.message.place = FacilityId{*place};
        }
        step.message.cause = reader.text("cause").value_or("");
        step.message.text = reader.text("text").value_or("");
    }
    step.message.trouble = reader.text("trouble").value_or("");
    reader.finish();
    return step;
}

void write_messages(JsonWriter& json, const std::vector<OutgoingMessage>& messages) {
    json.begin_list();
    for (const OutgoingMessage& message : messages) {
        json.begin_object().member("id", message.id);
        json.key("purpose").value(wire_name(message.purpose)).member("to", message.to);
        json.key("state").value(wire_name(message.state)).member("queued_at", message.queued_at);
        json.member("attempts", message.attempts).member("attempted_at", message.attempted_at);
        json.member("settled_at", message.settled_at);
        json.member("answered_at", message.answered_at);
        json.member("trouble",
                    message.trouble.empty() ? std::nullopt : std::optional(message.trouble));
        json.end_object();
    }
    json.end_list();
}

}  // namespace waybourne::server
