#pragma once
/// How many slips of a finger lie between two words, and "did you mean …?" for a name that nobody
/// knows.

#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace waybourne {

/// Insertions, deletions, substitutions and swaps of neighbours (Damerau, CACM 7, 1964, 171-176, in
/// the restricted form where no part is edited twice). O(length²).
std::size_t edit_distance(std::string_view a, std::string_view b);

/// The known name with the smallest edit distance, if at most a third of the longer name's letters
/// differ (common practice, no source); the first in order of `known` among equals. O(known ×
/// length²).
std::optional<std::string> nearest_name(std::string_view given, std::span<const std::string> known);

}  // namespace waybourne
