#pragma once
/// What the rules that fire ask for together (`clinical.md` e.4).

#include <optional>
#include <vector>

#include "triage/protocol.hpp"

namespace waybourne::triage {

/// One flag for each rule of a protocol: whether it fires.
using FiredRules = std::vector<char>;

/// Care that any one capability of `any_of` meets.
struct CombinedNeed {
    CapabilitySet any_of;
    bool critical = false;
    std::optional<Seconds> within;
    /// The rules that ask for it or for a wider choice, in the order of the protocol.
    std::vector<std::size_t> rules;
};

/// The union of what the rules ask for (COM-1). A choice that contains another is dropped, and the
/// narrower one is critical if either was (COM-2); its time is the shortest of all rules that ask
/// for it or for a wider one (COM-3). Critical ones first, then by time, then by capability.
std::vector<CombinedNeed> combine_needs(const Protocol& protocol, const FiredRules& fired);

/// The same choices with no more than whether each is critical, quickly, in no special order.
std::vector<WantedCare> combine_choices(const Protocol& protocol, const FiredRules& fired);

/// The shortest time limit of all rules that fire; none if none of them has one.
std::optional<Seconds> shortest_limit(const Protocol& protocol, const FiredRules& fired);

}  // namespace waybourne::triage
