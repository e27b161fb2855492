#pragma once
/// From a district's folder to a snapshot.

#include <filesystem>
#include <memory>

#include "server/engine.hpp"
#include "server/snapshot.hpp"
#include "vocabulary/progress.hpp"

namespace waybourne::server {

struct LoadOptions {
    /// Holds `district.json` and `manifest.json`.
    std::filesystem::path folder;
    /// The times of a district whose times move with the clock are moved to here.
    Instant now{};
    /// One of `catalogue_languages`, instead of the district's own; empty: that.
    std::string language;
    /// Searches at once.
    std::size_t most_routers = 2;
    EngineChoice engine = EngineChoice::automatic;
    Progress progress = {};
};

/// Reads the folder and everything it names. Each file must have the size and the SHA-256 of the
/// manifest.
/// @throws DataError naming the file that is missing, has changed or cannot be read, and why
std::shared_ptr<const Snapshot> load_district(const LoadOptions& options);

/// The facilities and reports of the folder alone, as `load_district` reads them at `now`.
/// @throws DataError as above
facilities::FacilityRegister load_register(const std::filesystem::path& folder, Instant now);

/// The protocol with its texts, as it comes with the program.
/// @throws DataError
triage::Protocol load_protocol(const std::filesystem::path& file);

}  // namespace waybourne::server
