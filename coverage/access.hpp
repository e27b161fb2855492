#pragma once
/// Who reaches the care that is asked for within a time standard, where, and who does not.

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "coverage/care_times.hpp"
#include "coverage/settlement.hpp"

namespace waybourne::coverage {

/// The four classes of a settlement. They are disjoint and make up the whole.
enum class AccessClass : std::uint8_t {
    in_time,   ///< care known to be ready begins within the standard
    beyond,    ///< it begins later or never, and nothing unknown could change that
    no_route,  ///< no way leads to any place that offers it
    unknown,  ///< a place whose readiness is not known, or a way that is not, could make it in time
};

/// `in_time`, `beyond`, `no_route`, `unknown`
std::string_view to_name(AccessClass access);

/// How well one settlement is placed. Times since the decision until care begins.
struct SettlementAccess {
    AccessClass access = AccessClass::no_route;
    /// The place known to be ready where care begins first (by allowed time, then the lower
    /// number): its number, when care begins, and what of it is the way alone. None: there is no
    /// such place.
    std::optional<std::uint32_t> place;
    std::optional<routing::TravelTime> care;
    std::optional<routing::TravelTime> way;
    /// The same if every place whose readiness is not known were ready.
    std::optional<std::uint32_t> place_at_best;
    std::optional<routing::TravelTime> care_at_best;
    /// How many places known to be ready are in time; two or more is double cover.
    std::uint32_t places_in_time = 0;
    bool operator==(const SettlementAccess&) const = default;
};

/// What is asked.
struct AccessQuestion {
    triage::CapabilitySet needed;
    /// Equality counts as in time. Judged by the allowed time.
    Seconds standard{2h};
};

/// One per settlement.
/// @param is_on_the_map false for those whose nearest road is too far to be told: `unknown`; empty:
///        all are on it
/// O(settlements × places × needed).
std::vector<SettlementAccess> access(CareClock& clock, const AccessQuestion& question,
                                     const std::vector<bool>& is_on_the_map = {});

/// Births a year in each class, and what they add up to.
struct AccessTotal {
    double births = 0;
    double in_time = 0;
    double beyond = 0;
    double no_route = 0;
    double unknown = 0;
    /// In time when judged by the typical time instead of the allowed one.
    double in_time_typically = 0;
    /// In time when only the way is counted, without what comes before and after it.
    double way_in_time = 0;
    double double_cover = 0;
    std::size_t settlements = 0;

    /// Bounds of the share in time: what is known to be, and that with all that is unknown. None
    /// where there are no births.
    std::optional<double> at_least() const { return share(in_time); }
    std::optional<double> at_most() const { return share(in_time + unknown); }
    std::optional<double> share(double part) const {
        return births > 0 ? std::optional(part / births) : std::nullopt;
    }
    bool operator==(const AccessTotal&) const = default;
};

/// @param settlements as many as accesses
AccessTotal total(std::span<const Settlement> settlements,
                  std::span<const SettlementAccess> accesses, Seconds standard);

struct AreaAccess {
    AreaId area;
    AccessTotal total;
};

/// By sub-district, in the order of their ids; those in none first, under an empty id.
std::vector<AreaAccess> total_by_area(std::span<const Settlement> settlements,
                                      std::span<const SettlementAccess> accesses, Seconds standard);

/// What would come to each place if every woman went where care begins first.
struct PlaceLoad {
    /// Births a year of all who would come, and of those in time among them.
    double births = 0;
    double births_in_time = 0;
    /// How many times its capacity that is; none where the capacity is not known.
    std::optional<double> of_capacity;
    bool operator==(const PlaceLoad&) const = default;
};

/// @param capacity births a year of each place; empty: of none known
std::vector<PlaceLoad> loads(std::span<const Settlement> settlements,
                             std::span<const SettlementAccess> accesses, std::size_t places,
                             std::span<const std::optional<double>> capacity = {});

/// Share of all births in time under each standard.
struct CurvePoint {
    Seconds standard{};
    double at_least = 0;
    double at_most = 0;
    double way_only = 0;
    bool operator==(const CurvePoint&) const = default;
};

/// 0, 15, … 360 minutes: one cut-off says little. Empty without births.
std::vector<CurvePoint> curve(std::span<const Settlement> settlements,
                              std::span<const SettlementAccess> accesses);

/// Who has access in one scenario and not in the other.
struct Loss {
    /// Numbers of the settlements that are in time in `before` and known not to be in `after`; most
    /// births first.
    std::vector<std::size_t> lost;
    double births_lost = 0;
    /// In time before, and afterwards it is not known.
    double births_in_doubt = 0;
    double births_gained = 0;
    bool operator==(const Loss&) const = default;
};

/// Seasonal loss: dry against wet. Night loss: day against night.
Loss loss(std::span<const Settlement> settlements, std::span<const SettlementAccess> before,
          std::span<const SettlementAccess> after);

}  // namespace waybourne::coverage
