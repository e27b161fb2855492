#pragma once
/// Replayed recommendations as JSON and as lines for people.

#include <string>
#include <vector>

#include "server/referrals/replay.hpp"
#include "server/words.hpp"

namespace waybourne::server {

/// @param shows_findings false: what was found on her is not told, only that it differs
std::string render_replays(const std::string& code, const std::vector<Replayed>& replays,
                           bool shows_findings);

/// A few lines for each, each ended by `\n`.
std::string describe_replays(const std::vector<Replayed>& replays, const Words& words);

}  // namespace waybourne::server
