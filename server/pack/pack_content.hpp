#pragma once
/// From an unpacked pack to a snapshot: the same on a server and on a phone.

#include <memory>
#include <string>
#include <vector>

#include "server/pack/pack_file.hpp"
#include "server/snapshot.hpp"
#include "vocabulary/time_zone.hpp"

namespace waybourne::server {

/// The names of a pack's sections.
namespace pack_section {
inline constexpr const char* about = "pack.json";
inline constexpr const char* district = "district.json";
inline constexpr const char* protocol = "protocol.json";
/// One for each language, the district's own first: `texts.en.json`, …
inline constexpr const char* texts_prefix = "texts.";
inline constexpr const char* facilities = "facilities.geojson";
inline constexpr const char* reports = "reports.json";
inline constexpr const char* speeds = "speeds.json";
inline constexpr const char* roads = "roads";
}  // namespace pack_section

/// Every time zone that something in the pack names. A phone, which has no zone files, must know
/// them before it reads the rest.
/// @throws DataError
std::vector<TimeZone> zones_of_pack(const PackSections& sections);

/// The snapshot that the pack was made from: every answer from it is the same, byte for byte.
/// Checks everything, since a signature proves only who made it.
/// @param payload unpacked; the roads stay where they lie in it
/// @throws DataError naming the section that is damaged, and why
std::shared_ptr<const Snapshot> snapshot_of_pack(std::shared_ptr<const std::string> payload);

}  // namespace waybourne::server
