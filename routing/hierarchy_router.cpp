#include "routing/hierarchy_router.hpp"

#include <algorithm>
#include <map>
#include <set>

#include "routing/buckets.hpp"
#include "routing/internal/goal_search.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

TimeAndSpread to_value(const Label& label) {
    constexpr std::uint64_t most = 0xffffffffU;
    return TimeAndSpread::of(label.typical_ds,
                             static_cast<std::uint32_t>(std::min(label.variance_ds2, most)));
}

Label to_label(TimeAndSpread value) {
    return value.is_open() ? Label{value.typical_ds(), 0, value.variance_ds2(), 0} : Label{};
}

std::uint32_t limit_in_ds(Seconds limit) {
    return static_cast<std::uint32_t>(
        std::clamp<std::int64_t>(limit.count(), 0, (closed_ds - 1) / 10) * 10);
}

/// What the way from the gate's node to the target adds.
TimeAndSpread gate_value(const Metric& metric, const Gate& gate, const Snap& target) {
    Label label = Label::start();
    if (gate.last) {
        label =
            extended(label, metric.weight(gate.last->arc, gate.last->from_cm, gate.last->to_cm));
    }
    label = extended(label, metric.off_road(target.accesses[gate.access].off_road));
    return label.is_reached() ? to_value(label) : TimeAndSpread::closed();
}

}  // namespace

struct PlaceIndex::Kept {
    Buckets<TimeAndSpread> buckets;
    /// By piece: a way that never leaves the piece passes no bucket.
    std::multimap<PieceId, std::uint32_t> places_on;
};

PlaceIndex::PlaceIndex(std::shared_ptr<const PreparedMetric> metric, std::vector<Snap> places)
    : metric_(std::move(metric)),
      places_(std::move(places)),
      kept_(std::make_unique<Kept>(Kept{Buckets<TimeAndSpread>(metric_->hierarchy()), {}})) {
    const auto rank = metric_->hierarchy().arrays().rank_of_node;
    for (std::uint32_t place = 0; place < places_.size(); ++place) {
        for (const Access& access : places_[place].accesses) {
            kept_->places_on.emplace(access.piece, place);
        }
        for (const Gate& gate : gates(metric_->metric(), places_[place])) {
            kept_->buckets.add(metric_->hierarchy(), metric_->weights(), rank[gate.node.value],
                               place, gate_value(metric_->metric(), gate, places_[place]));
        }
    }
}

PlaceIndex::~PlaceIndex() = default;

/// One departure's climbs, and what they find.
class HierarchyRouter::Search {
public:
    explicit Search(const PreparedMetric& metric) : metric_(metric), to_(metric.hierarchy()) {}

    /// @throws InputError if the snap is not of this network
    void check(const Snap& snap) const {
        const RoadNetwork& network = metric_.metric().network();
        for (const Access& access : snap.accesses) {
            if (access.piece.value >= network.piece_count() ||
                access.along_cm > network.piece(access.piece).length_cm) {
                throw InputError("a place was snapped to another network than this one");
            }
        }
    }

    void start(const Departure& departure) {
        check(departure.from);
        departure_ = &departure;
        entries_ = entries(metric_.metric(), departure);
        while (from_.size() < entries_.size()) {
            from_.emplace_back(metric_.hierarchy());
        }
        for (std::size_t i = 0; i < entries_.size(); ++i) {
            from_[i].run(metric_.hierarchy(), metric_.weights(), rank(entries_[i].node),
                         to_value(entries_[i].label), Climb::Direction::from_here);
        }
    }

    struct Found {
        Label label;
        /// Filled only when asked for.
        Way way;
    };

    /// The best way to one target from the last start; not reached where there is none.
    Found find(const Snap& target, bool with_way) {
        check(target);
        const Metric& metric = metric_.metric();
        const std::vector<Gate> to = gates(metric, target);
        Best best;
        for (std::size_t g = 0; g < to.size(); ++g) {
            to_.run(metric_.hierarchy(), metric_.weights(), rank(to[g].node),
                    gate_value(metric, to[g], target), Climb::Direction::to_here);
            for (std::size_t e = 0; e < entries_.size(); ++e) {
                const auto meeting = meet(from_[e], to_);
                if (meeting.value < best.meeting.value) {
                    best = {meeting, e, g};
                }
            }
        }
        const auto short_way = direct(metric, *departure_, target);
        if (short_way && to_value(short_way->label) <= best.meeting.value) {
            Found found{short_way->label, {}};
            found.way.start = departure_->from.accesses[short_way->start_access];
            found.way.end = target.accesses[short_way->target_access];
            if (short_way->part) {
                found.way.parts.push_back(*short_way->part);
            }
            return found;
        }
        if (!best.meeting.value.is_open()) {
            return {};
        }
        const bool may_wait = metric_.has_waits();
        if (!with_way && !may_wait) {
            return {to_label(best.meeting.value), {}};
        }
        to_.run(metric_.hierarchy(), metric_.weights(), rank(to[best.gate].node),
                gate_value(metric, to[best.gate], target), Climb::Direction::to_here);
        const std::vector<std::uint32_t> arcs =
            unpack(metric_.hierarchy(), metric_.values(), metric_.weights(), from_[best.entry], to_,
                   best.meeting);
        if (may_wait && std::any_of(arcs.begin(), arcs.end(),
                                    [&](std::uint32_t arc) { return metric_.waits(ArcId{arc}); })) {
            return exactly(target);
        }
        return {to_label(best.meeting.value),
                with_way ? way(entries_[best.entry], arcs, to[best.gate], target) : Way{}};
    }

    const std::vector<Entry>& starts() const { return entries_; }
    std::uint32_t rank(NodeId node) const {
        return metric_.hierarchy().arrays().rank_of_node[node.value];
    }

private:
    using Climb = UpSearch<TimeAndSpread>;
    struct Best {
        Meeting<TimeAndSpread> meeting;
        std::size_t entry = 0;
        std::size_t gate = 0;
    };

    /// With the clock: never quicker than what was found without it.
    Found exactly(const Snap& target) {
        if (!goal_search_) {
            goal_search_ = std::make_unique<GoalSearch>(metric_);
        }
        auto result = goal_search_->run(*departure_, target);
        return result ? Found{result->label, std::move(result->way)} : Found{};
    }

    Way way(const Entry& entry, const std::vector<std::uint32_t>& arcs, const Gate& gate,
            const Snap& target) const {
        Way way{departure_->from.accesses[entry.access], {}, target.accesses[gate.access]};
        if (entry.first) {
            way.parts.push_back(*entry.first);
        }
        for (const std::uint32_t arc : arcs) {
            way.parts.push_back(
                {ArcId{arc}, 0, metric_.metric().network().piece(ArcId{arc}).length_cm});
        }
        if (gate.last) {
            way.parts.push_back(*gate.last);
        }
        return way;
    }

    const PreparedMetric& metric_;
    const Departure* departure_ = nullptr;
    std::vector<Entry> entries_;
    std::vector<Climb> from_;
    Climb to_;
    std::unique_ptr<GoalSearch> goal_search_;
};

HierarchyRouter::HierarchyRouter(std::shared_ptr<const PreparedMetric> metric)
    : metric_(std::move(metric)), search_(std::make_unique<Search>(*metric_)) {}

HierarchyRouter::~HierarchyRouter() = default;

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

std::optional<Route> HierarchyRouter::route(const Departure& departure, const Snap& target) {
    search_->start(departure);
    const Search::Found found = search_->find(target, true);
    if (!found.label.is_reached()) {
        return std::nullopt;
    }
    return to_route(metric_->metric(), departure, target, found.way);
}

namespace {

/// By typical time in whole seconds, then by number.
bool is_nearer(const Nearest& a, const Nearest& b) {
    return a.travel_time.typical != b.travel_time.typical
               ? a.travel_time.typical < b.travel_time.typical
               : a.target < b.target;
}

}  // namespace

std::vector<Nearest> HierarchyRouter::nearest(const Departure& departure,
                                              std::span<const Snap> targets, std::size_t count,
                                              Seconds limit,
                                              const std::function<bool(std::size_t)>& accept) {
    std::vector<Nearest> all;
    const auto times = travel_times(departure, targets, limit);
    for (std::size_t target = 0; target < times.size(); ++target) {
        if (times[target]) {
            all.push_back({target, *times[target]});
        }
    }
    std::sort(all.begin(), all.end(), is_nearer);
    std::vector<Nearest> found;
    for (const Nearest& one : all) {
        if (found.size() == count) {
            break;
        }
        if (accept(one.target)) {
            found.push_back(one);
        }
    }
    return found;
}

std::vector<Nearest> HierarchyRouter::nearest(const Departure& departure, const PlaceIndex& places,
                                              std::size_t count, Seconds limit,
                                              const std::function<bool(std::size_t)>& accept) {
    if (places.metric_ != metric_) {
        throw InputError("the places were kept for another metric than this router's");
    }
    search_->start(departure);
    const std::uint32_t limit_ds = limit_in_ds(limit);
    std::vector<Nearest> found;
    if (count == 0) {
        return found;
    }
    // lower bounds in rising order, more of them until nothing farther can be among the nearest
    UpSearch<TimeAndSpread> climb{metric_->hierarchy()};
    for (std::size_t wanted = count + 1;; wanted *= 2) {
        std::vector<Buckets<TimeAndSpread>::Found> bounds;
        for (const Entry& entry : search_->starts()) {
            find_nearest(
                metric_->hierarchy(), metric_->weights(), places.kept_->buckets, climb,
                search_->rank(entry.node), to_value(entry.label), wanted,
                [&](std::uint32_t place) { return accept(place); }, bounds);
        }
        std::set<std::uint32_t> candidates;
        for (const auto& bound : bounds) {
            candidates.insert(bound.place);
        }
        for (const Access& access : departure.from.accesses) {
            const auto [begin, end] = places.kept_->places_on.equal_range(access.piece);
            for (auto beside = begin; beside != end; ++beside) {
                if (accept(beside->second)) {
                    candidates.insert(beside->second);
                }
            }
        }
        found.clear();
        for (const std::uint32_t place : candidates) {
            const Label label = search_->find(places.places()[place], false).label;
            if (label.is_reached() && label.typical_ds <= limit_ds) {
                found.push_back({place, label.travel_time()});
            }
        }
        std::sort(found.begin(), found.end(), is_nearer);
        const bool is_all = bounds.size() < wanted;
        const bool is_enough =
            !is_all && found.size() >= count &&
            to_travel_time(bounds.back().value.typical_ds(), bounds.back().value.typical_ds())
                    .typical > found[count - 1].travel_time.typical;
        const bool is_too_far = !is_all && bounds.back().value.typical_ds() > limit_ds;
        if (is_all || is_enough || is_too_far) {
            found.resize(std::min(count, found.size()));
            return found;
        }
    }
}

}  // namespace waybourne::routing
