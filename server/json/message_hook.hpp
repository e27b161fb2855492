#pragma once
/// What the gateway of text messages brings: texts of people, and what became of ours.

#include <string>
#include <string_view>

#include "server/messages/text_answer.hpp"

namespace waybourne::server {

/// The body of `POST /v1/texts`.
/// @throws InputError with the pointer of each error
IncomingText parse_incoming_text(std::string_view json);

/// The body of `POST /v1/receipts`.
struct Receipt {
    std::string id;
    bool has_arrived = false;
    /// Why not, in a word; `receipt` when the gateway does not say.
    std::string trouble;
};

/// @throws InputError with the pointer of each error
Receipt parse_receipt(std::string_view json);

}  // namespace waybourne::server
