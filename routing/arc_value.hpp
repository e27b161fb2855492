#pragma once
/// What can be written on the arcs of a hierarchy and added up along a way.

#include <algorithm>
#include <array>
#include <cstdint>

#include "routing/metric.hpp"

namespace waybourne::routing {

// Each kind of value has: `closed()`, greater than any open value; `sum` of two values that are not
// greater than closed(), which does not wrap and is not less than closed() if one of them is
// closed; `lesser` of two values. Sums are never stored unless they are less than closed().

/// A typical time in ds.
struct Time {
    std::uint32_t ds = closed_ds;

    static constexpr Time closed() { return {closed_ds}; }
    static constexpr Time none() { return {0}; }
    constexpr bool is_open() const { return ds < closed_ds; }
    friend constexpr Time sum(Time a, Time b) { return {a.ds + b.ds}; }
    friend constexpr Time lesser(Time a, Time b) { return {std::min(a.ds, b.ds)}; }
    constexpr auto operator<=>(const Time&) const = default;
};

/// A typical time in ds and, below it in one number, a variance in ds²: compared by time, then by
/// variance, so that of equally quick ways the one with the least spread is meant. The variance
/// stays at its greatest, 2³² - 1, instead of wrapping (as `Weight` does).
struct TimeAndSpread {
    std::uint64_t packed = std::uint64_t{closed_ds} << 32;

    static constexpr TimeAndSpread of(std::uint32_t typical_ds, std::uint32_t variance_ds2) {
        return {std::uint64_t{typical_ds} << 32 | variance_ds2};
    }
    static constexpr TimeAndSpread closed() { return of(closed_ds, 0); }
    static constexpr TimeAndSpread none() { return {0}; }
    constexpr std::uint32_t typical_ds() const { return static_cast<std::uint32_t>(packed >> 32); }
    constexpr std::uint32_t variance_ds2() const { return static_cast<std::uint32_t>(packed); }
    constexpr bool is_open() const { return packed < closed().packed; }
    friend constexpr TimeAndSpread sum(TimeAndSpread a, TimeAndSpread b) {
        const std::uint64_t both = a.packed + b.packed;
        if (static_cast<std::uint32_t>(both) < a.variance_ds2()) [[unlikely]] {  // it has wrapped
            return {(both - (std::uint64_t{1} << 32)) | 0xffffffffU};
        }
        return {both};
    }
    friend constexpr TimeAndSpread lesser(TimeAndSpread a, TimeAndSpread b) {
        return {std::min(a.packed, b.packed)};
    }
    constexpr auto operator<=>(const TimeAndSpread&) const = default;
};

/// The values of a metric's arcs, read where they lie.
struct MetricValues {
    const Metric& metric;

    std::size_t size() const { return metric.typical_ds().size(); }
    TimeAndSpread operator[](std::size_t arc) const {
        const std::uint32_t typical = metric.typical_ds()[arc];
        return typical < closed_ds ? TimeAndSpread::of(typical, metric.variance_ds2()[arc])
                                   : TimeAndSpread::closed();
    }
};

/// Typical times under several sets of road conditions at once, for one pass over the arcs.
template <std::size_t Lanes>
struct Times {
    std::array<std::uint32_t, Lanes> ds;

    static constexpr Times closed() {
        Times all;
        all.ds.fill(closed_ds);
        return all;
    }
    friend Times sum(const Times& a, const Times& b) {
        Times all;
        for (std::size_t i = 0; i < Lanes; ++i) {
            all.ds[i] = a.ds[i] + b.ds[i];
        }
        return all;
    }
    friend Times lesser(const Times& a, const Times& b) {
        Times all;
        for (std::size_t i = 0; i < Lanes; ++i) {
            all.ds[i] = std::min(a.ds[i], b.ds[i]);
        }
        return all;
    }
    bool operator==(const Times&) const = default;
};

/// The values of an up arc: from its lower to its higher end, and back.
template <typename Value>
struct BothWays {
    Value up = Value::closed();
    Value down = Value::closed();
    bool operator==(const BothWays&) const = default;

    friend constexpr BothWays lesser(const BothWays& a, const BothWays& b) {
        return {lesser(a.up, b.up), lesser(a.down, b.down)};
    }
};

/// What the triangle over `xy` and `xz` says of the up arc yz: down one leg and up the other.
template <typename Value>
constexpr BothWays<Value> across(const BothWays<Value>& xy, const BothWays<Value>& xz) {
    return {sum(xy.down, xz.up), sum(xz.down, xy.up)};
}

}  // namespace waybourne::routing
