#pragma once
/// "Did you mean …?" for a name that nobody knows.

#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace waybourne {

/// The known name with the smallest edit distance (insertions, deletions, substitutions and swaps
/// of neighbours: Damerau, CACM 7, 1964, 171-176, in the restricted form where no part is edited
/// twice), if at most a third of the longer name's letters differ (common practice, no source);
/// the first in order of `known` among equals. O(known × length²).
std::optional<std::string> nearest_name(std::string_view given, std::span<const std::string> known);

}  // namespace waybourne
