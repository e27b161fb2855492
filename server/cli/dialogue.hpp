#pragma once
/// Asking question by question in a terminal.

#include "server/cli/terminal.hpp"
#include "server/request.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// Asks until no other answer would change what follows, or the health worker has had enough, or
/// the input ends. Everything already in `request` is kept and not asked for again.
RecommendationRequest ask_questions(const Snapshot& snapshot, RecommendationRequest request,
                                    bool knows_place, Instant now, Terminal& terminal);

}  // namespace waybourne::server
