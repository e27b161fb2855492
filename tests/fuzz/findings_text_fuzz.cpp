#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>

#include "server/messages/care_text.hpp"
#include "server/messages/findings_text.hpp"
#include "triage/protocol_file.hpp"

// What anybody may text about a woman or a ward: it is read, or said back, and every number that
// comes out is one.
namespace {

std::string file(const char* name) {
    std::ifstream in{std::string{WAYBOURNE_SOURCE_DIR} + "/" + name, std::ios::binary};
    return {std::istreambuf_iterator<char>{in}, {}};
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace waybourne;
    static const triage::Protocol protocol =
        triage::parse_protocol(file("triage/protocol/protocol.json"));
    static const server::TextWords words{file("server/messages/text_words.json"), protocol};
    const std::string_view text{reinterpret_cast<const char*>(data), size};
    const auto read = server::read_texted_findings(words, protocol, text, {});
    for (const auto& [field, value] : read.findings.values) {
        const double* number = std::get_if<double>(&value);
        if (!protocol.find_field(field) || (number != nullptr && !std::isfinite(*number))) {
            std::abort();
        }
    }
    server::read_care_text(words, text);
    return 0;
}
