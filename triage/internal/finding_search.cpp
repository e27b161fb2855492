#include "triage/internal/finding_search.hpp"

#include <algorithm>
#include <bit>
#include <set>
#include <utility>

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
          after_(space.dimensions().size()),
          cells_(space.dimensions().size()) {
        const std::vector<char> looked_at = leaves_of_wishes();
        for (std::size_t dimension = 0; dimension < cells_.size(); ++dimension) {
            cells_[dimension] = different_cells(dimension, looked_at);
        }
        if (step != nullptr) {
            before_[step->dimension] = step->from;
            after_[step->dimension] = step->to;
        }
    }

    SearchResult run() {
        std::vector<const Wish*> open;
        for (const Wish& wish : wishes_) {
            open.push_back(&wish);
        }
        std::stable_partition(open.begin(), open.end(),
                              [](const Wish* wish) { return wish->first; });
        if (grant(open)) {
            return {before_, false};
        }
        return {std::nullopt, branches_ > most_branches};
    }

private:
    /// For every condition of the table whether some wish looks at it.
    std::vector<char> leaves_of_wishes() const {
        std::vector<char> looked_at(protocol_.conditions.size(), 0);
        for (const Wish& wish : wishes_) {
            looked_at[wish.condition] = 1;
        }
        for (ConditionId whole = looked_at.size(); whole-- > 0;) {
            for (const ConditionId part : protocol_.conditions.condition(whole).parts) {
                looked_at[part] = static_cast<char>(looked_at[part] | looked_at[whole]);
            }
        }
        return looked_at;
    }

    /// One cell for each combination of truths that the wishes can tell apart.
    std::vector<std::size_t> different_cells(std::size_t place,
                                             const std::vector<char>& looked_at) const {
        const Dimension& dimension = space_.dimensions()[place];
        std::set<std::vector<Answer>> seen;
        std::vector<std::size_t> different;
        for (std::size_t cell = 0; cell < dimension.cells.size(); ++cell) {
            std::vector<Answer> truths;
            for (std::size_t leaf = 0; leaf < dimension.leaves.size(); ++leaf) {
                if (looked_at[dimension.leaves[leaf]] != 0) {
                    truths.push_back(dimension.truths[cell][leaf]);
                }
            }
            if (seen.insert(std::move(truths)).second) {
                different.push_back(cell);
            }
        }
        return different;
    }

    const Choices& side_of(const Wish& wish) const { return wish.after_step ? after_ : before_; }

    /// The wishes among `open` that are not granted yet; none when one cannot be granted any more.
    std::optional<std::vector<const Wish*>> still_open(const std::vector<const Wish*>& open) const {
        std::vector<const Wish*> left;
        for (const Wish* wish : open) {
            const Truths possible = truths_.of(wish->condition, side_of(*wish));
            if ((possible & wish->wanted) == 0) {
                return std::nullopt;
            }
            if ((possible & ~wish->wanted) != 0) {
                left.push_back(wish);
            }
        }
        return left;
    }

    /// The dimension of the first leaf, in the order in which the condition is written, that keeps
    /// it from being settled. People write the decisive parts first.
    std::size_t first_open_dimension(ConditionId id, const Choices& choices) const {
        const Condition& condition = protocol_.conditions.condition(id);
        for (const ConditionId part : condition.parts) {
            if (std::popcount(truths_.of(part, choices)) > 1) {
                return first_open_dimension(part, choices);
            }
        }
        return space_.place_of(id).dimension;
    }

    std::size_t open_dimensions(const Wish& wish) const {
        std::size_t open = 0;
        for (const FieldId field : protocol_.conditions.fields_of(wish.condition)) {
            open += before_[space_.dimension_of(field)] ? 0 : 1;
        }
        return open;
    }

    /// The wish to work on: one of the first ones, then the one with the fewest open fields.
    const Wish& next_wish(const std::vector<const Wish*>& open) const {
        if (open.front()->first) {
            return *open.front();
        }
        return **std::min_element(open.begin(), open.end(), [&](const Wish* a, const Wish* b) {
            return open_dimensions(*a) < open_dimensions(*b);
        });
    }

    bool grant(const std::vector<const Wish*>& wishes) {
        if (++branches_ > most_branches) {
            return false;
        }
        const auto open = still_open(wishes);
        if (!open || open->empty()) {
            return open.has_value();
        }
        const Wish& wish = next_wish(*open);
        const std::size_t dimension = first_open_dimension(wish.condition, side_of(wish));
        for (const std::size_t cell : cells_[dimension]) {
            before_[dimension] = cell;
            after_[dimension] = cell;
            if (grant(*open)) {
                return true;
            }
        }
        before_[dimension].reset();
        after_[dimension].reset();
        return false;
    }

    const Protocol& protocol_;
    const FindingSpace& space_;
    const PossibleTruths& truths_;
    const std::vector<Wish>& wishes_;
    Choices before_;
    Choices after_;
    std::vector<std::vector<std::size_t>> cells_;  ///< of each dimension, those worth trying
    std::size_t branches_ = 0;
};

}  // namespace

SearchResult find_findings(const Protocol& protocol, const FindingSpace& space,
                           const PossibleTruths& truths, const std::vector<Wish>& wishes,
                           const Step* step) {
    return Search(protocol, space, truths, wishes, step).run();
}

}  // namespace waybourne::triage
