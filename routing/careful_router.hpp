#pragma once
/// Ways on roads that turn worse while somebody is under way: it gets dark, the rains begin, a road
/// is closed from some moment on.

#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "routing/metric.hpp"
#include "routing/router.hpp"
#include "routing/snap.hpp"

namespace waybourne::routing {

/// How roads stand from moment to moment. A turn is a moment from which some road is slower than
/// before, or closed.
class ChangingRoads {
public:
    /// The roads over a stretch of time, each as it is at its worst moment.
    struct Then {
        Router& router;
        /// What the router searches.
        const Metric& metric;
        const SnapIndex& index;
    };
    using Question = std::function<void(const Then&)>;

    virtual ~ChangingRoads() = default;

    /// Asks a question of the roads at their worst between `from` and `to`, both included. Of two
    /// stretches from the same moment on no road is quicker in the longer one.
    virtual void ask(Instant from, Instant to, const Question& question) const = 0;

    /// The first moment after `to` at which a road turns worse than it is at its worst between
    /// `from` and `to`; none where none is known of.
    virtual std::optional<Instant> next_turn(Instant from, Instant to) const = 0;
};

/// Judges each trip by the roads as they are at its departure, unless it would arrive, by `allow`,
/// after the next turn: then by the roads at their worst from the departure to that turn, and so
/// on. So a trip that ends before dusk is judged by day, one that dusk falls on by night for the
/// whole way, and none is told to be quicker for setting out just before it. A turn for the better
/// (dawn, a road that opens) counts for those who leave after it. Every question is judged alike:
/// the times to many places, the way to one, the nearest.
///
/// Why by the whole way and not by the part after the turn: docs/decisions/0011.
///
/// One search where nothing turns before the arrival; one more for each turn before it, for the
/// targets that it concerns alone. A place whose road is closed then gets onto the next one.
class CarefulRouter final : public Router {
public:
    /// @param roads must outlive it
    explicit CarefulRouter(const ChangingRoads& roads) : roads_(roads) {}

    std::vector<std::optional<TravelTime>> travel_times(const Departure& departure,
                                                        std::span<const Snap> targets,
                                                        Seconds limit) override;
    std::optional<Route> route(const Departure& departure, const Snap& target) override {
        return judge(departure, target).route;
    }
    /// A way, and by which roads it is judged: those at their worst from the departure to `until`.
    struct Judged {
        std::optional<Route> route;
        Instant until{};
    };
    Judged judge(const Departure& departure, const Snap& target) const;
    std::optional<Route> route_around(const Departure& departure, const Snap& target,
                                      std::span<const PieceId> avoided) override;
    std::vector<Nearest> nearest(const Departure& departure, std::span<const Snap> targets,
                                 std::size_t count, Seconds limit,
                                 const ReadyAfter& ready_after) override;

private:
    using RouteQuestion =
        std::function<std::optional<Route>(Router&, const Departure&, const Snap&)>;
    Judged judge(const Departure& departure, const Snap& target,
                 const RouteQuestion& question) const;

    const ChangingRoads& roads_;
};

}  // namespace waybourne::routing
