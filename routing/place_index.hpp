#pragma once
/// Places that are asked about again and again, kept where searches climb past them.

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "routing/prepared_metric.hpp"
#include "routing/snap.hpp"

namespace waybourne::routing {

/// Immutable; share it between the routers of one prepared metric. About 200 entries of 16 bytes
/// per place on a million nodes. A place's number is its index in `places()` and never changes.
///
/// What changes about a place from minute to minute is not kept here but asked during a search
/// (`Offers`, `ReadyAfter`). A place that opens or closes for good makes a new index beside the old
/// one, which its readers keep as long as they like.
class PlaceIndex {
public:
    /// @throws InputError if a place is not of the metric's network
    PlaceIndex(std::shared_ptr<const PreparedMetric> metric, std::vector<Snap> places);
    ~PlaceIndex();
    PlaceIndex(const PlaceIndex&) = delete;
    PlaceIndex& operator=(const PlaceIndex&) = delete;

    /// With one more place, whose number is `places().size()`. Copies the entries, searches only
    /// for the new one.
    /// @throws InputError if it is not of the metric's network
    std::shared_ptr<const PlaceIndex> with(const Snap& place) const;
    /// That place is never found again; the others keep their numbers.
    /// @throws NotFound if there is no such number
    std::shared_ptr<const PlaceIndex> without(std::size_t place) const;

    /// Those removed are among them, without an access.
    const std::vector<Snap>& places() const { return places_; }
    const PreparedMetric& metric() const { return *metric_; }

private:
    friend class HierarchyRouter;
    friend class HierarchySearch;
    struct Kept;
    PlaceIndex(std::shared_ptr<const PreparedMetric> metric, std::vector<Snap> places,
               std::unique_ptr<Kept> kept);
    void keep(std::uint32_t place);

    std::shared_ptr<const PreparedMetric> metric_;
    std::vector<Snap> places_;
    std::unique_ptr<Kept> kept_;
};

/// What the kept places can give just now, one bit per kind of care. The array is the caller's: a
/// bit that changes between two questions needs nothing else.
struct Offers {
    /// By place; a place beyond the end offers nothing.
    std::span<const std::uint64_t> of_place;
    /// All of these bits; none for any place at all.
    std::uint64_t needed = 0;

    bool has(std::size_t place) const {
        return needed == 0 || (place < of_place.size() && (of_place[place] & needed) == needed);
    }
};

}  // namespace waybourne::routing
