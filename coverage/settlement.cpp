#include "coverage/settlement.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace waybourne::coverage {

namespace {

/// Degrees east of the point, the short way round.
double east_of(const GeoPoint& corner, const GeoPoint& point) {
    return std::remainder(corner.longitude().degrees - point.longitude().degrees, 360.0);
}

/// How often a ray from the point to the east crosses the ring.
std::size_t crossings(const Area::Ring& ring, const GeoPoint& point) {
    std::size_t count = 0;
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
        const double from = ring[i].latitude().degrees - point.latitude().degrees;
        const double to = ring[i + 1].latitude().degrees - point.latitude().degrees;
        if ((from > 0) == (to > 0)) {
            continue;
        }
        const double x = east_of(ring[i], point);
        const double step =
            std::remainder(ring[i + 1].longitude().degrees - ring[i].longitude().degrees, 360.0);
        if (x + step * from / (from - to) > 0) {
            ++count;
        }
    }
    return count;
}

}  // namespace

double births_of(std::span<const Settlement> settlements) {
    return std::accumulate(
        settlements.begin(), settlements.end(), 0.0,
        [](double sum, const Settlement& one) { return sum + one.births_per_year; });
}

bool contains(const Area& area, const GeoPoint& point) {
    return std::any_of(area.polygons.begin(), area.polygons.end(),
                       [&](const Area::Polygon& polygon) {
                           std::size_t count = 0;
                           for (const Area::Ring& ring : polygon) {
                               count += crossings(ring, point);
                           }
                           return count % 2 == 1;
                       });
}

std::vector<Settlement> with_areas(std::vector<Settlement> settlements,
                                   std::span<const Area> areas) {
    for (Settlement& settlement : settlements) {
        const auto found = std::find_if(areas.begin(), areas.end(), [&](const Area& area) {
            return contains(area, settlement.point);
        });
        settlement.area = found == areas.end() ? AreaId{} : found->id;
    }
    return settlements;
}

std::vector<AreaTotal> area_totals(std::span<const Settlement> settlements,
                                   std::span<const Area> areas) {
    std::vector<AreaTotal> totals;
    for (const Area& area : areas) {
        totals.push_back({area.id, 0, 0, area.births_per_year});
    }
    AreaTotal outside;
    for (const Settlement& settlement : settlements) {
        const auto found = std::find_if(totals.begin(), totals.end(), [&](const AreaTotal& total) {
            return total.area == settlement.area;
        });
        AreaTotal& total = found == totals.end() ? outside : *found;
        total.births_per_year += settlement.births_per_year;
        ++total.settlements;
    }
    if (outside.settlements > 0) {
        totals.push_back(outside);
    }
    return totals;
}

}  // namespace waybourne::coverage
