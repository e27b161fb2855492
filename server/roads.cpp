#include "server/roads.hpp"

#include <algorithm>
#include <atomic>
#include <condition_variable>
#include <list>
#include <tuple>

#include "routing/hierarchy_router.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

struct Roads::State::Shelf {
    WayKind kind;
    std::once_flag is_made;
    /// Whether it may be read without waiting for `is_made`.
    std::atomic<bool> is_ready = false;
    std::shared_ptr<const routing::Metric> metric;
    std::shared_ptr<const routing::PreparedMetric> prepared;  ///< of the hierarchy
    std::vector<std::optional<routing::Snap>> facility_snaps;
    std::once_flag is_swept_made;
    std::atomic<bool> is_swept_ready = false;
    std::shared_ptr<const routing::SweptMetric> swept;
    std::mutex mutex;
    std::vector<std::unique_ptr<routing::Router>> idle;
};

/// The order of passes, which rests on the hierarchy alone: these roads share it with those that
/// are made from them under other changes.
struct Roads::Order {
    std::once_flag is_made;
    std::shared_ptr<const routing::SweepOrder> order;
};

struct Roads::Pool {
    /// Means, surface, light, and the epochs from which and up to which.
    using Key = std::tuple<int, int, int, std::size_t, std::size_t>;

    explicit Pool(std::size_t most) : free(most) {}

    std::mutex mutex;
    std::condition_variable returned;
    std::size_t free;
    std::map<Key, std::shared_ptr<State::Shelf>> shelves;

    /// One that is ready, of the same kind; null if none is. Call it under the lock.
    std::shared_ptr<State::Shelf> ready_one(const Key& like) const {
        for (const auto& [key, shelf] : shelves) {
            const bool is_same = std::get<0>(key) == std::get<0>(like) &&
                                 std::get<1>(key) == std::get<1>(like) &&
                                 std::get<2>(key) == std::get<2>(like);
            if (is_same && shelf->is_ready) {
                return shelf;
            }
        }
        return nullptr;
    }
};

namespace {

void add_boundaries(const routing::Period& period, std::vector<Instant>& boundaries) {
    if (period.from) {
        boundaries.push_back(*period.from);
    }
    if (period.until) {
        boundaries.push_back(*period.until);
    }
}

/// Those in force at some moment from `from` to `to`, as if they always were.
std::vector<routing::RoadChange> changes_between(const std::vector<routing::RoadChange>& changes,
                                                 Instant from, Instant to) {
    std::vector<routing::RoadChange> some;
    for (const routing::RoadChange& change : changes) {
        const auto& [begins, ends] = change.period;
        if ((!begins || *begins <= to) && (!ends || from < *ends)) {
            some.push_back(change);
            some.back().period = {};
        }
    }
    return some;
}

/// All of them; those that are not there at every moment from `from` to `to` never are.
std::vector<routing::TemporaryLink> links_between(const std::vector<routing::TemporaryLink>& links,
                                                  Instant from, Instant to) {
    std::vector<routing::TemporaryLink> all = links;
    for (routing::TemporaryLink& link : all) {
        const bool is_there = link.period.contains(from) && link.period.contains(to);
        link.period = is_there ? routing::Period{} : routing::Period{std::nullopt, Instant::min()};
    }
    return all;
}

}  // namespace

Roads::Roads(const RoadSources& sources, std::size_t most_routers)
    : Roads(sources, std::make_shared<const routing::SnapIndex>(sources.network),
            sources.hierarchy ? nullptr : routing::make_reference_graph(*sources.network),
            std::make_shared<Order>(), most_routers) {}

Roads::Roads(RoadSources sources, std::shared_ptr<const routing::SnapIndex> index,
             std::shared_ptr<const routing::ReferenceGraph> graph, std::shared_ptr<Order> order,
             std::size_t most_routers)
    : sources_(std::move(sources)),
      index_(std::move(index)),
      graph_(std::move(graph)),
      order_(std::move(order)),
      most_routers_(most_routers),
      pool_(std::make_unique<Pool>(most_routers)) {
    for (const routing::RoadChange& change : sources_.changes) {
        add_boundaries(change.period, boundaries_);
        if (change.period.from) {
            turns_.push_back({*change.period.from, change.means});
        }
    }
    for (const routing::TemporaryLink& link : sources_.links) {
        add_boundaries(link.period, boundaries_);
        if (link.period.until) {
            turns_.push_back({*link.period.until, link.means});
        }
    }
    std::sort(boundaries_.begin(), boundaries_.end());
    std::sort(turns_.begin(), turns_.end(),
              [](const Turn& a, const Turn& b) { return a.at < b.at; });
}

Roads::~Roads() = default;

std::shared_ptr<const Roads> Roads::with_changes(std::vector<routing::RoadChange> changes,
                                                 Instant now) const {
    RoadSources sources = sources_;
    sources.changes = std::move(changes);
    // not make_shared: the constructor is private
    std::shared_ptr<Roads> next{
        new Roads(std::move(sources), index_, graph_, order_, most_routers_)};
    std::map<Pool::Key, std::shared_ptr<Shelf>> ready;
    {
        const std::lock_guard lock{pool_->mutex};
        for (const auto& [key, shelf] : pool_->shelves) {
            if (shelf->is_ready) {
                const auto& [means, surface, light, from, to] = key;
                std::shared_ptr<Shelf>& kept = ready[{means, surface, light, 0, 0}];
                kept = kept && from != to ? kept : shelf;
            }
        }
    }
    for (const auto& [key, before] : ready) {
        const auto& [means, surface, light, unused_from, unused_to] = key;
        const Shelf& old = *before;
        auto shelf = std::make_shared<Shelf>();
        std::call_once(shelf->is_made, [&] { next->fill(*shelf, old.kind, now, now, &old); });
        if (old.is_swept_ready) {
            next->swept(*shelf);
        }
        const std::size_t epoch = next->epoch(now);
        next->pool_->shelves[{means, surface, light, epoch, epoch}] = std::move(shelf);
    }
    return next;
}

std::size_t Roads::epoch(Instant at) const {
    return static_cast<std::size_t>(std::upper_bound(boundaries_.begin(), boundaries_.end(), at) -
                                    boundaries_.begin());
}

std::shared_ptr<Roads::State::Shelf> Roads::shelf(const WayKind& kind, Instant from,
                                                  Instant to) const {
    // More than any district needs at once; what is in use lives on in its leases.
    constexpr std::size_t most_shelves = 32;
    const Pool::Key key{static_cast<int>(kind.means), static_cast<int>(kind.conditions.surface),
                        static_cast<int>(kind.conditions.light), epoch(from), epoch(to)};
    std::shared_ptr<Shelf> found;
    std::shared_ptr<Shelf> before;
    {
        const std::lock_guard lock{pool_->mutex};
        if (pool_->shelves.size() >= most_shelves && pool_->shelves.count(key) == 0) {
            pool_->shelves.clear();
        }
        std::shared_ptr<Shelf>& place = pool_->shelves[key];
        if (!place) {
            place = std::make_shared<Shelf>();
        }
        found = place;
        before = found->is_ready ? nullptr : pool_->ready_one(key);
    }
    std::call_once(found->is_made, [&] { fill(*found, kind, from, to, before.get()); });
    return found;
}

void Roads::fill(Shelf& shelf, const WayKind& kind, Instant from, Instant to,
                 const Shelf* before) const {
    shelf.kind = kind;
    shelf.metric = std::make_shared<const routing::Metric>(
        sources_.network, routing::speed_rules(*sources_.speeds, kind.means, kind.conditions),
        changes_between(sources_.changes, from, to), links_between(sources_.links, from, to), from);
    if (sources_.hierarchy) {
        shelf.prepared =
            before != nullptr
                ? std::make_shared<const routing::PreparedMetric>(*before->prepared, shelf.metric)
                : std::make_shared<const routing::PreparedMetric>(shelf.metric, sources_.hierarchy);
    }
    for (const GeoPoint& point : sources_.facility_points) {
        shelf.facility_snaps.push_back(index_->snap(point, *shelf.metric));
    }
    shelf.is_ready = true;
}

std::shared_ptr<const routing::SweptMetric> Roads::swept(Shelf& shelf) const {
    if (!shelf.prepared) {
        return nullptr;
    }
    std::call_once(shelf.is_swept_made, [&] {
        std::call_once(order_->is_made, [&] {
            order_->order =
                std::make_shared<const routing::SweepOrder>(shelf.prepared->hierarchy());
        });
        shelf.swept = std::make_shared<const routing::SweptMetric>(shelf.prepared, order_->order);
        shelf.is_swept_ready = true;
    });
    return shelf.swept;
}

std::optional<Instant> Roads::next_turn(routing::Means means, Instant after) const {
    const auto later = std::upper_bound(turns_.begin(), turns_.end(), after,
                                        [](Instant at, const Turn& turn) { return at < turn.at; });
    const auto next =
        std::find_if(later, turns_.end(), [&](const Turn& turn) { return turn.means.has(means); });
    return next == turns_.end() ? std::nullopt : std::optional(next->at);
}

Roads::State Roads::state(const WayKind& kind, Instant from, Instant to) const {
    return {*this, shelf(kind, from, to)};
}

Roads::Lease Roads::lend(const State& state) const {
    constexpr std::chrono::seconds patience{2};
    {
        std::unique_lock lock{pool_->mutex};
        if (!pool_->returned.wait_for(lock, patience, [this] { return pool_->free > 0; })) {
            throw Unavailable("every search is busy; try again in a moment");
        }
        --pool_->free;
    }
    std::unique_ptr<routing::Router> router;
    {
        Shelf& shelf = *state.shelf_;
        const std::lock_guard lock{shelf.mutex};
        if (!shelf.idle.empty()) {
            router = std::move(shelf.idle.back());
            shelf.idle.pop_back();
        }
    }
    Lease lease{state, std::move(router)};
    if (!lease.router_) {
        if (state.prepared()) {
            lease.router_ = std::make_unique<routing::HierarchyRouter>(state.prepared());
        } else {
            lease.router_ = std::make_unique<routing::ReferenceRouter>(state.metric(), graph_);
        }
    }
    return lease;
}

Roads::Lease::Lease(State state, std::unique_ptr<routing::Router> router)
    : state_(std::move(state)), router_(std::move(router)) {}

Roads::Lease::Lease(Lease&& other) noexcept
    : state_(State{other.state_}), router_(std::move(other.router_)) {
    other.state_.roads_ = nullptr;
}

Roads::Lease::~Lease() {
    const Roads* const roads = state_.roads_;
    if (roads == nullptr) {
        return;
    }
    if (router_) {
        const std::lock_guard lock{state_.shelf_->mutex};
        state_.shelf_->idle.push_back(std::move(router_));
    }
    {
        const std::lock_guard lock{roads->pool_->mutex};
        ++roads->pool_->free;
    }
    roads->pool_->returned.notify_one();
}

Roads::State::State(const Roads& roads, std::shared_ptr<Shelf> shelf)
    : roads_(&roads), shelf_(std::move(shelf)) {}

const std::vector<std::optional<routing::Snap>>& Roads::State::facility_snaps() const {
    return shelf_->facility_snaps;
}

const std::shared_ptr<const routing::Metric>& Roads::State::metric() const {
    return shelf_->metric;
}

const std::shared_ptr<const routing::PreparedMetric>& Roads::State::prepared() const {
    return shelf_->prepared;
}

std::shared_ptr<const routing::SweptMetric> Roads::State::swept() const {
    return roads_->swept(*shelf_);
}

std::optional<routing::Snap> Roads::State::snap(const GeoPoint& point) const {
    return roads_->snap(point, *shelf_->metric);
}

std::optional<routing::Snap> Roads::snap(const GeoPoint& point,
                                         const routing::Metric& metric) const {
    return index_->snap(point, metric);
}

}  // namespace waybourne::server
