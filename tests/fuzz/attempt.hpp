#pragma once
/// Readers of outside input under the fuzzer: bytes that are refused as bad input are no fault.

#include <cstddef>
#include <cstdint>
#include <string_view>

#include "vocabulary/error.hpp"

namespace waybourne::fuzz {

template <typename Read, typename... Arguments>
void attempt(const Read& read, const Arguments&... arguments) {
    try {
        read(arguments...);
    } catch (const InputError&) {
        // refused, as it should be
    }
}

/// The first byte chooses the reader; the rest is what it reads.
template <typename Read>
void attempt_chosen(const std::uint8_t* data, std::size_t size, const Read& read) {
    if (size > 0) {
        attempt(read, data[0], std::string_view{reinterpret_cast<const char*>(data) + 1, size - 1});
    }
}

}  // namespace waybourne::fuzz
