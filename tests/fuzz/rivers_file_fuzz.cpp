#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "server/json/rivers.hpp"
#include "tests/fuzz/attempt.hpp"

// Rivers from anywhere: they are read or refused, and what is read comes back from what is written.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace waybourne::server;
    waybourne::fuzz::attempt(
        [](std::string_view text) {
            const auto rivers = parse_rivers(text);
            if (parse_rivers(rivers_to_geojson(rivers)) != rivers) {
                std::abort();
            }
        },
        std::string_view{reinterpret_cast<const char*>(data), size});
    return 0;
}
