#include <cstddef>
#include <cstdint>
#include <string_view>

#include "server/messages/messages_file.hpp"
#include "server/security/keys.hpp"
#include "vocabulary/error.hpp"

// The private files that an operator may edit by hand, keys and numbers, and the gateway of text
// messages: any bytes give a value or an InputError, nothing else.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace waybourne::server;
    const std::string_view text{reinterpret_cast<const char*>(data), size};
    const auto attempt = [&](const auto& parse) {
        try {
            parse(text);
        } catch (const waybourne::InputError&) {
        }
    };
    attempt(parse_keys);
    attempt(parse_messages_file);
    attempt(parse_number);
    parse_key_text(text);
    return 0;
}
