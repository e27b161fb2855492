#pragma once
/// A snapshot's roads as they are to be expected from moment to moment.

#include <optional>

#include "routing/careful_router.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// For one means of transport: light and surface by the clock and the season, or as somebody says;
/// closures and slow-downs as they are known. Safe from any thread. `snapshot` and `roads`, which
/// are one of its, must outlive it. Every function but `conditions` and `next_turn` throws
/// Unavailable when every search is busy.
class RoadsAhead final : public routing::ChangingRoads {
public:
    /// @param given in place of what is to be expected, whatever the hour
    /// @param at_least what is to be expected counts as no better than this
    RoadsAhead(const Snapshot& snapshot, const Roads& roads, routing::Means means,
               const std::optional<routing::RoadConditions>& given = {},
               const routing::RoadConditions& at_least = {});

    /// The worst light and surface between the two, both included.
    routing::RoadConditions conditions(Instant from, Instant to) const;
    routing::RoadConditions conditions(Instant at) const { return conditions(at, at); }
    /// The roads under these conditions and all changes that are in force at some moment of it.
    Roads::State state(Instant from, Instant to) const;
    Roads::State state(Instant at) const { return state(at, at); }

    void ask(Instant from, Instant to, const Question& question) const override;
    std::optional<Instant> next_turn(Instant from, Instant to) const override;

private:
    const Snapshot& snapshot_;
    const Roads& roads_;
    routing::Means means_;
    std::optional<routing::RoadConditions> given_;
    routing::RoadConditions at_least_;
};

}  // namespace waybourne::server
