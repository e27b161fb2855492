#include "dispatch/tour.hpp"

#include <algorithm>
#include <bit>
#include <string>

#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

namespace {

/// The soonest that the vehicle leaves with a set of women, the last of them given.
struct Reached {
    std::optional<Instant> leaves = {};
    /// The last but one; the number of women for none.
    std::size_t before = 0;
};

/// By set, then by last woman.
class Table {
public:
    explicit Table(std::size_t women)
        : women_(women), reached_((std::size_t{1} << women) * women) {}
    Reached& at(std::size_t set, std::size_t last) { return reached_[set * women_ + last]; }

    Tour tour(std::size_t set, std::size_t last) {
        Tour tour{{}, *at(set, last).leaves};
        while (true) {
            tour.order.push_back(last);
            const std::size_t before = at(set, last).before;
            if (before == women_) {
                std::reverse(tour.order.begin(), tour.order.end());
                return tour;
            }
            set &= ~(std::size_t{1} << last);
            last = before;
        }
    }

private:
    std::size_t women_;
    std::vector<Reached> reached_;
};

class Search {
public:
    Search(std::span<const std::optional<Instant>> first, const LeavesWithNext& next,
           std::size_t most)
        : women_(first.size()), next_(next), most_(most), table_(first.size()) {
        for (std::size_t woman = 0; woman < women_; ++woman) {
            table_.at(std::size_t{1} << woman, woman) = {first[woman], women_};
        }
    }

    std::vector<Tour> run() {
        std::vector<Tour> tours;
        for (std::size_t set = 1; set < std::size_t{1} << women_; ++set) {
            const auto size = static_cast<std::size_t>(std::popcount(set));
            for (std::size_t last = 0; size <= most_ && last < women_; ++last) {
                if (!has(set, last) || !table_.at(set, last).leaves) {
                    continue;
                }
                if (size > 1) {
                    tours.push_back(table_.tour(set, last));
                }
                if (size < most_) {
                    go_on(set, last);
                }
            }
        }
        return tours;
    }

private:
    static bool has(std::size_t set, std::size_t woman) { return (set >> woman & 1) != 0; }

    void go_on(std::size_t set, std::size_t last) {
        const Instant at = *table_.at(set, last).leaves;
        for (std::size_t to = 0; to < women_; ++to) {
            const auto leaves = has(set, to) ? std::optional<Instant>{} : next_(last, to, at);
            Reached& with = table_.at(set | std::size_t{1} << to, to);
            if (leaves && (!with.leaves || *leaves < *with.leaves)) {
                with = {leaves, last};
            }
        }
    }

    std::size_t women_;
    const LeavesWithNext& next_;
    std::size_t most_;
    Table table_;
};

}  // namespace

std::vector<Tour> soonest_tours(std::span<const std::optional<Instant>> first,
                                const LeavesWithNext& next, std::size_t most) {
    if (first.size() > most_in_tours) {
        throw InputError("a tour is looked for among at most " + std::to_string(most_in_tours) +
                         " women");
    }
    return Search(first, next, most).run();
}

}  // namespace waybourne::dispatch
