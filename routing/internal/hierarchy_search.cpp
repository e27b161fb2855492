#include "routing/internal/hierarchy_search.hpp"

#include <algorithm>
#include <utility>

namespace waybourne::routing {

HierarchySearch::HierarchySearch(const PreparedMetric& metric)
    : metric_(&metric), to_(metric.hierarchy()) {}

void HierarchySearch::start(const Departure& departure) {
    check_snap(metric_->metric().network(), departure.from);
    departure_ = &departure;
    entries_ = entries(metric_->metric(), departure);
    has_climbed_ = false;
}

void HierarchySearch::climb() {
    if (std::exchange(has_climbed_, true)) {
        return;
    }
    while (from_.size() < entries_.size()) {
        from_.emplace_back(metric_->hierarchy());
    }
    for (std::size_t i = 0; i < entries_.size(); ++i) {
        from_[i].run(metric_->hierarchy(), metric_->weights(), rank(entries_[i].node),
                     to_value(entries_[i].label), Climb::Direction::from_here);
    }
}

HierarchySearch::Found HierarchySearch::find(const Snap& target, bool with_way) {
    const Metric& metric = metric_->metric();
    check_snap(metric.network(), target);
    climb();
    if (!with_way && !may_wait()) {
        return {time_to(target), {}};
    }
    const std::vector<Gate> to = gates(metric, target);
    Meeting<TimeAndSpread> best;
    std::size_t best_entry = 0;
    std::size_t best_gate = 0;
    for (std::size_t g = 0; g < to.size(); ++g) {
        to_.run(metric_->hierarchy(), metric_->weights(), rank(to[g].node),
                gate_value(metric, to[g], target), Climb::Direction::to_here);
        for (std::size_t e = 0; e < entries_.size(); ++e) {
            const auto meeting = meet(from_[e], to_);
            if (meeting.value < best.value) {
                best = meeting;
                best_entry = e;
                best_gate = g;
            }
        }
    }
    const auto waits = [&](const std::optional<ArcPart>& part) {
        return part && metric.waits(part->arc);
    };
    const auto short_way = direct(metric, *departure_, target);
    if (short_way && waits(short_way->part)) {
        return exactly(target);
    }
    if (short_way && to_value(short_way->label) <= best.value) {
        return {short_way->label, to_way(*short_way, *departure_, target)};
    }
    if (!best.value.is_open()) {
        return {};
    }
    to_.run(metric_->hierarchy(), metric_->weights(), rank(to[best_gate].node),
            gate_value(metric, to[best_gate], target), Climb::Direction::to_here);
    unpacker_.run(metric_->weighted(), from_[best_entry], to_, best, arcs_);
    const bool is_by_the_clock =
        waits(entries_[best_entry].first) || waits(to[best_gate].last) ||
        (may_wait() && std::any_of(arcs_.begin(), arcs_.end(),
                                   [&](std::uint32_t arc) { return metric.waits(ArcId{arc}); }));
    if (is_by_the_clock) {
        return exactly(target);
    }
    return {to_label(best.value),
            with_way ? way(entries_[best_entry], arcs_, to[best_gate], target) : Way{}};
}

Label HierarchySearch::time_to(const Snap& target) {
    const Metric& metric = metric_->metric();
    TimeAndSpread best = TimeAndSpread::closed();
    for (const Gate& gate : gates(metric, target)) {
        const auto& climb = kept_climbs_.to(*metric_, rank(gate.node), to_);
        const TimeAndSpread last = gate_value(metric, gate, target);
        for (std::size_t e = 0; e < entries_.size(); ++e) {
            const TimeAndSpread value = least_between(from_[e], climb);
            if (value.is_open()) {
                best = lesser(best, sum(value, last));
            }
        }
    }
    const auto short_way = direct(metric, *departure_, target);
    if (short_way && to_value(short_way->label) <= best) {
        return short_way->label;
    }
    return best.is_open() ? to_label(best) : Label{};
}

/// With the clock: never quicker than what was found without it.
HierarchySearch::Found HierarchySearch::exactly(const Snap& target) {
    return find_around(target, {});
}

HierarchySearch::Found HierarchySearch::find_around(const Snap& target,
                                                    const std::vector<bool>& avoided) {
    check_snap(metric_->metric().network(), target);
    if (!goal_search_) {
        goal_search_ = std::make_unique<GoalSearch>(*metric_);
    }
    auto result = goal_search_->run(*departure_, target, avoided);
    return result ? Found{result->label, std::move(result->way)} : Found{};
}

Way HierarchySearch::way(const Entry& entry, const std::vector<std::uint32_t>& arcs,
                         const Gate& gate, const Snap& target) const {
    Way way{departure_->from.accesses[entry.access], {}, target.accesses[gate.access]};
    if (entry.first) {
        way.parts.push_back(*entry.first);
    }
    for (const std::uint32_t arc : arcs) {
        way.parts.push_back(
            {ArcId{arc}, 0, metric_->metric().network().piece(ArcId{arc}).length_cm});
    }
    if (gate.last) {
        way.parts.push_back(*gate.last);
    }
    return way;
}

template <typename Visit>
void HierarchySearch::visit_beside(const PlaceIndex& places, const Visit& visit) const {
    for (const Access& access : departure_->from.accesses) {
        const auto [begin, end] =
            places.kept_->places_on.equal_range(metric_->metric().network().original(access.piece));
        for (auto beside = begin; beside != end; ++beside) {
            visit(beside->second);
        }
    }
}

const HierarchySearch::Bounds& HierarchySearch::bounds(const PlaceIndex& places, std::size_t wanted,
                                                       const Offers& offers) {
    std::vector<Bound>& found = bounds_.places;
    found.clear();
    const NearestSearch<TimeAndSpread> nearest{metric_->hierarchy(), metric_->weights(),
                                               places.kept_->buckets, to_};
    for (const Entry& entry : entries_) {
        nearest.find(
            rank(entry.node), to_value(entry.label), wanted,
            [&](std::uint32_t place) { return offers.has(place); }, found);
    }
    bounds_.others = found.size() < wanted ? TimeAndSpread::closed() : found.back().value;
    visit_beside(places, [&](std::uint32_t place) {
        const auto short_way = direct(metric_->metric(), *departure_, places.places()[place]);
        if (!offers.has(place) || !short_way) {
            return;
        }
        // of a way that waits only the end is known here, so it is no bound: it counts as nothing
        const Bound bound{may_wait() ? TimeAndSpread::none() : to_value(short_way->label), place};
        keep_nearest(bound, found.size() + 1, found);
    });
    return bounds_;
}

std::vector<TimeAndSpread> HierarchySearch::all_bounds(std::span<const Departure> departures,
                                                       const PlaceIndex& places) {
    const std::size_t columns = places.places().size();
    std::vector<TableStart> starts;
    for (std::size_t row = 0; row < departures.size(); ++row) {
        start(departures[row]);
        std::vector<UpStart<TimeAndSpread>> of_row;
        for (const Entry& entry : entries_) {
            of_row.push_back({rank(entry.node), to_value(entry.label)});
        }
        for_each_chain<TimeAndSpread>(metric_->hierarchy(), of_row, [&](const auto& chain) {
            starts.push_back({row, {chain.begin(), chain.end()}});
        });
    }
    auto bounds =
        least_from(*metric_, places.kept_->buckets, departures.size(), columns, std::move(starts));
    for (std::size_t row = 0; row < departures.size(); ++row) {
        start(departures[row]);
        look_beside(places, std::span{bounds}.subspan(row * columns, columns));
    }
    return bounds;
}

void HierarchySearch::look_beside(const PlaceIndex& places, std::span<TimeAndSpread> row) const {
    visit_beside(places, [&](std::uint32_t place) {
        const auto short_way = direct(metric_->metric(), *departure_, places.places()[place]);
        if (short_way) {
            row[place] =
                lesser(row[place], may_wait() ? TimeAndSpread::none() : to_value(short_way->label));
        }
    });
}

}  // namespace waybourne::routing
