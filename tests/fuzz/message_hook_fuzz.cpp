#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "referral/text_message.hpp"
#include "server/json/message_hook.hpp"
#include "server/messages/said.hpp"
#include "tests/fuzz/attempt.hpp"

// What a gateway of text messages brings from anywhere: any bytes are a text, a receipt, or
// refused; any words are understood or not; and what is sent back always fits the alphabet of
// phones.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace waybourne::server;
    const std::string_view text{reinterpret_cast<const char*>(data), size};
    waybourne::fuzz::attempt(parse_incoming_text, text);
    waybourne::fuzz::attempt(parse_receipt, text);
    parse_said_text(text);
    const std::string sent = waybourne::referral::in_text_message_alphabet(text);
    if (!waybourne::referral::text_message_characters(sent)) {
        std::abort();
    }
    return 0;
}
