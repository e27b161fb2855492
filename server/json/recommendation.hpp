#pragma once
/// A recommendation as JSON: the shape of `POST /v1/recommendations`.

#include <optional>
#include <string>

#include "facilities/register.hpp"
#include "referral/recommendation.hpp"
#include "server/json/writer.hpp"
#include "server/words.hpp"
#include "triage/assessment.hpp"

namespace waybourne::server {

/// The wire name: `in_time`, `late`, `nowhere` or `stay`.
std::string_view to_name(referral::Outcome outcome);

/// Which snapshot an answer was made from.
struct SnapshotStamp {
    std::string map_sha256;
    std::size_t facilities = 0;
    std::size_t reports = 0;
    /// Counts up from 1 with every change since the program started.
    std::int64_t version = 1;
    Instant made_at{};
};

/// All that one answer shows.
struct RecommendationView {
    const triage::Assessment& assessment;
    const referral::Recommendation& recommendation;
    const facilities::FacilityRegister& facilities;
    const std::string& referral_note;
    const SnapshotStamp& snapshot;
    const Words& words;
};

/// `{"typical": instant, "allow": instant}`; none comes out as null.
void write_expected(JsonWriter& json, const std::optional<referral::Expected>& expected);

void write_recommendation(JsonWriter& json, const RecommendationView& view);

void write_snapshot_stamp(JsonWriter& json, const SnapshotStamp& stamp);

}  // namespace waybourne::server
