#pragma once
/// In which language somebody is answered.

#include <string_view>

#include "server/snapshot.hpp"

namespace waybourne::server {

/// The catalogue that a reader prefers, by the lookup of RFC 4647 (section 3.4: `fr-CH` finds
/// `fr`); the district's own when the reader names none that there is, or writes nonsense.
/// O(length).
/// @param accept_language as in a request (RFC 9110, section 12.5.4): `fr-CH, fr;q=0.9, en;q=0.8`
const Catalogue& catalogue_for(const Snapshot& snapshot, std::string_view accept_language);

}  // namespace waybourne::server
