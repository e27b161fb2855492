#pragma once
/// The remaining cover as answers show it.

#include "server/cover.hpp"
#include "server/json/writer.hpp"
#include "server/words.hpp"

namespace waybourne::server {

/// What a dispatcher reads of it, in the reader's language.
struct CoverWords {
    /// How much is reached, and the weakest area.
    std::vector<std::string> words;
    /// One for each area that the last vehicle within reach leaves with the plan.
    std::vector<std::string> warnings;
};
CoverWords cover_words(const CoverAnswer& cover, const Words& words);

/// Null for none.
void write_cover(JsonWriter& json, const std::optional<CoverAnswer>& cover,
                 const Snapshot& snapshot, const std::vector<dispatch::Vehicle>& vehicles,
                 const Words& words);

}  // namespace waybourne::server
