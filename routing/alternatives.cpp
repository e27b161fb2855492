#include "routing/alternatives.hpp"

#include <algorithm>
#include <queue>
#include <set>

#include "routing/incoming_arcs.hpp"
#include "routing/internal/ends.hpp"

namespace waybourne::routing {

namespace {

/// A stretch on which both searches agree.
struct Plateau {
    NodeId first;
    std::uint32_t agreed_ds = 0;
};

struct Candidate {
    Way way;
    std::uint32_t typical_ds = 0;
    std::uint32_t agreed_ds = 0;
};

/// What ways have in common, by typical time without waiting.
class Used {
public:
    explicit Used(const Metric& metric) : metric_(metric) {}

    void add(const Way& way) {
        for (const ArcPart& part : way.parts) {
            parts_.insert(key(part));
        }
        starts_.push_back(way.start);
        ends_.push_back(way.end);
    }

    std::uint64_t shared_ds(const Way& way) const {
        std::uint64_t shared = 0;
        for (const ArcPart& part : way.parts) {
            if (parts_.count(key(part)) != 0) {
                shared += metric_.weight(part.arc, part.from_cm, part.to_cm).typical_ds;
            }
        }
        if (std::find(starts_.begin(), starts_.end(), way.start) != starts_.end()) {
            shared += metric_.off_road(way.start.off_road).typical_ds;
        }
        if (std::find(ends_.begin(), ends_.end(), way.end) != ends_.end()) {
            shared += metric_.off_road(way.end.off_road).typical_ds;
        }
        return shared;
    }

private:
    using Key = std::tuple<ArcId, std::uint32_t, std::uint32_t>;
    static Key key(const ArcPart& part) { return {part.arc, part.from_cm, part.to_cm}; }

    const Metric& metric_;
    std::set<Key> parts_;
    std::vector<Access> starts_;
    std::vector<Access> ends_;
};

}  // namespace

class AlternativeSearch::Search {
public:
    explicit Search(std::shared_ptr<const Metric> metric)
        : metric_(std::move(metric)),
          network_(metric_->network()),
          incoming_(network_),
          from_start_(network_.node_count()),
          to_target_(network_.node_count()) {}

    std::vector<Alternative> find(const Departure& departure, const Snap& target,
                                  const AlternativeLimits& limits) {
        check_snap(network_, departure.from);
        check_snap(network_, target);
        reset();
        departure_ = &departure;
        target_ = &target;
        entries_ = entries(*metric_, departure);
        gates_ = gates(*metric_, target);
        const std::optional<Candidate> best = search_from_start(limits.most_stretch);
        if (!best) {
            return {};
        }
        const std::uint32_t bound_ds = stretched(best->typical_ds, limits.most_stretch);
        search_to_target(bound_ds);
        std::vector<Candidate> others;
        for (const Plateau& plateau : plateaus(bound_ds)) {
            if (plateau.agreed_ds >= limits.least_agreed * best->typical_ds) {
                add_candidate(plateau, bound_ds, others);
            }
        }
        return choose(*best, std::move(others), limits);
    }

private:
    struct State {
        Label label;
        /// By which the node was reached, or by which it is left towards the target.
        ArcId arc;
        /// Into the entries or the gates.
        std::uint32_t end = 0;
    };
    using Item = std::pair<Label, NodeId>;
    using Queue = std::priority_queue<Item, std::vector<Item>, std::greater<>>;

    static std::uint32_t stretched(std::uint32_t ds, double most_stretch) {
        return static_cast<std::uint32_t>(std::min<double>(closed_ds - 1, ds * most_stretch));
    }

    void reset() {
        for (const NodeId node : touched_) {
            from_start_[node.value] = {};
            to_target_[node.value] = {};
        }
        touched_.clear();
    }

    void improve(std::vector<State>& states, Queue& queue, NodeId node, const State& state) {
        if (state.label.is_reached() && state.label < states[node.value].label) {
            touched_.push_back(node);
            states[node.value] = state;
            queue.emplace(state.label, node);
        }
    }

    /// With the clock, as far as another way could go. The best way of all, if there is one.
    std::optional<Candidate> search_from_start(double most_stretch) {
        Queue queue;
        for (std::uint32_t i = 0; i < entries_.size(); ++i) {
            improve(from_start_, queue, entries_[i].node, {entries_[i].label, ArcId::none(), i});
        }
        Label best;
        std::optional<std::uint32_t> best_gate;
        const auto short_way = direct(*metric_, *departure_, *target_);
        if (short_way) {
            best = short_way->label;
        }
        while (!queue.empty()) {
            const auto [label, node] = queue.top();
            if (best.is_reached() && label.typical_ds > stretched(best.typical_ds, most_stretch)) {
                break;
            }
            queue.pop();
            const State state = from_start_[node.value];
            if (label != state.label) {
                continue;
            }
            for (std::uint32_t g = 0; g < gates_.size(); ++g) {
                const Label there = gates_[g].node == node ? through(gates_[g], label, *metric_,
                                                                     *target_, departure_->at)
                                                           : Label{};
                if (there < best) {
                    best = there;
                    best_gate = g;
                }
            }
            for (ArcId arc = network_.first_arc(node); arc < network_.end_arc(node); ++arc.value) {
                if (metric_->is_open(arc)) {
                    improve(from_start_, queue, network_.head(arc),
                            {across(label, *metric_, arc, departure_->at), arc, state.end});
                }
            }
        }
        if (best_gate) {
            Way way = way_to(gates_[*best_gate].node);
            finish(way, gates_[*best_gate]);
            return Candidate{std::move(way), best.typical_ds, 0};
        }
        if (!short_way) {
            return std::nullopt;
        }
        return Candidate{to_way(*short_way, *departure_, *target_), best.typical_ds, 0};
    }

    /// Without the clock, over the nodes that both ends are near enough to.
    void search_to_target(std::uint32_t bound_ds) {
        Queue queue;
        for (std::uint32_t g = 0; g < gates_.size(); ++g) {
            improve(to_target_, queue, gates_[g].node,
                    {to_label(gate_value(*metric_, gates_[g], *target_)), ArcId::none(), g});
        }
        while (!queue.empty()) {
            const auto [label, node] = queue.top();
            queue.pop();
            const State& state = to_target_[node.value];
            if (label != state.label || !is_within(node, bound_ds)) {
                continue;
            }
            for (const auto& [arc, tail] : incoming_.at(node)) {
                if (metric_->is_open(arc)) {
                    improve(to_target_, queue, tail,
                            {extended(label, metric_->weight(arc)), arc, state.end});
                }
            }
        }
    }

    bool is_within(NodeId node, std::uint32_t bound_ds) const {
        const Label& from = from_start_[node.value].label;
        const Label& to = to_target_[node.value].label;
        return from.is_reached() && to.is_reached() &&
               std::uint64_t{from.typical_ds} + to.typical_ds <= bound_ds;
    }

    /// Whether the way from the start and the way to the target both use the arc.
    bool is_agreed(ArcId arc) const {
        return arc.exists() && from_start_[network_.head(arc).value].arc == arc &&
               to_target_[network_.tail(arc).value].arc == arc;
    }

    std::vector<Plateau> plateaus(std::uint32_t bound_ds) {
        std::sort(touched_.begin(), touched_.end());
        touched_.erase(std::unique(touched_.begin(), touched_.end()), touched_.end());
        std::vector<Plateau> found;
        for (const NodeId node : touched_) {
            if (!is_within(node, bound_ds) || is_agreed(from_start_[node.value].arc)) {
                continue;
            }
            NodeId last = node;
            while (is_agreed(to_target_[last.value].arc)) {
                last = network_.head(to_target_[last.value].arc);
            }
            if (last != node) {
                found.push_back({node, to_target_[node.value].label.typical_ds -
                                           to_target_[last.value].label.typical_ds});
            }
        }
        return found;
    }

    void add_candidate(const Plateau& plateau, std::uint32_t bound_ds,
                       std::vector<Candidate>& candidates) const {
        Way way = way_to(plateau.first);
        NodeId node = plateau.first;
        for (ArcId arc = to_target_[node.value].arc; arc.exists();
             arc = to_target_[node.value].arc) {
            way.parts.push_back({arc, 0, network_.piece(arc).length_cm});
            node = network_.head(arc);
        }
        finish(way, gates_[to_target_[node.value].end]);
        const Label label = label_of(way);
        if (label.is_reached() && label.typical_ds <= bound_ds && passes_nothing_twice(way)) {
            candidates.push_back({std::move(way), label.typical_ds, plateau.agreed_ds});
        }
    }

    /// From the start to a node that was reached from there.
    Way way_to(NodeId node) const {
        Way way;
        while (from_start_[node.value].arc.exists()) {
            const ArcId arc = from_start_[node.value].arc;
            way.parts.push_back({arc, 0, network_.piece(arc).length_cm});
            node = network_.tail(arc);
        }
        const Entry& entry = entries_[from_start_[node.value].end];
        if (entry.first) {
            way.parts.push_back(*entry.first);
        }
        way.start = departure_->from.accesses[entry.access];
        std::reverse(way.parts.begin(), way.parts.end());
        return way;
    }

    void finish(Way& way, const Gate& gate) const {
        if (gate.last) {
            way.parts.push_back(*gate.last);
        }
        way.end = target_->accesses[gate.access];
    }

    /// With the clock.
    Label label_of(const Way& way) const {
        Label label = extended(Label::start(), metric_->off_road(way.start.off_road));
        for (const ArcPart& part : way.parts) {
            if (label.is_reached()) {
                label = along(label, *metric_, part, departure_->at);
            }
        }
        return label.is_reached() ? extended(label, metric_->off_road(way.end.off_road)) : label;
    }

    bool passes_nothing_twice(const Way& way) const {
        std::vector<NodeId> heads;
        std::vector<PieceId> pieces;
        for (const ArcPart& part : way.parts) {
            if (part.to_cm == network_.piece(part.arc).length_cm) {
                heads.push_back(network_.original(network_.head(part.arc)));
            }
            pieces.push_back(network_.original(network_.piece_of(part.arc)));
        }
        std::sort(heads.begin(), heads.end());
        std::sort(pieces.begin(), pieces.end());
        return std::adjacent_find(heads.begin(), heads.end()) == heads.end() &&
               std::adjacent_find(pieces.begin(), pieces.end()) == pieces.end();
    }

    std::vector<Alternative> choose(const Candidate& best, std::vector<Candidate> others,
                                    const AlternativeLimits& limits) const {
        Used used{*metric_};
        used.add(best.way);
        const auto measure = [&](const Candidate& one) {
            return 2 * std::int64_t{one.typical_ds} +
                   static_cast<std::int64_t>(used.shared_ds(one.way)) - one.agreed_ds;
        };
        std::vector<std::pair<std::int64_t, std::size_t>> order;
        for (std::size_t i = 0; i < others.size(); ++i) {
            order.emplace_back(measure(others[i]), i);
        }
        std::sort(order.begin(), order.end());
        std::vector<Alternative> chosen{{route_of(best.way), best.way.parts, 1, 0}};
        const double whole = std::max(1.0, static_cast<double>(best.typical_ds));
        for (const auto& [unused, i] : order) {
            const Candidate& one = others[i];
            const double shared = static_cast<double>(used.shared_ds(one.way)) / whole;
            if (chosen.size() > limits.most) {
                break;
            }
            if (shared <= limits.most_shared) {
                used.add(one.way);
                chosen.push_back(
                    {route_of(one.way), one.way.parts, one.typical_ds / whole, shared});
            }
        }
        return chosen;
    }

    Route route_of(const Way& way) const { return to_route(*metric_, *departure_, *target_, way); }

    std::shared_ptr<const Metric> metric_;
    const RoadNetwork& network_;
    IncomingArcs incoming_;
    std::vector<State> from_start_;
    std::vector<State> to_target_;
    std::vector<NodeId> touched_;
    std::vector<Entry> entries_;
    std::vector<Gate> gates_;
    const Departure* departure_ = nullptr;
    const Snap* target_ = nullptr;
};

AlternativeSearch::AlternativeSearch(std::shared_ptr<const Metric> metric)
    : search_(std::make_unique<Search>(std::move(metric))) {}

AlternativeSearch::~AlternativeSearch() = default;

std::vector<Alternative> AlternativeSearch::find(const Departure& departure, const Snap& target,
                                                 const AlternativeLimits& limits) {
    return search_->find(departure, target, limits);
}

}  // namespace waybourne::routing
