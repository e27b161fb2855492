#pragma once
/// The order in which one vehicle fetches several women.

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "vocabulary/time.hpp"

namespace waybourne::dispatch {

/// Who is fetched after whom, and when the vehicle leaves with the last of them.
struct Tour {
    std::vector<std::size_t> order;
    Instant leaves{};
    bool operator==(const Tour&) const = default;
};

/// When the vehicle leaves with the woman `to`, having left with `from` at `at`; none where no way
/// leads there. A later start never leaves earlier.
using LeavesWithNext =
    std::function<std::optional<Instant>(std::size_t from, std::size_t to, Instant at)>;

/// The most women that are looked at together.
inline constexpr std::size_t most_in_tours = 12;

/// For every set of 2 to `most` women and for each of them as the last one: the order in which the
/// vehicle leaves soonest with her and all others on board; of equally soon ones that whose last
/// but one comes first, and so on back. Sets are ordered as binary numbers, then by the last woman;
/// those that cannot be fetched in a row are left out.
///
/// Exact: a set is left soonest after its last woman by whoever left the rest soonest (Held, Karp,
/// J. SIAM 10, 1962, 196-210). O(2^n n²) for n women.
/// @param first when the vehicle leaves with each woman fetched first; none where it cannot
/// @throws InputError for more than `most_in_tours` women
std::vector<Tour> soonest_tours(std::span<const std::optional<Instant>> first,
                                const LeavesWithNext& next, std::size_t most);

}  // namespace waybourne::dispatch
