#pragma once
/// What the truth of a condition can still be while only some of a finding is fixed, and which way
/// one step can move it.

#include <cstdint>
#include <optional>
#include <vector>

#include "triage/internal/finding_space.hpp"

namespace waybourne::triage {

/// A set of truths, one bit for each `Answer`.
using Truths = std::uint8_t;
constexpr Truths only(Answer answer) {
    return static_cast<Truths>(1U << static_cast<unsigned>(answer));
}
inline constexpr Truths holds = only(Answer::yes);
inline constexpr Truths does_not_hold = only(Answer::no) | only(Answer::unknown);

/// For each dimension the cell chosen, or none yet.
using Choices = std::vector<std::optional<std::size_t>>;

/// Truths of conditions under partly chosen findings. Leaves are exact; a whole counts its parts as
/// free of each other, so the set may be too large but never lacks a truth that is possible. With
/// everything chosen it holds exactly one.
class PossibleTruths {
public:
    PossibleTruths(const Protocol& protocol, const FindingSpace& space);

    /// O(parts of the condition).
    Truths of(ConditionId id, const Choices& choices) const;

private:
    Truths of_leaf(ConditionId id, const Choices& choices) const;

    const ConditionTable& table_;
    const FindingSpace& space_;
    std::vector<Truths> any_cell_;  ///< of each leaf, over all cells of its dimension
};

/// Which way a step can move the truth of a condition, with no < unknown < yes, whatever else is
/// known: the shape of the condition alone decides.
enum class Tendency : std::uint8_t { same, up, down, either_way };

/// For every condition of the table. `all` and `any` keep a common direction of their parts,
/// because the smaller and the larger of two rising values rise; `opposite` and `unless_sure` turn
/// it round; `sure` keeps it; `unanswered` may do anything once its part moves. O(table).
std::vector<Tendency> tendencies(const Protocol& protocol, const FindingSpace& space,
                                 const Step& step);

}  // namespace waybourne::triage
