/// Damaged and forged district packs. A signature proves only who made a pack, so everything behind
/// it is read as if anybody had: the header from the bytes as they are, and the sections from the
/// same bytes, as if they had been unpacked.

#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include "server/pack/pack_content.hpp"
#include "server/pack/pack_file.hpp"
#include "vocabulary/error.hpp"

namespace {

using namespace waybourne;

void read_as_file(std::string_view bytes) {
    try {
        const server::PackHeader header = server::read_pack_header(bytes);
        // What was read is what is signed.
        if (server::signed_part(header) != bytes.substr(0, server::pack_signed_bytes)) {
            __builtin_trap();
        }
    } catch (const DataError&) {
        return;
    }
}

void read_as_payload(std::string_view bytes) {
    try {
        const server::PackSections sections = server::read_sections(bytes);
        if (server::read_sections(server::write_sections(sections)) != sections) {
            __builtin_trap();
        }
        server::zones_of_pack(sections);
        server::snapshot_of_pack(std::make_shared<const std::string>(bytes));
    } catch (const DataError&) {
        return;
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string_view bytes{reinterpret_cast<const char*>(data), size};
    read_as_file(bytes);
    read_as_payload(bytes);
    return 0;
}
