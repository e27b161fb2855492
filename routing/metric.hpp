#pragma once
/// The weight of every arc for one means of transport under one set of road conditions.

#include <cstdint>
#include <map>
#include <memory>
#include <span>
#include <vector>

#include "routing/closure.hpp"
#include "routing/road_network.hpp"
#include "routing/speed_rules.hpp"
#include "routing/travel_time.hpp"

namespace waybourne::routing {

/// A time in tenths of a second, and its variance in their squares. Whole numbers, so that every
/// engine can be compared exactly.
struct Weight {
    std::uint32_t typical_ds = 0;
    std::uint64_t variance_ds2 = 0;
    auto operator<=>(const Weight&) const = default;
};

/// A closed arc's typical time; sums of two never wrap.
inline constexpr std::uint32_t closed_ds = 0x7FFFFFFF;

/// The 90th percentile of a log-normal time with median M and σ² = ln(1 + V/M²): M·e^(1.2816σ).
/// 1.2816 is the 90 % quantile of the standard normal distribution (from memory of any table). Both
/// in ds, the answer rounded to the nearest; equal to the median where the variance is 0.
std::uint32_t allow_ds(const Weight& weight);

/// The longest mean wait whose spread is kept as it is. Its variance, 90² / 3 min², is less than a
/// quarter of the greatest that is kept for a whole way (2^32 − 1 ds²), so that several such waits
/// fit one after the other.
inline constexpr Seconds longest_wait_with_spread{90 * 60};

/// Waiting for a ferry whose hours are not known. Whoever comes at any moment waits anything from
/// none to a whole interval, everything equally likely: uniform on [0, 2w] with the mean, and
/// median, of half an interval w and the variance (2w)²/12 = w²/3 (from memory of any textbook).
///
/// Where w is above `longest_wait_with_spread` w₀, a wait that is longer in every quantile counts
/// instead: 2(w − w₀) surely and the rest uniform on [0, 2w₀], so typical 2w − w₀ with the variance
/// w₀²/3. For each share p of the cases, p·2w ≤ p·2w₀ + 2(w − w₀), since p ≤ 1.
/// @param mean not below 0, at most a week
Weight wait_weight(Seconds mean);

/// What the part `from_cm` to `to_cm` of an arc takes. Parts add up to the whole exactly.
Weight part_of(const Weight& whole, std::uint32_t length_cm, std::uint32_t from_cm,
               std::uint32_t to_cm);

/// `typical` and `allow` rounded up to whole seconds.
TravelTime to_travel_time(std::uint32_t typical_ds, std::uint32_t allow_ds);

/// Immutable; share it between threads. 8 bytes per arc.
class Metric {
public:
    /// @param changes those whose period contains `at` and that concern the means are applied
    /// @param links closed outside their period; must be those the network was made with
    /// @throws InputError for a speed that is not above 0, or a slow-down below 1
    Metric(std::shared_ptr<const RoadNetwork> network, const SpeedRules& rules,
           std::span<const RoadChange> changes, std::span<const TemporaryLink> links, Instant at);
    /// Without any change.
    Metric(std::shared_ptr<const RoadNetwork> network, const SpeedRules& rules);
    /// Weights as given, one per arc: for tests and for other sources of travel times.
    Metric(std::shared_ptr<const RoadNetwork> network, std::vector<std::uint32_t> typical_ds,
           std::vector<std::uint32_t> variance_ds2);

    /// The same with these pieces closed in both directions. O(arcs).
    /// @throws InputError if a piece is not of this network
    Metric without(std::span<const PieceId> pieces) const;

    /// The same with these pieces as `other` has them, in both directions: a road that would be
    /// paved, or carried over its ford. Opening hours stay. O(arcs).
    /// @throws InputError if a piece is not of this network, or `other` is of another
    Metric with(std::span<const PieceId> pieces, const Metric& other) const;

    const RoadNetwork& network() const { return *network_; }
    const std::shared_ptr<const RoadNetwork>& shared_network() const { return network_; }
    Means means() const { return means_; }
    const RoadConditions& conditions() const { return conditions_; }

    bool is_open(ArcId arc) const { return arc.exists() && typical_ds_[arc.value] < closed_ds; }
    /// Open in at least one direction.
    bool is_open(const Piece& piece) const {
        return is_open(piece.forward) || is_open(piece.backward);
    }
    /// When one may set out on the arc; none where at any time. Lives as long as the metric.
    const Timetable* timetable(ArcId arc) const;
    /// Whether it has a timetable: what it takes depends on when one gets there.
    bool waits(ArcId arc) const { return !waits_.empty() && waits_[arc.value]; }
    bool has_waits() const { return !waits_.empty(); }

    /// Of an open arc. With a timetable: what it takes without waiting, a lower bound.
    Weight weight(ArcId arc) const { return {typical_ds_[arc.value], variance_ds2_[arc.value]}; }
    /// Part of an open arc, `from_cm` to `to_cm` along its own direction. Parts add up to the whole
    /// exactly.
    Weight weight(ArcId arc, std::uint32_t from_cm, std::uint32_t to_cm) const;
    /// Walking that far, as the crow flies, where there is no road; the detour factor is applied
    /// here.
    Weight off_road(Metres straight) const;
    double off_road_detour() const { return off_road_detour_; }

    /// One per arc; `closed_ds` where closed.
    std::span<const std::uint32_t> typical_ds() const { return typical_ds_; }
    std::span<const std::uint32_t> variance_ds2() const { return variance_ds2_; }

private:
    void mark_waits();
    /// Both directions of each piece and of all its copies.
    template <typename Visit>
    void each_arc_of(std::span<const PieceId> pieces, const Visit& visit) const;

    std::shared_ptr<const RoadNetwork> network_;
    Means means_ = Means::car;
    RoadConditions conditions_;
    std::vector<std::uint32_t> typical_ds_;
    std::vector<std::uint32_t> variance_ds2_;
    /// Of roads that are open only at certain hours, by piece.
    std::map<PieceId, Timetable> hours_;
    /// Empty where nothing has a timetable.
    std::vector<bool> waits_;
    RoadSpeed off_road_;
    double off_road_detour_ = 1;
};

}  // namespace waybourne::routing
