#include <cstddef>
#include <cstdint>
#include <string_view>

#include "server/json/boat_ways.hpp"
#include "tests/fuzz/attempt.hpp"

// Boat ways from anywhere: they are read or refused, and of what is read a network can be made.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace waybourne;
    fuzz::attempt(
        [](std::string_view text) {
            routing::network_of(server::parse_boat_ways(text, "Etc/UTC"));
        },
        std::string_view{reinterpret_cast<const char*>(data), size});
    return 0;
}
