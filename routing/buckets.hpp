#pragma once
/// Places kept where searches climb past them, so that the nearest are found at once.

#include <cstdint>
#include <span>
#include <vector>

#include "routing/up_search.hpp"

namespace waybourne::routing {

/// For every ancestor x of a place: the least value from x down to the place (Knopp, Sanders,
/// Schultes, Schulz, Wagner, ALENEX 2007, many-to-many by buckets). Belongs to one hierarchy and
/// one customised metric. Places can be added and removed without rebuilding; what changes about a
/// place from minute to minute (is it ready?) is asked during the query and needs no change here.
template <typename Value>
class Buckets {
public:
    struct Entry {
        Value value;
        std::uint32_t place;
    };
    /// One place as a query finds it.
    struct Found {
        Value value = Value::closed();
        std::uint32_t place = 0;
        /// By value, then by place.
        bool operator<(const Found& other) const {
            return value != other.value ? value < other.value : place < other.place;
        }
        bool operator==(const Found&) const = default;
    };

    explicit Buckets(const Hierarchy& hierarchy);

    /// A place may be added at several ranks (both ends of its road piece), each with what lies
    /// between; at once where these are on one chain, which keeps fewer entries.
    /// @param ranks as `UpSearch::run` wants them
    void add(const Hierarchy& hierarchy, std::span<const BothWays<Value>> weights,
             std::span<const UpStart<Value>> ranks, std::uint32_t place);
    void add(const Hierarchy& hierarchy, std::span<const BothWays<Value>> weights,
             std::uint32_t rank, std::uint32_t place, Value value) {
        const UpStart<Value> only{rank, value};
        add(hierarchy, weights, std::span{&only, 1}, place);
    }
    void remove(std::uint32_t place);

    /// The entries at one rank, least value first.
    std::span<const Entry> at(std::uint32_t rank) const {
        const std::uint32_t slot = slot_of_rank_[rank];
        return slot == 0 ? std::span<const Entry>{} : slots_[slot];
    }
    std::size_t entry_count() const;

private:
    std::vector<std::uint32_t> slot_of_rank_;
    std::vector<std::vector<Entry>> slots_;
    UpSearch<Value> search_;
};

/// Puts `candidate` among the `count` nearest, each place once.
template <typename Found>
void keep_nearest(const Found& candidate, std::size_t count, std::vector<Found>& found) {
    const auto same = std::find_if(found.begin(), found.end(), [&](const Found& other) {
        return other.place == candidate.place;
    });
    if (same != found.end()) {
        if (!(candidate < *same)) {
            return;
        }
        found.erase(same);
    } else if (found.size() == count) {
        if (!(candidate < found.back())) {
            return;
        }
        found.pop_back();
    }
    found.insert(std::upper_bound(found.begin(), found.end(), candidate), candidate);
}

/// Asks for the nearest places. Refers to all that it asks; make one where it is needed.
template <typename Value>
struct NearestSearch {
    const Hierarchy& hierarchy;
    std::span<const BothWays<Value>> weights;
    const Buckets<Value>& buckets;
    UpSearch<Value>& search;

    /// The `count` nearest places that `accept(place)` takes, nearest first, from `rank` at
    /// `start`. May be called for several ranks in turn on the same `found`, which then holds the
    /// best of all. O(chain + entries nearer than the farthest found): ancestors farther than that
    /// are not climbed from.
    template <typename Accept>
    void find(std::uint32_t rank, Value start, std::size_t count, const Accept& accept,
              std::vector<typename Buckets<Value>::Found>& found) const {
        const auto is_too_far = [&](const Value& value) {
            return found.size() == count && found.back().value < value;
        };
        search.explore(hierarchy, weights, rank, start, [&](std::uint32_t x, const Value& here) {
            if (is_too_far(here)) {
                return false;
            }
            for (const auto& entry : buckets.at(x)) {
                const typename Buckets<Value>::Found candidate{sum(here, entry.value), entry.place};
                if (!candidate.value.is_open() || is_too_far(candidate.value)) {
                    break;
                }
                if (accept(entry.place)) {
                    keep_nearest(candidate, count, found);
                }
            }
            return true;
        });
    }
};

}  // namespace waybourne::routing
