#include <cstddef>
#include <cstdint>
#include <string_view>

#include "server/messages/messages_file.hpp"
#include "server/security/keys.hpp"
#include "tests/fuzz/attempt.hpp"

// The private files that an operator may edit by hand, keys and numbers, and the gateway of text
// messages: any bytes give a value or an InputError, nothing else.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace waybourne::server;
    const std::string_view text{reinterpret_cast<const char*>(data), size};
    waybourne::fuzz::attempt(parse_keys, text);
    waybourne::fuzz::attempt(parse_messages_file, text);
    waybourne::fuzz::attempt(parse_number, text);
    parse_key_text(text);
    return 0;
}
