#pragma once
/// Climbs from many starts past the kept places, several at once.

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "routing/buckets.hpp"
#include "routing/prepared_metric.hpp"
#include "routing/up_search.hpp"

namespace waybourne::routing {

/// One climb of a table of values.
struct TableStart {
    std::size_t row = 0;
    /// On one chain, as `UpSearch::run` wants them.
    std::vector<UpStart<TimeAndSpread>> chain;
};

/// What `UpSearch` does, for the start of every lane at once: what their chains share, which are
/// nearly all arcs where the starts are neighbours, is read once, and so are the places kept there.
/// Every depth has one ancestor of each start, so a row of lanes by depth is all that is needed,
/// though the chains differ further down. One thread's. Refers to all that it asks.
class LaneClimb {
public:
    static constexpr std::size_t lanes = 8;

    /// @param places all that the buckets keep are numbered below this
    LaneClimb(const PreparedMetric& metric, const Buckets<TimeAndSpread>& buckets,
              std::size_t places);

    /// Forgets the last climb. O(up arcs and kept entries on all chains together).
    /// @param starts not more than there are lanes, one for each
    void run(std::span<const TableStart> starts);

    /// From the lane's start to the place; `closed` where there is no way.
    TimeAndSpread least(std::size_t lane, std::size_t place) const {
        return unshifted(found_[place][lane]);
    }

private:
    /// Packed values less 2⁶³, since processors compare signed numbers.
    using Row = std::array<std::int64_t, lanes>;
    /// Where some of the lanes are just now.
    struct Climber {
        std::uint32_t rank = no_rank;
        std::uint32_t lanes = 0;  ///< one bit for each
    };
    friend struct LaneSteps;

    static constexpr std::int64_t shifted(TimeAndSpread value) {
        return static_cast<std::int64_t>(value.packed ^ std::uint64_t{1} << 63);
    }
    static constexpr TimeAndSpread unshifted(std::int64_t value) {
        return {static_cast<std::uint64_t>(value) ^ std::uint64_t{1} << 63};
    }
    /// Returns the greatest depth of a start.
    std::uint32_t begin(std::span<const TableStart> starts);
    /// Those whose start lies there join in.
    void join(std::span<const TableStart> starts, std::uint32_t depth);
    void join(Climber climber);
    /// All to their parents.
    void step_up();

    const HierarchyArrays* h_;
    std::span<const BothWays<TimeAndSpread>> weights_;
    const Buckets<TimeAndSpread>* buckets_;
    std::vector<Row> by_depth_;
    std::vector<Row> found_;
    std::vector<Climber> climbers_;
    std::vector<Climber> below_;  ///< where they were before
};

/// The least value from each row's starts to each place, row by row; the neighbours among the
/// starts climb together.
std::vector<TimeAndSpread> least_from(const PreparedMetric& metric,
                                      const Buckets<TimeAndSpread>& buckets, std::size_t rows,
                                      std::size_t places, std::vector<TableStart> starts);

}  // namespace waybourne::routing
