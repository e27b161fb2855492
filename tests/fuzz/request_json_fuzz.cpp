#include <cstddef>
#include <cstdint>
#include <string_view>

#include "server/json/district.hpp"
#include "server/json/request.hpp"
#include "vocabulary/error.hpp"

// Every parser of what a client or a district's folder can send: any bytes give a value or an
// InputError, nothing else.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace waybourne::server;
    const std::string_view text{reinterpret_cast<const char*>(data), size};
    const auto attempt = [&](const auto& parse) {
        try {
            parse(text);
        } catch (const waybourne::InputError&) {
        }
    };
    attempt(parse_findings);
    attempt(parse_recommendation_request);
    attempt(parse_route_request);
    attempt(parse_district);
    attempt(parse_manifest);
    return 0;
}
