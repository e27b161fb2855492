// Any bytes are either a protocol or refused with an InputError; nothing else may happen.
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "triage/protocol_file.hpp"
#include "vocabulary/error.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    try {
        waybourne::triage::parse_protocol({reinterpret_cast<const char*>(data), size});
    } catch (const waybourne::InputError&) {
        // refused, as it should be
    }
    return 0;
}
