#pragma once
/// A ward that says by text what it can give.

#include <string>
#include <vector>

#include "server/messages/said.hpp"
#include "server/referrals/desk.hpp"

namespace waybourne::server {

/// Reports for the one place that the caller acts for, and gives the text that answers.
/// @throws as `Desk::report`, but for what practice may not do
std::string answer_report(Desk& desk, const Snapshot& snapshot, const Call& call,
                          const SaidReady& ready, Instant now);

/// As much of the list as fits into two messages beside `around` other characters.
std::string fitting(const std::vector<std::string>& parts, std::size_t around);

}  // namespace waybourne::server
