#include "routing/place_sweep.hpp"

#include <algorithm>
#include <array>

#include "routing/internal/label.hpp"
#include "routing/internal/place_ways.hpp"
#include "routing/internal/sweep_parts.hpp"

namespace waybourne::routing {

namespace {

/// Groups that share a pass: their values of one rank fill a line of the cache.
constexpr std::size_t most_lanes = 8;

struct Start {
    std::uint32_t rank = 0;
    std::size_t lane = 0;
    TimeAndSpread value;
};

TimeAndSpread value_of(const Weight& weight) {
    return weight.typical_ds < closed_ds
               ? TimeAndSpread::of(weight.typical_ds,
                                   static_cast<std::uint32_t>(
                                       std::min(greatest_variance_ds2, weight.variance_ds2)))
               : TimeAndSpread::closed();
}

TimeAndSpread value_of(const PlaceLabel& label) {
    return label.is_reached() ? TimeAndSpread::of(label.typical_ds, label.variance_ds2)
                              : TimeAndSpread::closed();
}

struct WeightOf {
    const Metric& metric;
    Weight operator()(ArcId arc) const { return metric.weight(arc); }
};

/// What the way down needs so that it comes to some ranks: these, all above them, and their up arcs
/// in the order in which they are read.
class WayDown {
public:
    WayDown(const PreparedMetric& metric, const SweepOrder& order,
            std::span<const std::uint32_t> wanted)
        : index_of_(metric.hierarchy().node_count(), no_rank), first_{0} {
        const HierarchyArrays& h = metric.hierarchy().arrays();
        Climbed needed{h};
        for (const std::uint32_t rank : wanted) {
            needed.add(rank);
        }
        for (const std::uint32_t x : order.rank_at()) {
            if (needed.contains(x)) {
                index_of_[x] = static_cast<std::uint32_t>(ranks_.size());
                ranks_.push_back(x);
            }
        }
        first_.reserve(ranks_.size() + 1);
        for (const std::uint32_t x : ranks_) {
            for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1]; ++a) {
                heads_.push_back(index_of_[h.up_head[a]]);
                values_.push_back(metric.weights()[a].up);
            }
            first_.push_back(static_cast<std::uint32_t>(heads_.size()));
        }
    }

    /// Of a needed rank, its place among them.
    std::uint32_t index_of(std::uint32_t rank) const { return index_of_[rank]; }
    std::size_t size() const { return ranks_.size(); }

    /// Each needed rank after all above it: `start(rank)`, `relax(value, index of the head, arc)`
    /// for each arc, `finish(index, value)`.
    template <typename StartAt, typename Relax, typename Finish>
    void run(const StartAt& start, const Relax& relax, const Finish& finish) const {
        for (std::size_t i = ranks_.size(); i-- > 0;) {
            auto best = start(ranks_[i]);
            for (std::uint32_t a = first_[i]; a < first_[i + 1]; ++a) {
                relax(best, heads_[a], values_[a]);
            }
            finish(i, best);
        }
    }

private:
    std::vector<std::uint32_t> index_of_;
    std::vector<std::uint32_t> ranks_;
    std::vector<std::uint32_t> first_;
    std::vector<std::uint32_t> heads_;
    std::vector<TimeAndSpread> values_;
};

/// To the nearest place of up to `Lanes` groups, from every rank that the way down comes to.
/// @param packed `Lanes` values for each of them, packed; whatever is there is overwritten
template <std::size_t Lanes>
void sweep_groups(const PreparedMetric& metric, const WayDown& down, std::span<const Start> starts,
                  std::uint64_t* packed) {
    using Row = std::array<std::uint64_t, Lanes>;
    constexpr std::uint64_t closed = TimeAndSpread::closed().packed;
    const auto lesser_sum = [](std::uint64_t best, std::uint64_t above, TimeAndSpread arc) {
        return std::min(best, sum(TimeAndSpread{above}, arc).packed);
    };
    const HierarchyArrays& h = metric.hierarchy().arrays();
    Climbed climbed{h};
    for (const Start& start : starts) {
        climbed.add(start.rank);
    }
    // not filled beforehand: only what is climbed to is written and read
    const auto from_places =
        std::make_unique_for_overwrite<std::uint64_t[]>(std::size_t{h.parent.size()} * Lanes);
    const auto at = [&](std::uint32_t x) { return from_places.get() + std::size_t{x} * Lanes; };
    climbed.for_each([&](std::uint32_t x) { std::fill_n(at(x), Lanes, closed); });
    for (const Start& start : starts) {
        std::uint64_t& value = at(start.rank)[start.lane];
        value = std::min(value, start.value.packed);
    }
    // the way down to a place, climbed from the place
    climbed.for_each([&](std::uint32_t x) {
        for (std::uint32_t a = h.up_first[x]; a < h.up_first[x + 1]; ++a) {
            for (std::size_t lane = 0; lane < Lanes; ++lane) {
                std::uint64_t& above = at(h.up_head[a])[lane];
                above = lesser_sum(above, at(x)[lane], metric.weights()[a].down);
            }
        }
    });
    down.run(
        [&](std::uint32_t x) {
            Row best;
            if (climbed.contains(x)) {
                std::copy_n(at(x), Lanes, best.begin());
            } else {
                best.fill(closed);
            }
            return best;
        },
        [&](Row& best, std::uint32_t head, TimeAndSpread arc) {
            const std::uint64_t* const above = packed + std::size_t{head} * Lanes;
            for (std::size_t lane = 0; lane < Lanes; ++lane) {
                best[lane] = lesser_sum(best[lane], above[lane], arc);
            }
        },
        [&](std::size_t index, const Row& best) {
            std::copy_n(best.begin(), Lanes, packed + index * Lanes);
        });
}

}  // namespace

/// Settlements and arcs under one metric.
class PlaceSweep::Pass {
public:
    Pass(std::shared_ptr<const PreparedMetric> metric, const SweepOrder& order,
         std::span<const Place> settlements)
        : metric_(std::move(metric)) {
        for (std::uint32_t row = 0; row < settlements.size(); ++row) {
            for (const Access& access :
                 settlements[row] ? settlements[row]->accesses : std::vector<Access>{}) {
                add_exits(row, access);
                on_pieces_.push_back({roads().network().original(access.piece), row, access});
            }
        }
        std::vector<std::uint32_t> ranks;
        ranks.reserve(exits_.size());
        for (const Exit& exit : exits_) {
            ranks.push_back(exit.rank);
        }
        down_.emplace(*metric_, order, ranks);
        // so that values are read in the order in which they lie
        for (Exit& exit : exits_) {
            exit.index = down_->index_of(exit.rank);
        }
        std::stable_sort(exits_.begin(), exits_.end(),
                         [](const Exit& a, const Exit& b) { return a.index < b.index; });
        std::stable_sort(on_pieces_.begin(), on_pieces_.end());
    }

    /// Settlements × groups.
    std::vector<TimeAndSpread> to_nearest(std::size_t settlements,
                                          std::span<const std::vector<Snap>> groups) const {
        std::vector<TimeAndSpread> all(settlements * groups.size());
        for (std::size_t first = 0; first < groups.size(); first += most_lanes) {
            const auto some = groups.subspan(first, std::min(most_lanes, groups.size() - first));
            if (some.size() == 1) {
                run<1>(some, first, groups.size(), all);
            } else {
                run<most_lanes>(some, first, groups.size(), all);
            }
        }
        look_beside(groups, all);
        return all;
    }

private:
    /// Where a settlement gets to a node.
    struct Exit {
        std::uint32_t rank = 0;
        std::uint32_t row = 0;
        TimeAndSpread value;
        std::uint32_t index = 0;  ///< of its rank on the way down
    };
    /// A settlement on a piece that is no copy.
    struct OnPiece {
        PieceId piece;
        std::uint32_t row = 0;
        Access access;
        bool operator<(const OnPiece& other) const { return piece < other.piece; }
    };

    const Metric& roads() const { return metric_->metric(); }
    WeightOf weight_of() const { return {roads()}; }

    void add_exits(std::uint32_t row, const Access& access) {
        const auto ranks = metric_->hierarchy().arrays().rank_of_node;
        const TimeAndSpread walk = value_of(roads().off_road(access.off_road));
        each_way_out(roads().network(), access,
                     [&](NodeId node, const std::optional<ArcPart>& first) {
                         const Weight part = stub_weight(roads().network(), first, weight_of());
                         const TimeAndSpread value = sum(value_of(part), walk);
                         if (value.is_open()) {
                             exits_.push_back({ranks[node.value], row, value});
                         }
                     });
    }

    template <std::size_t Lanes>
    void run(std::span<const std::vector<Snap>> groups, std::size_t first, std::size_t columns,
             std::vector<TimeAndSpread>& all) const {
        const auto ranks = metric_->hierarchy().arrays().rank_of_node;
        std::vector<Start> starts;
        for (std::size_t lane = 0; lane < groups.size(); ++lane) {
            for (const Snap& place : groups[lane]) {
                visit_gates(roads(), place, {0, 0, 0}, weight_of(),
                            [&](std::uint32_t, NodeId node, const PlaceLabel& label) {
                                starts.push_back({ranks[node.value], lane, value_of(label)});
                            });
            }
        }
        // not filled beforehand: the sweep writes every value before it reads it
        const auto packed = std::make_unique_for_overwrite<std::uint64_t[]>(down_->size() * Lanes);
        sweep_groups<Lanes>(*metric_, *down_, starts, packed.get());
        for (const Exit& exit : exits_) {
            for (std::size_t lane = 0; lane < groups.size(); ++lane) {
                TimeAndSpread& best = all[exit.row * columns + first + lane];
                best = lesser(
                    best,
                    sum(TimeAndSpread{packed[std::size_t{exit.index} * Lanes + lane]}, exit.value));
            }
        }
    }

    /// The ways that never leave their piece.
    void look_beside(std::span<const std::vector<Snap>> groups,
                     std::vector<TimeAndSpread>& all) const {
        for (std::size_t group = 0; group < groups.size(); ++group) {
            for (const Snap& place : groups[group]) {
                for (const Access& access : place.accesses) {
                    const PieceId piece = roads().network().original(access.piece);
                    auto on = std::lower_bound(on_pieces_.begin(), on_pieces_.end(),
                                               OnPiece{piece, 0, access});
                    for (; on != on_pieces_.end() && on->piece == piece; ++on) {
                        TimeAndSpread& best = all[on->row * groups.size() + group];
                        best = lesser(best, value_of(best_beside(roads(), on->access, place,
                                                                 {0, 0, 0}, weight_of())));
                    }
                }
            }
        }
    }

    std::shared_ptr<const PreparedMetric> metric_;
    std::vector<Exit> exits_;
    std::optional<WayDown> down_;
    std::vector<OnPiece> on_pieces_;
};

PlaceSweep::PlaceSweep(std::shared_ptr<const PreparedMetric> metric, std::vector<Place> settlements,
                       std::shared_ptr<const SweepOrder> order)
    : settlements_(std::move(settlements)) {
    const RoadNetwork& network = metric->metric().network();
    for (const Place& settlement : settlements_) {
        if (settlement) {
            check_snap(network, *settlement);
        }
    }
    if (!order) {
        order = std::make_shared<const SweepOrder>(metric->hierarchy());
    }
    pass_ = std::make_unique<const Pass>(metric, *order, settlements_);
    if (!metric->has_waits()) {
        return;
    }
    std::vector<PieceId> timetabled;
    for (std::uint32_t number = 0; number < network.piece_count(); ++number) {
        const Piece& piece = network.piece(PieceId{number});
        const auto waits = [&](ArcId arc) { return arc.exists() && metric->waits(arc); };
        if (waits(piece.forward) || waits(piece.backward)) {
            timetabled.push_back({number});
        }
    }
    unwaited_ = std::make_unique<const Pass>(
        std::make_shared<const PreparedMetric>(
            *metric, std::make_shared<const Metric>(metric->metric().without(timetabled))),
        *order, settlements_);
}

PlaceSweep::~PlaceSweep() = default;

std::vector<SweptWay> PlaceSweep::to_nearest(std::span<const std::vector<Snap>> groups) const {
    const std::vector<TimeAndSpread> best = pass_->to_nearest(settlements_.size(), groups);
    const std::vector<TimeAndSpread> unwaited =
        unwaited_ ? unwaited_->to_nearest(settlements_.size(), groups)
                  : std::vector<TimeAndSpread>{};
    std::vector<SweptWay> ways(best.size());
    for (std::size_t i = 0; i < best.size(); ++i) {
        if (best[i].is_open()) {
            ways[i].time = to_label(best[i]).travel_time();
        }
        ways[i].may_wait = unwaited_ && best[i] != unwaited[i];
    }
    return ways;
}

}  // namespace waybourne::routing
