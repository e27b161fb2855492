#include "server/json/message_hook.hpp"

#include <algorithm>

#include "server/json/object_reader.hpp"
#include "server/plain_id.hpp"

namespace waybourne::server {

namespace {

constexpr std::size_t longest_number = 32;
constexpr std::size_t longest_text = 2'000;
constexpr std::size_t longest_id = 100;

std::string bounded(ObjectReader& body, const char* name, std::size_t longest, bool is_required) {
    if (is_required) {
        body.require(name);
    }
    std::string text = body.text(name).value_or("");
    if (text.size() > longest) {
        body.refuse(name, "is longer than " + std::to_string(longest) + " bytes");
    }
    return text;
}

std::string id_in(ObjectReader& body, const char* name, bool is_required) {
    std::string id = bounded(body, name, longest_id, is_required);
    if (!std::all_of(id.begin(), id.end(), [](char c) { return c > ' ' && c <= '~'; })) {
        body.refuse(name, "holds something else than printable ASCII without spaces");
    }
    return id;
}

}  // namespace

IncomingText parse_incoming_text(std::string_view json) {
    return parse_body(json, [&](ObjectReader& body, std::vector<FieldError>& /*errors*/) {
        IncomingText text;
        text.from = bounded(body, "from", longest_number, true);
        text.text = bounded(body, "text", longest_text, true);
        text.id = id_in(body, "id", false);
        return text;
    });
}

Receipt parse_receipt(std::string_view json) {
    static const std::vector<std::string> states{"delivered", "undelivered"};
    return parse_body(json, [&](ObjectReader& body, std::vector<FieldError>& /*errors*/) {
        Receipt receipt;
        receipt.id = id_in(body, "id", true);
        body.require("state");
        receipt.has_arrived = body.choice("state", states).value_or(1) == 0;
        constexpr std::size_t longest_reason = 40;
        receipt.trouble = bounded(body, "reason", longest_reason, false);
        if (!is_plain_id(receipt.trouble) && !receipt.trouble.empty()) {
            body.refuse("reason", "is a word of letters, digits and -_.:");
        }
        if (receipt.trouble.empty() && !receipt.has_arrived) {
            receipt.trouble = "receipt";
        }
        return receipt;
    });
}

}  // namespace waybourne::server
