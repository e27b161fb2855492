#include "routing/internal/kept_climbs.hpp"

#include <algorithm>

namespace waybourne::routing {

namespace {

constexpr std::size_t most_steps = 96 * std::size_t{1024};

}  // namespace

const KeptClimbs::Climb& KeptClimbs::to(const PreparedMetric& metric, std::uint32_t rank,
                                        UpSearch<Value>& search) {
    const auto known = climbs_.find(rank);
    if (known != climbs_.end()) {
        return known->second;
    }
    search.run(metric.hierarchy(), metric.weights(), rank, Value::none(),
               UpSearch<Value>::Direction::to_here);
    const auto chain = search.chain();
    if (steps_ + chain.size() > most_steps) {
        climbs_.clear();
        steps_ = 0;
    }
    Climb climb;
    climb.reserve(chain.size());
    for (std::uint32_t depth = 0; depth < chain.size(); ++depth) {
        climb.push_back({chain[chain.size() - 1 - depth], search.at_depth(depth)});
    }
    steps_ += climb.size();
    return climbs_.emplace(rank, std::move(climb)).first->second;
}

TimeAndSpread least_between(const UpSearch<TimeAndSpread>& from, const KeptClimbs::Climb& to) {
    // the common ancestors are the common ends of the two chains
    TimeAndSpread least = TimeAndSpread::closed();
    const auto chain = from.chain();
    const std::size_t most = std::min(chain.size(), to.size());
    for (std::uint32_t depth = 0; depth < most; ++depth) {
        const KeptClimbs::Step& step = to[depth];
        if (chain[chain.size() - 1 - depth] != step.rank) {
            break;
        }
        const TimeAndSpread value = sum(from.at_depth(depth), step.value);
        least = value < least ? value : least;
    }
    return least;
}

}  // namespace waybourne::routing
