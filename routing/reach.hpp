#pragma once
/// How far one gets within a limit, and from where one gets to a place within it.

#include <memory>
#include <span>
#include <vector>

#include "routing/incoming_arcs.hpp"
#include "routing/metric.hpp"
#include "routing/snap.hpp"

namespace waybourne::routing {

/// By what the limit is judged. Either way the way that is meant is the one with the least typical
/// time.
enum class JudgedBy : std::uint8_t { typical, allow };

struct ReachedNode {
    NodeId node;
    TravelTime travel_time;
    bool operator==(const ReachedNode&) const = default;
};

/// A stretch of road inside the limit, from the piece's `from` on.
struct ReachedStretch {
    PieceId piece;
    std::uint32_t from_cm = 0;
    std::uint32_t to_cm = 0;
    bool operator==(const ReachedStretch&) const = default;
};

/// Nodes in the order of their numbers, stretches in that of their pieces and along them, not
/// touching each other. A stretch ends at the last whole centimetre that is inside. A ferry is
/// inside whole or not at all.
struct Reach {
    std::vector<ReachedNode> nodes;
    std::vector<ReachedStretch> stretches;
    /// A ferry or a road with a timetable begins or ends inside: the moment one sets out matters.
    bool has_timetables = false;
    bool operator==(const Reach&) const = default;
};

/// Bounded Dijkstra searches over labels, and the exact cut on every road at their edge. A search
/// workspace over an immutable metric: one per thread, 28 bytes per node and 8 per arc; a question
/// costs O(reached × log).
class ReachSearch {
public:
    explicit ReachSearch(std::shared_ptr<const Metric> metric);
    ~ReachSearch();

    /// What is reached from the nearest of `starts`, setting out at `at`, waiting for ferries
    /// included.
    /// @throws InputError if a snap is not of this network
    Reach from(std::span<const Snap> starts, Instant at, Seconds limit,
               JudgedBy judged_by = JudgedBy::typical);

    /// From where one of `targets` is reached within the limit by who sets out at `at`, waiting
    /// included, judged by the typical time. A node's typical time is how long before the end of
    /// the limit one must leave it at the latest; its allowed time adds the spread of the roads on
    /// that way, as if no sailing were missed.
    /// @throws InputError if a snap is not of this network
    Reach to(std::span<const Snap> targets, Instant at, Seconds limit);

    /// The same whenever one sets out, without waiting: a ferry or a road with a timetable counts
    /// its way alone, so where `has_timetables` is set, this is more than who gets there in time.
    /// Close such pieces (`Metric::without`) to see who gets there without. What an allowed arrival
    /// catches depends on the whole way before it, so by the allowed time there is no exact answer
    /// that a search back from the target could give.
    /// @throws InputError if a snap is not of this network
    Reach to(std::span<const Snap> targets, Seconds limit, JudgedBy judged_by = JudgedBy::typical);

private:
    class Search;
    std::unique_ptr<Search> search_;
};

/// One line per stretch, for a map.
std::vector<std::vector<GeoPoint>> lines_of(const RoadNetwork& network, const Reach& reach);

}  // namespace waybourne::routing
