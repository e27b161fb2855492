#pragma once
/// All that one answer is made from.

#include <filesystem>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "coverage/settlement.hpp"
#include "dispatch/vehicle.hpp"
#include "facilities/register.hpp"
#include "journal/envelope.hpp"
#include "referral/choice.hpp"
#include "routing/boat_ways.hpp"
#include "server/district.hpp"
#include "server/map_drawing.hpp"
#include "server/roads.hpp"
#include "triage/protocol.hpp"
#include "vocabulary/message.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::server {

/// One version of everything. Immutable; a reader takes it once per request, so that an answer
/// never mixes two versions.
struct Snapshot {
    District district;
    /// `district.json` and the speed table, as they were read.
    std::string district_text;
    std::string speeds_text;
    TimeZone zone;
    triage::Protocol protocol;
    /// The protocol file as it was read.
    std::string protocol_text;
    /// In the district's language: what is written down, and what is sent.
    Catalogue catalogue;
    /// For whoever asks in another language.
    std::vector<Catalogue> other_languages;
    facilities::FacilityRegister facilities;
    /// `facilities.report_count()`, which every answer names.
    std::size_t report_count = 0;
    /// As the district's file lists them; none where it has no such file. What is heard of them
    /// while they work stands in `Records`: a position every few seconds makes no new snapshot.
    std::vector<dispatch::Vehicle> vehicles;
    /// Where the women of the district live, as its file lists them; null where it names no such
    /// file, or one that cannot be used as it is: `settlements_of` says why.
    std::shared_ptr<const std::vector<coverage::Settlement>> settlements;
    /// Complications expected in each birth, 0 to 1 (`dispatch/data/complications.json`).
    double complications_per_birth = 0;
    referral::ChoiceSettings settings;
    std::shared_ptr<const Roads> roads;
    /// The ways of boats, a network of their own, and where they land; null and empty where the
    /// district lists none. Road changes do not concern them.
    std::shared_ptr<const Roads> boat_ways;
    std::vector<routing::Landing> landings;
    /// The roads as the page draws them.
    std::shared_ptr<const MapDrawing> drawing;
    /// Of the file the roads were read from.
    std::string map_sha256;
    /// The SHA-256 of each file that answers rest on, by what it holds: `map`, `protocol`,
    /// `facilities`, `reports`, `district`, `speeds`, `texts`.
    std::map<std::string, std::string> files;
    std::filesystem::path folder;
    /// Where the times of a district were moved to whose times move with the clock.
    Instant read_at{};
    /// Reports and road changes of the journal up to here are in it.
    journal::Sequence known = 0;
    /// Counts up from 1 since the program started.
    std::int64_t version = 1;
    Instant made_at{};
};

}  // namespace waybourne::server
