#pragma once
/// Where the women of a district live.

#include <optional>
#include <string>
#include <vector>

#include "coverage/settlement.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

struct SettlementSource {
    /// A file of settlements; empty: the district's own.
    std::string file = {};
    /// A file of sub-districts; empty: the district's own, or else as the settlements say.
    std::string areas = {};
    std::optional<double> births_per_1000 = {};
};

/// Sub-districts with their boundaries, from the file or else the district's own; empty where
/// neither is. @throws InputError for a bad file
std::vector<coverage::Area> areas_of(const Snapshot& snapshot, const std::string& file);

/// The district's own as the snapshot holds them; files are read only where others are asked for.
/// @throws InputError for a district that names none, and a bad file
std::vector<coverage::Settlement> settlements_of(const Snapshot& snapshot,
                                                 const SettlementSource& source = {});

/// From the file, whatever the snapshot holds. `source.areas` is not read.
/// @throws InputError as above
std::vector<coverage::Settlement> read_settlements(const Snapshot& snapshot,
                                                   const SettlementSource& source = {});

}  // namespace waybourne::server
