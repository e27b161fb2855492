#pragma once
/// `district.json` and `manifest.json` of a district's folder.

#include <cstdint>
#include <map>
#include <string>
#include <string_view>

#include "server/district.hpp"

namespace waybourne::server {

/// What a file of the folder must be.
struct ManifestEntry {
    std::uint64_t bytes = 0;
    std::string sha256;
    bool operator==(const ManifestEntry&) const = default;
};

using Manifest = std::map<std::string, ManifestEntry>;

/// Plain file names only: nothing outside the folder can be named.
/// @throws InputError with the RFC 6901 pointer of each error
District parse_district(std::string_view json);

/// @throws InputError with the RFC 6901 pointer of each error
Manifest parse_manifest(std::string_view json);

}  // namespace waybourne::server
