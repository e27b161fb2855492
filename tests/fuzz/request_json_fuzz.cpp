#include <cstddef>
#include <cstdint>
#include <string_view>

#include "server/json/district.hpp"
#include "server/json/request.hpp"
#include "tests/fuzz/attempt.hpp"

// Every parser of what a client or a district's folder can send: any bytes give a value or an
// InputError, nothing else.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace waybourne::server;
    const std::string_view text{reinterpret_cast<const char*>(data), size};
    waybourne::fuzz::attempt(parse_findings, text);
    waybourne::fuzz::attempt(parse_recommendation_request, text);
    waybourne::fuzz::attempt(parse_route_request, text);
    waybourne::fuzz::attempt(parse_district, text);
    waybourne::fuzz::attempt(parse_manifest, text);
    return 0;
}
