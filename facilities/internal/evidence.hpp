#pragma once
/// What the reports about one thing say about one moment.

#include <optional>

#include "facilities/report.hpp"
#include "facilities/shelf_life.hpp"

namespace waybourne::facilities {

/// All that was heard about one thing that a service rests on.
struct Evidence {
    const Ageing* ageing = nullptr;
    /// The newest report about it, none from after `now`.
    const Report* own = nullptr;
    /// The newest report about the capability, if it says ready and is not from after `now`.
    const Report* capability_ready = nullptr;
    /// Of opening hours: when the register says that they were confirmed.
    std::optional<Instant> confirmed_at = std::nullopt;
    /// Of stock, blood and space: how many units one woman takes.
    int units = 1;
};

enum class Claim {
    ready,          ///< said to be ready, or a back-up replaces it
    not_ready,      ///< said not to be, and that still counts
    was_not_ready,  ///< said not to be, too long ago
    over,           ///< the newest report has run out
    never_heard,
};

/// What counts about a thing at one moment.
struct Finding {
    Claim claim = Claim::never_heard;
    /// When it was said; none if never.
    std::optional<Instant> said_at = std::nullopt;
    /// The report it comes from; null for the register's own confirmation, or none.
    const Report* report = nullptr;
    /// Ready, and young enough to be a confirmation.
    bool is_confirmed = false;
    double chance = 0;
};

/// @param at the moment asked about, not before `now` in practice
Finding find(const Evidence& evidence, Instant at, Instant now);

/// The first moment from `from` on at which it is not known to be unready; none if that has no end.
std::optional<Instant> first_not_blocked(const Evidence& evidence, Instant from, Instant now);

}  // namespace waybourne::facilities
