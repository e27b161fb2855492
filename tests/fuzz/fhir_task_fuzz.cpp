#include <cstddef>
#include <cstdint>
#include <string_view>

#include "server/json/fhir.hpp"
#include "vocabulary/error.hpp"

// A Task as another system sends it: any bytes give a step, nothing new, or an InputError.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace waybourne;
    constexpr std::string_view ours =
        R"({"resourceType":"Task","id":"7K3M9HXA","status":"requested","intent":"order",)"
        R"("businessStatus":{"coding":[{"system":"urn:waybourne:referral-state","code":"opened"}]},)"
        R"("focus":{"reference":"urn:uuid:1"},"for":{"reference":"urn:uuid:2"}})";
    const std::string_view text{reinterpret_cast<const char*>(data), size};
    try {
        server::parse_fhir_task(text, ours, Instant{});
    } catch (const InputError&) {
        return 0;
    }
    return 0;
}
