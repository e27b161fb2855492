#pragma once
/// Where women live, and how many births a year are expected there.

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "vocabulary/geo_point.hpp"
#include "vocabulary/identifier.hpp"

namespace waybourne {
using SettlementId = Id<struct SettlementTag>;
using AreaId = Id<struct AreaTag>;
}  // namespace waybourne

namespace waybourne::coverage {

/// A village, a town, or a cell of a grid.
struct Settlement {
    SettlementId id;
    std::string name;
    /// e.g. `town`, `village`: shown to people, never decides.
    std::string kind;
    GeoPoint point{Latitude{0}, Longitude{0}};
    std::optional<double> population;
    /// Expected, not negative.
    double births_per_year = 0;
    /// Worked out from the population and a birth rate, not counted.
    bool births_are_estimated = false;
    /// The sub-district it belongs to; empty where none was imported or none contains it.
    AreaId area;
    /// 1 for the poorest of all; only their order counts.
    std::optional<double> wealth_rank;
    bool operator==(const Settlement&) const = default;
};

/// A sub-district: polygons, each an outer ring and its holes, each ring closed.
struct Area {
    using Ring = std::vector<GeoPoint>;
    using Polygon = std::vector<Ring>;
    AreaId id;
    std::string name;
    std::vector<Polygon> polygons;
    /// The official figure, where one is known: totals are held against it.
    std::optional<double> births_per_year;
    bool operator==(const Area&) const = default;
};

double births_of(std::span<const Settlement> settlements);

/// Whether the point lies in the area, by the even-odd rule along a ray to the east (from memory of
/// any textbook of computational geometry). A point on a border may count to either side. No area
/// spans 180° of longitude; one may cross the 180° meridian. O(corners).
bool contains(const Area& area, const GeoPoint& point);

/// Each settlement with the area that contains it; of two that overlap the first.
std::vector<Settlement> with_areas(std::vector<Settlement> settlements,
                                   std::span<const Area> areas);

/// One line of the table that is shown before the first map: do the totals agree?
struct AreaTotal {
    AreaId area;
    double births_per_year = 0;
    std::size_t settlements = 0;
    std::optional<double> official_births_per_year;
    bool operator==(const AreaTotal&) const = default;
};

/// One per area in the order given, then those outside every area under an empty id, if there are
/// any: the sum is always that of all settlements.
std::vector<AreaTotal> area_totals(std::span<const Settlement> settlements,
                                   std::span<const Area> areas);

}  // namespace waybourne::coverage
