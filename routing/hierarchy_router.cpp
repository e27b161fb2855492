#include "routing/hierarchy_router.hpp"

#include <algorithm>

#include "routing/internal/hierarchy_search.hpp"
#include "routing/internal/soonest_ready.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

Seconds whole_seconds(std::uint32_t ds) {
    return to_travel_time(ds, ds).typical;
}

std::vector<bool> flags_of(const RoadNetwork& network, std::span<const PieceId> pieces) {
    std::vector<bool> flags(network.piece_count());
    for (const PieceId piece : pieces) {
        if (piece.value >= flags.size()) {
            throw InputError("a road to be avoided is not of this network");
        }
        each_version(network, piece, [&](PieceId version) { flags[version.value] = true; });
    }
    return flags;
}

struct Reached {
    std::size_t target = 0;
    TravelTime travel_time;
    /// By typical time in whole seconds, then by number.
    bool operator<(const Reached& other) const {
        return travel_time.typical != other.travel_time.typical
                   ? travel_time.typical < other.travel_time.typical
                   : target < other.target;
    }
};

/// Those of the bounded places that are reached, nearest first.
std::vector<Reached> reached_within(std::uint32_t limit_ds, const PlaceIndex& places,
                                    std::span<const HierarchySearch::Bound> bounds,
                                    HierarchySearch& search) {
    std::vector<Reached> reached;
    for (const auto& bound : bounds) {
        const Label label = search.may_wait()
                                ? search.find(places.places()[bound.place], false).label
                                : to_label(bound.value);
        if (label.is_reached() && label.typical_ds <= limit_ds) {
            reached.push_back({bound.place, label.travel_time()});
        }
    }
    std::sort(reached.begin(), reached.end());
    return reached;
}

}  // namespace

HierarchyRouter::HierarchyRouter(std::shared_ptr<const PreparedMetric> metric)
    : metric_(std::move(metric)), search_(std::make_unique<HierarchySearch>(*metric_)) {}

HierarchyRouter::~HierarchyRouter() = default;

void HierarchyRouter::check(const PlaceIndex& places) const {
    if (places.metric_ != metric_) {
        throw InputError("the places were kept for another metric than this router's");
    }
}

std::vector<std::optional<TravelTime>> HierarchyRouter::travel_times(const Departure& departure,
                                                                     std::span<const Snap> targets,
                                                                     Seconds limit) {
    search_->start(departure);
    const std::uint32_t limit_ds = limit_in_ds(limit);
    std::vector<std::optional<TravelTime>> times;
    times.reserve(targets.size());
    for (const Snap& target : targets) {
        const Label label = search_->find(target, false).label;
        times.push_back(label.is_reached() && label.typical_ds <= limit_ds
                            ? std::optional(label.travel_time())
                            : std::nullopt);
    }
    return times;
}

std::vector<std::optional<TravelTime>> HierarchyRouter::travel_times(
    std::span<const Departure> departures, const PlaceIndex& places, Seconds limit) {
    check(places);
    const std::uint32_t limit_ds = limit_in_ds(limit);
    const std::size_t columns = places.places().size();
    const auto bounds = search_->all_bounds(departures, places);
    std::vector<std::optional<TravelTime>> times(bounds.size());
    for (std::size_t row = 0; row < departures.size(); ++row) {
        search_->start(departures[row]);
        for (std::size_t place = 0; place < columns; ++place) {
            const TimeAndSpread bound = bounds[row * columns + place];
            if (!bound.is_open() || bound.typical_ds() > limit_ds) {
                continue;
            }
            const Label label = search_->may_wait()
                                    ? search_->find(places.places()[place], false).label
                                    : to_label(bound);
            if (label.is_reached() && label.typical_ds <= limit_ds) {
                times[row * columns + place] = label.travel_time();
            }
        }
    }
    return times;
}

std::optional<Route> HierarchyRouter::route(const Departure& departure, const Snap& target) {
    search_->start(departure);
    const HierarchySearch::Found found = search_->find(target, true);
    if (!found.label.is_reached()) {
        return std::nullopt;
    }
    return to_route(metric_->metric(), departure, target, found.way);
}

std::optional<Route> HierarchyRouter::route_around(const Departure& departure, const Snap& target,
                                                   std::span<const PieceId> avoided) {
    search_->start(departure);
    const auto found = search_->find_around(target, flags_of(metric_->metric().network(), avoided));
    if (!found.label.is_reached()) {
        return std::nullopt;
    }
    return to_route(metric_->metric(), departure, target, found.way);
}

std::vector<Nearest> HierarchyRouter::nearest(const Departure& departure,
                                              std::span<const Snap> targets, std::size_t count,
                                              Seconds limit, const ReadyAfter& ready_after) {
    std::vector<Reached> reached;
    const auto times = travel_times(departure, targets, limit);
    for (std::size_t target = 0; target < times.size(); ++target) {
        if (times[target]) {
            reached.push_back({target, *times[target]});
        }
    }
    std::sort(reached.begin(), reached.end());
    SoonestReady soonest{count, ready_after};
    for (const Reached& one : reached) {
        if (soonest.is_settled(one.travel_time.typical)) {
            break;
        }
        soonest.offer(one.target, one.travel_time);
    }
    return soonest.take();
}

std::vector<Nearest> HierarchyRouter::nearest(const Departure& departure, const PlaceIndex& places,
                                              std::size_t count, Seconds limit,
                                              const ReadyAfter& ready_after, const Offers& offers) {
    check(places);
    search_->start(departure);
    if (count == 0) {
        return {};
    }
    const std::uint32_t limit_ds = limit_in_ds(limit);
    SoonestReady soonest{count, ready_after};
    // more and more of the nearest, until no other can be ready as soon
    Seconds offered_before{0};
    for (std::size_t wanted = count + 1;; wanted *= 2) {
        const auto& bounds = search_->bounds(places, wanted, offers);
        const bool is_all = !bounds.others.is_open() || bounds.others.typical_ds() > limit_ds;
        const Seconds horizon = is_all ? Seconds::max() : whole_seconds(bounds.others.typical_ds());
        for (const Reached& one : reached_within(limit_ds, places, bounds.places, *search_)) {
            const Seconds there = one.travel_time.typical;
            if (there >= horizon || soonest.is_settled(there)) {
                break;
            }
            if (there >= offered_before) {
                soonest.offer(one.target, one.travel_time);
            }
        }
        if (is_all || soonest.is_settled(horizon)) {
            return soonest.take();
        }
        offered_before = horizon;
    }
}

}  // namespace waybourne::routing
