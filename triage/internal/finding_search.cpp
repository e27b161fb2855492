#include "triage/internal/finding_search.hpp"

#include <algorithm>

namespace waybourne::triage {

namespace {

constexpr std::size_t most_branches = 1'000'000;

class Search {
public:
    Search(const Protocol& protocol, const FindingSpace& space, const PossibleTruths& truths,
           const std::vector<Wish>& wishes, const Step* step)
        : protocol_(protocol),
          space_(space),
          truths_(truths),
          wishes_(wishes),
          before_(space.dimensions().size()),
          after_(space.dimensions().size()) {
        if (step != nullptr) {
            before_[step->dimension] = step->from;
            after_[step->dimension] = step->to;
        }
    }

    SearchResult run() {
        const bool found = grant();
        if (found) {
            return {before_, false};
        }
        return {std::nullopt, branches_ > most_branches};
    }

private:
    /// The dimension to try next; none when every wish is granted. Sets `hopeless` when one cannot
    /// be any more.
    std::optional<std::size_t> next_dimension(bool& hopeless) const {
        std::optional<std::size_t> next;
        std::size_t fewest = 0;
        bool next_is_first = false;
        for (const Wish& wish : wishes_) {
            const Truths possible = truths_.of(wish.condition, wish.after_step ? after_ : before_);
            if ((possible & wish.wanted) == 0) {
                hopeless = true;
                return std::nullopt;
            }
            if ((possible & ~wish.wanted) == 0) {
                continue;
            }
            const auto [dimension, open] = open_dimensions(wish.condition);
            const bool better = !next || (wish.first && !next_is_first) ||
                                (wish.first == next_is_first && open < fewest);
            if (better) {
                next = dimension;
                fewest = open;
                next_is_first = wish.first;
            }
        }
        return next;
    }

    /// The first dimension of a condition that has no choice yet, and how many there are.
    std::pair<std::size_t, std::size_t> open_dimensions(ConditionId condition) const {
        std::size_t first = 0;
        std::size_t open = 0;
        for (const FieldId field : protocol_.conditions.fields_of(condition)) {
            const std::size_t dimension = space_.dimension_of(field);
            if (!before_[dimension]) {
                first = open == 0 ? dimension : first;
                ++open;
            }
        }
        return {first, open};
    }

    bool grant() {
        if (++branches_ > most_branches) {
            return false;
        }
        bool hopeless = false;
        const auto dimension = next_dimension(hopeless);
        if (!dimension) {
            return !hopeless;
        }
        for (std::size_t cell = 0; cell < space_.dimensions()[*dimension].cells.size(); ++cell) {
            before_[*dimension] = cell;
            after_[*dimension] = cell;
            if (grant()) {
                return true;
            }
        }
        before_[*dimension].reset();
        after_[*dimension].reset();
        return false;
    }

    const Protocol& protocol_;
    const FindingSpace& space_;
    const PossibleTruths& truths_;
    const std::vector<Wish>& wishes_;
    Choices before_;
    Choices after_;
    std::size_t branches_ = 0;
};

}  // namespace

SearchResult find_findings(const Protocol& protocol, const FindingSpace& space,
                           const PossibleTruths& truths, const std::vector<Wish>& wishes,
                           const Step* step) {
    return Search(protocol, space, truths, wishes, step).run();
}

}  // namespace waybourne::triage
