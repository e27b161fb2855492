#include "routing/metric.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

/// The 90 % quantile of the standard normal distribution (from memory of any table).
constexpr double quantile_90 = 1.2816;

std::uint64_t in_ds(Seconds span) {
    return static_cast<std::uint64_t>(span.count()) * 10;
}

std::uint32_t clamp_open(double ds) {
    return static_cast<std::uint32_t>(std::min<double>(std::round(ds), closed_ds - 1));
}

std::uint32_t clamp_variance(std::uint64_t ds2) {
    return static_cast<std::uint32_t>(
        std::min<std::uint64_t>(ds2, std::numeric_limits<std::uint32_t>::max()));
}

std::uint32_t travel_ds(double metres, const RoadSpeed& speed) {
    return clamp_open(metres * 36 / speed.kilometres_per_hour);
}

void check(const RoadSpeed& speed) {
    if (!(speed.kilometres_per_hour > 0) || !std::isfinite(speed.kilometres_per_hour) ||
        speed.spread < 0s) {
        throw InputError(fmt::format(
            "a speed of {:g} km/h with a spread of {} s; the speed must be above 0, the "
            "spread not below",
            speed.kilometres_per_hour, speed.spread.count()));
    }
}

Weight ferry_weight(const Ferry& ferry, const SpeedRules& rules) {
    const bool is_wet = rules.conditions.surface == Surface::wet;
    const bool never_sails = ferry.timetable && ferry.timetable->sailings().empty();
    const bool sails_now = is_wet ? ferry.sails_when_wet : ferry.sails_when_dry;
    if (!sails_now || never_sails) {
        return {closed_ds, 0};
    }
    const std::uint64_t crossing = in_ds(ferry.crossing);
    const Weight sailing{static_cast<std::uint32_t>(crossing),
                         crossing * in_ds(rules.ferry_spread)};
    if (ferry.timetable) {
        return sailing;
    }
    const Weight wait = wait_weight(ferry.assumed_wait);
    return {sailing.typical_ds + wait.typical_ds, sailing.variance_ds2 + wait.variance_ds2};
}

/// The hours of the roads that have some; where several changes speak of one piece, the last.
std::map<PieceId, Timetable> hours_of(const RoadNetwork& network,
                                      std::span<const RoadChange> changes, Means means,
                                      Instant at) {
    std::map<PieceId, Timetable> hours;
    for (const RoadChange& change : changes) {
        if (!change.hours || !change.means.has(means) || !change.period.contains(at)) {
            continue;
        }
        for (const PieceId piece : pieces_at(network, change.where)) {
            if (!network.piece(piece).is_ferry()) {
                hours.insert_or_assign(piece, *change.hours);
            }
        }
    }
    return hours;
}

/// How many times slower than usual each piece is; `closed` for a closed one.
class Slowness {
public:
    static constexpr double closed = std::numeric_limits<double>::infinity();

    Slowness(const RoadNetwork& network, std::span<const RoadChange> changes,
             std::span<const TemporaryLink> links, Means means, Instant at)
        : network_(network) {
        for (const RoadChange& change : changes) {
            if (change.slower_by && !(*change.slower_by >= 1)) {
                throw InputError(
                    fmt::format("road change {} is slower by {:g}; allowed is 1 and more",
                                change.id, *change.slower_by));
            }
            if (change.means.has(means) && change.period.contains(at)) {
                apply(change.where, change.slower_by.value_or(change.hours ? 1 : closed));
            }
        }
        for (const TemporaryLink& link : links) {
            if (!link.period.contains(at)) {
                close_link(link);
            }
        }
    }

    double of(PieceId piece) const { return factors_.empty() ? 1 : factors_[piece.value]; }

private:
    void apply(const Where& where, double factor) {
        for (const PieceId piece : pieces_at(network_, where)) {
            slow(piece, factor);
        }
    }
    void close_link(const TemporaryLink& link) {
        for (const PieceId piece : pieces_at(network_, RoadName{link.id})) {
            if (network_.attributes_of(network_.piece(piece)).is_temporary_link) {
                slow(piece, closed);
            }
        }
    }
    void slow(PieceId piece, double factor) {
        factors_.resize(network_.piece_count(), 1);
        factors_[piece.value] *= factor;
    }

    const RoadNetwork& network_;
    std::vector<double> factors_;
};

std::vector<std::optional<RoadSpeed>> speeds_of(const RoadNetwork& network,
                                                const SpeedRules& rules) {
    std::vector<std::optional<RoadSpeed>> speeds;
    for (const RoadAttributes& attributes : network.attributes()) {
        const auto speed = attributes.kind.road_class == RoadClass::ferry
                               ? std::nullopt
                               : rules.on_road(attributes);
        if (speed) {
            check(*speed);
        }
        speeds.push_back(speed);
    }
    return speeds;
}

}  // namespace

std::uint32_t allow_ds(const Weight& weight) {
    if (weight.typical_ds == 0 || weight.variance_ds2 == 0) {
        return weight.typical_ds;
    }
    const double median = weight.typical_ds;
    const double sigma =
        std::sqrt(std::log1p(static_cast<double>(weight.variance_ds2) / (median * median)));
    return clamp_open(median * std::exp(quantile_90 * sigma));
}

Weight wait_weight(Seconds mean) {
    const Seconds spread_over = std::min(mean, longest_wait_with_spread);
    const Seconds surely = 2 * (mean - spread_over);
    return {static_cast<std::uint32_t>(in_ds(spread_over + surely)),
            in_ds(spread_over) * in_ds(spread_over) / 3};
}

Weight part_of(const Weight& whole, std::uint32_t length_cm, std::uint32_t from_cm,
               std::uint32_t to_cm) {
    if (length_cm == 0) {
        return whole;
    }
    const auto part = [&](std::uint64_t amount) {
        return amount * to_cm / length_cm - amount * from_cm / length_cm;
    };
    return {static_cast<std::uint32_t>(part(whole.typical_ds)), part(whole.variance_ds2)};
}

TravelTime to_travel_time(std::uint32_t typical_ds, std::uint32_t allowed_ds) {
    const auto rounded_up = [](std::uint32_t ds) {
        return Seconds{(static_cast<std::int64_t>(ds) + 9) / 10};
    };
    return {rounded_up(typical_ds), rounded_up(allowed_ds)};
}

Metric::Metric(std::shared_ptr<const RoadNetwork> network, const SpeedRules& rules,
               std::span<const RoadChange> changes, std::span<const TemporaryLink> links,
               Instant at)
    : network_(std::move(network)),
      means_(rules.means),
      conditions_(rules.conditions),
      off_road_(rules.off_road),
      off_road_detour_(rules.off_road_detour) {
    check(off_road_);
    const auto speeds = speeds_of(*network_, rules);
    const Slowness slowness(*network_, changes, links, means_, at);
    hours_ = hours_of(*network_, changes, means_, at);
    typical_ds_.assign(network_->arc_count(), closed_ds);
    variance_ds2_.assign(network_->arc_count(), 0);
    for (std::uint32_t number = 0; number < network_->arc_count(); ++number) {
        const ArcId arc{number};
        const Piece& piece = network_->piece(arc);
        const double slower_by = slowness.of(network_->piece_of(arc));
        const auto hours = hours_.find(network_->piece_of(arc));
        const bool never_opens = hours != hours_.end() && hours->second.sailings().empty();
        if (!network_->means(arc).has(means_) || slower_by == Slowness::closed || never_opens) {
            continue;
        }
        Weight weight{closed_ds, 0};
        const auto& speed = speeds[piece.attributes];
        if (piece.is_ferry()) {
            weight = ferry_weight(network_->ferries()[piece.ferry], rules);
        } else if (speed) {
            const RoadSpeed slowed{speed->kilometres_per_hour / slower_by, speed->spread};
            weight.typical_ds = travel_ds(piece.length_cm / 100.0, slowed);
            weight.variance_ds2 = weight.typical_ds * in_ds(slowed.spread);
        }
        typical_ds_[number] = weight.typical_ds;
        variance_ds2_[number] = clamp_variance(weight.variance_ds2);
    }
    mark_waits();
}

Metric::Metric(std::shared_ptr<const RoadNetwork> network, const SpeedRules& rules)
    : Metric(std::move(network), rules, {}, {}, Instant{}) {}

Metric::Metric(std::shared_ptr<const RoadNetwork> network, std::vector<std::uint32_t> typical_ds,
               std::vector<std::uint32_t> variance_ds2)
    : network_(std::move(network)),
      typical_ds_(std::move(typical_ds)),
      variance_ds2_(std::move(variance_ds2)),
      off_road_{.kilometres_per_hour = 5, .spread = 0s} {
    if (typical_ds_.size() != network_->arc_count() ||
        variance_ds2_.size() != network_->arc_count()) {
        throw InputError("a metric needs one weight per arc of its network");
    }
    for (std::uint32_t& typical : typical_ds_) {
        typical = std::min(typical, closed_ds);
    }
    mark_waits();
}

void Metric::mark_waits() {
    const auto mark = [&](const Piece& piece) {
        waits_.resize(network_->arc_count());
        for (const ArcId arc : {piece.forward, piece.backward}) {
            if (arc.exists()) {
                waits_[arc.value] = true;
            }
        }
    };
    for (const Piece& piece : network_->pieces()) {
        if (piece.is_ferry() && network_->ferries()[piece.ferry].timetable) {
            mark(piece);
        }
    }
    for (const auto& [piece, unused] : hours_) {
        mark(network_->piece(piece));
    }
}

const Timetable* Metric::timetable(ArcId arc) const {
    if (!waits(arc)) {
        return nullptr;
    }
    const Piece& piece = network_->piece(arc);
    if (piece.is_ferry()) {
        return &*network_->ferries()[piece.ferry].timetable;
    }
    return &hours_.at(network_->piece_of(arc));
}

template <typename Visit>
void Metric::each_arc_of(std::span<const PieceId> pieces, const Visit& visit) const {
    for (const PieceId id : pieces) {
        if (id.value >= network_->piece_count()) {
            throw InputError("a road to be changed is not of this network");
        }
        each_version(*network_, id, [&](PieceId version) {
            const Piece& piece = network_->piece(version);
            for (const ArcId arc : {piece.forward, piece.backward}) {
                if (arc.exists()) {
                    visit(arc);
                }
            }
        });
    }
}

Metric Metric::without(std::span<const PieceId> pieces) const {
    Metric metric{*this};
    each_arc_of(pieces, [&](ArcId arc) {
        metric.typical_ds_[arc.value] = closed_ds;
        metric.variance_ds2_[arc.value] = 0;
    });
    return metric;
}

Metric Metric::with(std::span<const PieceId> pieces, const Metric& other) const {
    if (other.network_ != network_) {
        throw InputError("two metrics are of different networks");
    }
    Metric metric{*this};
    each_arc_of(pieces, [&](ArcId arc) {
        metric.typical_ds_[arc.value] = other.typical_ds_[arc.value];
        metric.variance_ds2_[arc.value] = other.variance_ds2_[arc.value];
    });
    return metric;
}

Weight Metric::weight(ArcId arc, std::uint32_t from_cm, std::uint32_t to_cm) const {
    return part_of(weight(arc), network_->piece(arc).length_cm, from_cm, to_cm);
}

Weight Metric::off_road(Metres straight) const {
    const std::uint32_t typical = travel_ds(straight.value() * off_road_detour_, off_road_);
    return {typical, typical * in_ds(off_road_.spread)};
}

}  // namespace waybourne::routing
