#pragma once
/// Finds OpenStreetMap numbers in a sorted list. Numbers asked for one after the other are mostly
/// close to each other, so the search grows outwards from the last one found.

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace waybourne::routing {

class NodePlaces {
public:
    /// `ids` must be sorted and outlive this.
    explicit NodePlaces(const std::vector<std::int64_t>& ids) : ids_(ids) {}

    /// The place of the first number that is not less than `id`; the size of the list if there is
    /// none. O(log distance from the last one found): Bentley and Yao, Information Processing
    /// Letters 5 (1976) 82-87.
    std::size_t find(std::int64_t id) {
        if (ids_.empty()) {
            return 0;
        }
        // Mostly it is the last one found again, or the one after it.
        if (ids_[last_] < id && last_ + 1 < ids_.size()) {
            ++last_;
        }
        if (ids_[last_] >= id && (last_ == 0 || ids_[last_ - 1] < id)) {
            return last_;
        }
        auto low = ids_.begin() + static_cast<std::ptrdiff_t>(last_);
        auto high = low;
        std::ptrdiff_t reach = 1;
        if (*low < id) {
            while (ids_.end() - low > reach && *(low + reach) < id) {
                low += reach;
                reach *= 2;
            }
            high = ids_.end() - low > reach ? low + reach + 1 : ids_.end();
        } else {
            high = low + 1;
            while (low - ids_.begin() > reach && *(low - reach) >= id) {
                low -= reach;
                reach *= 2;
            }
            low = low - ids_.begin() > reach ? low - reach : ids_.begin();
        }
        const auto found = static_cast<std::size_t>(std::lower_bound(low, high, id) - ids_.begin());
        last_ = std::min(found, ids_.size() - 1);
        return found;
    }

private:
    const std::vector<std::int64_t>& ids_;
    std::size_t last_ = 0;
};

}  // namespace waybourne::routing
