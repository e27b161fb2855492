#include "phone/platform.hpp"

#include <algorithm>
#include <boost/crc.hpp>
#include <string>
#include <utility>

#include "phone/sha256.hpp"
#include "routing/checksum.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"
#include "vocabulary/shortened.hpp"

// Three functions of the rooms rest on libraries that cannot be linked into WebAssembly: the zone
// files, libsodium and zlib. Here they are for the phone; the rooms do not know the difference.

namespace waybourne {

namespace {

std::vector<TimeZone>& known_zones() {
    static std::vector<TimeZone> zones;
    return zones;
}

}  // namespace

std::vector<TimeZone> phone::provide_time_zones(std::vector<TimeZone> zones) {
    return std::exchange(known_zones(), std::move(zones));
}

TimeZone load_time_zone(std::string_view name) {
    const auto& zones = known_zones();
    const auto found = std::find_if(zones.begin(), zones.end(),
                                    [&](const TimeZone& zone) { return zone.name() == name; });
    if (found == zones.end()) {
        throw InputError("the pack does not have the time zone '" + shortened(name) + "'");
    }
    return *found;
}

std::string sha256(std::string_view bytes) {
    return phone::plain_sha256(bytes);
}

std::uint32_t routing::checksum_of(std::span<const std::byte> bytes, std::uint32_t before) {
    constexpr std::uint32_t all_bits = 0xFFFFFFFFU;
    boost::crc_32_type crc{before ^ all_bits};
    crc.process_bytes(bytes.data(), bytes.size());
    return crc.checksum();
}

}  // namespace waybourne
