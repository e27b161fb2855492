#include "server/roads.hpp"

#include <algorithm>
#include <condition_variable>
#include <list>
#include <tuple>

#include "vocabulary/error.hpp"

namespace waybourne::server {

struct Roads::Lease::Shelf {
    std::once_flag is_made;
    std::shared_ptr<const routing::Metric> metric;
    std::vector<std::optional<routing::Snap>> facility_snaps;
    std::mutex mutex;
    std::vector<std::unique_ptr<routing::Router>> idle;
};

struct Roads::Pool {
    using Key = std::tuple<int, int, int, std::size_t>;  ///< means, surface, light, epoch

    explicit Pool(std::size_t most) : free(most) {}

    std::mutex mutex;
    std::condition_variable returned;
    std::size_t free;
    std::map<Key, std::shared_ptr<Lease::Shelf>> shelves;
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

}  // namespace

Roads::Roads(RoadSources sources, std::size_t most_routers)
    : sources_(std::move(sources)),
      index_(sources_.network),
      graph_(routing::make_reference_graph(*sources_.network)),
      pool_(std::make_unique<Pool>(most_routers)) {
    for (const routing::RoadChange& change : sources_.changes) {
        add_boundaries(change.period, boundaries_);
    }
    for (const routing::TemporaryLink& link : sources_.links) {
        add_boundaries(link.period, boundaries_);
    }
    std::sort(boundaries_.begin(), boundaries_.end());
}

Roads::~Roads() = default;

std::size_t Roads::epoch(Instant at) const {
    return static_cast<std::size_t>(std::upper_bound(boundaries_.begin(), boundaries_.end(), at) -
                                    boundaries_.begin());
}

std::shared_ptr<Roads::Lease::Shelf> Roads::shelf(const WayKind& kind, Instant at) const {
    // More than any district needs at once; what is in use lives on in its leases.
    constexpr std::size_t most_shelves = 32;
    const Pool::Key key{static_cast<int>(kind.means), static_cast<int>(kind.conditions.surface),
                        static_cast<int>(kind.conditions.light), epoch(at)};
    std::shared_ptr<Lease::Shelf> found;
    {
        const std::lock_guard lock{pool_->mutex};
        if (pool_->shelves.size() >= most_shelves && pool_->shelves.count(key) == 0) {
            pool_->shelves.clear();
        }
        std::shared_ptr<Lease::Shelf>& place = pool_->shelves[key];
        if (!place) {
            place = std::make_shared<Lease::Shelf>();
        }
        found = place;
    }
    std::call_once(found->is_made, [&] {
        found->metric = std::make_shared<const routing::Metric>(
            sources_.network, routing::speed_rules(*sources_.speeds, kind.means, kind.conditions),
            sources_.changes, sources_.links, at);
        for (const GeoPoint& point : sources_.facility_points) {
            found->facility_snaps.push_back(index_.snap(point, *found->metric));
        }
    });
    return found;
}

Roads::Lease Roads::lend(const WayKind& kind, Instant at) const {
    constexpr std::chrono::seconds patience{2};
    auto place = shelf(kind, at);
    {
        std::unique_lock lock{pool_->mutex};
        if (!pool_->returned.wait_for(lock, patience, [this] { return pool_->free > 0; })) {
            throw Unavailable("every search is busy; try again in a moment");
        }
        --pool_->free;
    }
    std::unique_ptr<routing::Router> router;
    {
        const std::lock_guard lock{place->mutex};
        if (!place->idle.empty()) {
            router = std::move(place->idle.back());
            place->idle.pop_back();
        }
    }
    Lease lease{*this, std::move(place), std::move(router)};
    if (!lease.router_) {
        lease.router_ = std::make_unique<routing::ReferenceRouter>(lease.shelf_->metric, graph_);
    }
    return lease;
}

Roads::Lease::Lease(const Roads& roads, std::shared_ptr<Shelf> shelf,
                    std::unique_ptr<routing::Router> router)
    : roads_(&roads), shelf_(std::move(shelf)), router_(std::move(router)) {}

Roads::Lease::Lease(Lease&& other) noexcept
    : roads_(std::exchange(other.roads_, nullptr)),
      shelf_(std::move(other.shelf_)),
      router_(std::move(other.router_)) {}

Roads::Lease::~Lease() {
    if (roads_ == nullptr) {
        return;
    }
    if (router_) {
        const std::lock_guard lock{shelf_->mutex};
        shelf_->idle.push_back(std::move(router_));
    }
    {
        const std::lock_guard lock{roads_->pool_->mutex};
        ++roads_->pool_->free;
    }
    roads_->pool_->returned.notify_one();
}

const std::vector<std::optional<routing::Snap>>& Roads::Lease::facility_snaps() const {
    return shelf_->facility_snaps;
}

std::optional<routing::Snap> Roads::Lease::snap(const GeoPoint& point) const {
    return roads_->index_.snap(point, *shelf_->metric);
}

}  // namespace waybourne::server
