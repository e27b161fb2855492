#pragma once
/// Looks for a finding with wanted truths, or shows that there is none.

#include <optional>
#include <vector>

#include "triage/internal/possible_truth.hpp"

namespace waybourne::triage {

/// What the truth of one condition shall be.
struct Wish {
    ConditionId condition = 0;
    Truths wanted = 0;
    /// In the finding after the step, not before it.
    bool after_step = false;
    /// Settled before those that are not: keeps the search near the rule it is about.
    bool first = false;
};

struct SearchResult {
    /// A finding (before the step) that grants every wish. Dimensions without a choice do not
    /// matter.
    std::optional<Choices> found;
    /// The search gave up: neither found nor shown impossible.
    bool gave_up = false;
};

/// Tries every cell of every dimension that can matter, in depth, leaving out only branches in
/// which some wish can no longer be granted: without a find and without giving up it is a proof
/// that there is no such finding. Exponential at worst; gives up after a million branches.
/// @param step where the findings before and after differ; none: there is only one finding
SearchResult find_findings(const Protocol& protocol, const FindingSpace& space,
                           const PossibleTruths& truths, const std::vector<Wish>& wishes,
                           const Step* step = nullptr);

}  // namespace waybourne::triage
