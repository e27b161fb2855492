#include "routing/internal/lane_climb.hpp"

#include <algorithm>
#include <cassert>

#include "routing/internal/wide.hpp"

namespace waybourne::routing {

/// The inner loops, made once for every kind of processor.
struct LaneSteps {
    using Row = LaneClimb::Row;
    using Climber = LaneClimb::Climber;
    static constexpr std::size_t lanes = LaneClimb::lanes;
    static constexpr std::uint64_t spread_bits = 0xffffffffU;

    /// A row to add to, with what the spread of each lane can still take up.
    struct Here {
        Row value;
        Row room;
    };

    /// The row at this depth as far as it is the climber's: other lanes are elsewhere.
    [[gnu::always_inline]] static inline Here here(const Row& row, std::uint32_t its_lanes) {
        Here here;
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            here.value[lane] = (its_lanes >> lane & 1) != 0
                                   ? row[lane]
                                   : LaneClimb::shifted(TimeAndSpread::closed());
            here.room[lane] = ~here.value[lane] & std::int64_t{spread_bits};
        }
        return here;
    }

    /// `lesser(row, sum(here, value))` in every lane; a spread stays at its greatest.
    [[gnu::always_inline]] static inline void lower(Row& row, const Here& here,
                                                    TimeAndSpread value) {
        const auto time = static_cast<std::int64_t>(value.packed & ~spread_bits);
        const auto spread = static_cast<std::int64_t>(value.packed & spread_bits);
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            const std::int64_t sum = here.value[lane] + time + std::min(spread, here.room[lane]);
            row[lane] = std::min(row[lane], sum);
        }
    }

    /// Looks at the places kept where the climber is, and passes its values to all above.
    [[gnu::always_inline]] static inline void pass(LaneClimb& climb, const Climber& climber,
                                                   std::uint32_t depth) {
        const HierarchyArrays& h = *climb.h_;
        const Here from = here(climb.by_depth_[depth], climber.lanes);
        for (const auto& entry : climb.buckets_->at(climber.rank)) {
            lower(climb.found_[entry.place], from, entry.value);
        }
        const std::uint32_t end = h.up_first[climber.rank + 1];
        for (std::uint32_t a = h.up_first[climber.rank]; a < end; ++a) {
            lower(climb.by_depth_[h.depth[h.up_head[a]]], from, climb.weights_[a].up);
        }
    }
};

LaneClimb::LaneClimb(const PreparedMetric& metric, const Buckets<TimeAndSpread>& buckets,
                     std::size_t places)
    : h_(&metric.hierarchy().arrays()),
      weights_(metric.weights()),
      buckets_(&buckets),
      by_depth_(h_->height),
      found_(places) {}

void LaneClimb::run(std::span<const TableStart> starts) {
    assert(starts.size() <= lanes);
    const auto pass = Wide<&LaneSteps::pass>::best();
    for (std::uint32_t depth = begin(starts);; --depth) {
        join(starts, depth);
        for (const Climber& climber : climbers_) {
            pass(*this, climber, depth);
        }
        if (depth == 0) {
            return;
        }
        step_up();
    }
}

std::uint32_t LaneClimb::begin(std::span<const TableStart> starts) {
    climbers_.clear();
    Row closed;
    closed.fill(shifted(TimeAndSpread::closed()));
    std::fill(by_depth_.begin(), by_depth_.end(), closed);
    std::fill(found_.begin(), found_.end(), closed);
    std::uint32_t deepest = 0;
    for (std::size_t lane = 0; lane < starts.size(); ++lane) {
        deepest = std::max(deepest, h_->depth[starts[lane].chain.front().rank]);
        for (const UpStart<TimeAndSpread>& start : starts[lane].chain) {
            std::int64_t& value = by_depth_[h_->depth[start.rank]][lane];
            value = std::min(value, shifted(start.value));
        }
    }
    return deepest;
}

void LaneClimb::join(std::span<const TableStart> starts, std::uint32_t depth) {
    for (std::size_t lane = 0; lane < starts.size(); ++lane) {
        const std::uint32_t rank = starts[lane].chain.front().rank;
        if (h_->depth[rank] == depth) {
            join({rank, std::uint32_t{1} << lane});
        }
    }
}

void LaneClimb::join(Climber climber) {
    for (Climber& other : climbers_) {
        if (other.rank == climber.rank) {
            other.lanes |= climber.lanes;
            return;
        }
    }
    climbers_.push_back(climber);
}

void LaneClimb::step_up() {
    below_.swap(climbers_);
    climbers_.clear();
    for (const Climber& climber : below_) {
        join({h_->parent[climber.rank], climber.lanes});
    }
}

std::vector<TimeAndSpread> least_from(const PreparedMetric& metric,
                                      const Buckets<TimeAndSpread>& buckets, std::size_t rows,
                                      std::size_t places, std::vector<TableStart> starts) {
    std::sort(starts.begin(), starts.end(), [](const TableStart& a, const TableStart& b) {
        return a.chain.front().rank < b.chain.front().rank;
    });
    std::vector<TimeAndSpread> least(rows * places);
    LaneClimb climb{metric, buckets, places};
    for (std::size_t first = 0; first < starts.size(); first += LaneClimb::lanes) {
        const auto together = std::span<const TableStart>{starts}.subspan(
            first, std::min(LaneClimb::lanes, starts.size() - first));
        climb.run(together);
        for (std::size_t lane = 0; lane < together.size(); ++lane) {
            TimeAndSpread* const row = least.data() + together[lane].row * places;
            for (std::size_t place = 0; place < places; ++place) {
                row[place] = lesser(row[place], climb.least(lane, place));
            }
        }
    }
    return least;
}

}  // namespace waybourne::routing
