#pragma once
/// An answer as a short page of plain text for a health worker.

#include <string>
#include <vector>

#include "server/answer.hpp"
#include "server/words.hpp"

namespace waybourne::server {

/// What was found, what to do, where by when and how, whom to call, the fallback, what was passed
/// over, what else to ask. Never a scale, a score or a chance: what was found, and clock times.
std::string answer_page(const Snapshot& snapshot, const Answer& answer, Instant now);

/// `31 km`, `850 m`
std::string distance_words(Metres distance);

/// One line for each leg of the way.
std::vector<std::string> way_lines(const routing::Route& route, const Words& words);

}  // namespace waybourne::server
