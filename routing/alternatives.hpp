#pragma once
/// Other ways worth knowing, before the bridge is out.

#include <memory>
#include <vector>

#include "routing/arc_part.hpp"
#include "routing/metric.hpp"
#include "routing/route.hpp"
#include "routing/router.hpp"

namespace waybourne::routing {

/// What makes another way worth knowing: Abraham, Delling, Goldberg, Werneck, Alternative routes in
/// road networks, ACM J. Experimental Algorithmics 18 (2013) 1.3, section 3, with the limits they
/// use there (from memory of it). Shares are of the best way's typical time.
struct AlternativeLimits {
    /// No other way takes more than this many times the best.
    double most_stretch = 1.25;
    /// No other way has more than this in common with the best and the others together.
    double most_shared = 0.8;
    /// A stretch this long, which the best way from the start and the best way to the target agree
    /// on, makes a way sensible all along: no detour for its own sake.
    double least_agreed = 0.25;
    /// Besides the best.
    std::size_t most = 2;
    bool operator==(const AlternativeLimits&) const = default;
};

/// One way, and how much of it is another.
struct Alternative {
    Route route;
    /// The same way along the arcs.
    std::vector<ArcPart> parts;
    /// How many times the best way's typical time; 1 for the best.
    double stretch = 1;
    /// What it has in common with the best way and those before it, as a share of the best way's
    /// typical time, walking to the road and from it included; 0 for the best.
    double shared = 0;
    bool operator==(const Alternative&) const = default;
};

/// The ways that meet the limits, by plateaus: the stretches on which the search from the start and
/// the search back from the target agree; each lies on one way through it. A search workspace: one
/// per thread, 60 bytes per node and 8 per arc. O(n log n) over the nodes within `most_stretch`
/// times the best way of both ends.
class AlternativeSearch {
public:
    explicit AlternativeSearch(std::shared_ptr<const Metric> metric);
    ~AlternativeSearch();

    /// The best way first, then the others, the best of them first by 2 × time + shared − agreed
    /// (the measure of the same work). Empty where there is no way. Times wait for ferries; which
    /// ways are looked at is decided without, and the limits are then held with.
    /// @throws InputError if a snap is not of this network
    std::vector<Alternative> find(const Departure& departure, const Snap& target,
                                  const AlternativeLimits& limits = {});

private:
    class Search;
    std::unique_ptr<Search> search_;
};

}  // namespace waybourne::routing
