#pragma once
/// Climbs to nodes that are asked about again and again, whatever the departure.

#include <cstdint>
#include <unordered_map>
#include <vector>

#include "routing/prepared_metric.hpp"
#include "routing/up_search.hpp"

namespace waybourne::routing {

/// The answers of `UpSearch::run` towards one rank, kept: who asks from many places to the same
/// targets climbs to each of them once. One thread's, of one prepared metric. Keeps at most about
/// 1.5 MB, then begins anew.
class KeptClimbs {
public:
    using Value = TimeAndSpread;

    /// What lies between an ancestor of the rank and the rank.
    struct Step {
        std::uint32_t rank = no_rank;
        Value value = Value::closed();
    };
    /// The rank's ancestors and itself, the highest first.
    using Climb = std::vector<Step>;

    /// @param search of the metric's hierarchy; its last answer is lost
    /// @return stays valid until the next call
    const Climb& to(const PreparedMetric& metric, std::uint32_t rank, UpSearch<Value>& search);

private:
    std::unordered_map<std::uint32_t, Climb> climbs_;
    std::size_t steps_ = 0;
};

/// The least value from where `from` began to where the kept climb leads; `closed` where there is
/// no way. O(height).
TimeAndSpread least_between(const UpSearch<TimeAndSpread>& from, const KeptClimbs::Climb& to);

}  // namespace waybourne::routing
