#include "server/settlements.hpp"

#include <algorithm>
#include <cmath>

#include "coverage/settlement_file.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// How far beyond the outermost junctions a settlement may lie and still be on the map.
constexpr double margin_degrees = 0.5;

/// A box around the roads, in degrees from its first junction, so that the 180° meridian is no
/// border.
class MapBox {
public:
    explicit MapBox(const routing::RoadNetwork& network)
        : first_(routing::to_geo_point(network.point(routing::NodeId{0}))) {
        for (std::uint32_t node = 0; node < network.node_count(); ++node) {
            const auto [north, east] = from_first(routing::to_geo_point(network.point({node})));
            north_ = std::max(north_, north);
            south_ = std::min(south_, north);
            east_ = std::max(east_, east);
            west_ = std::min(west_, east);
        }
    }
    bool contains(const GeoPoint& point) const {
        const auto [north, east] = from_first(point);
        return north <= north_ + margin_degrees && north >= south_ - margin_degrees &&
               east <= east_ + margin_degrees && east >= west_ - margin_degrees;
    }

private:
    std::pair<double, double> from_first(const GeoPoint& point) const {
        return {point.latitude().degrees - first_.latitude().degrees,
                std::remainder(point.longitude().degrees - first_.longitude().degrees, 360.0)};
    }
    GeoPoint first_;
    double north_ = 0;
    double south_ = 0;
    double east_ = 0;
    double west_ = 0;
};

}  // namespace

std::vector<coverage::Area> areas_of(const Snapshot& snapshot, const std::string& file) {
    if (!file.empty()) {
        return coverage::load_areas(file);
    }
    const auto named = snapshot.district.files.find("areas");
    return named == snapshot.district.files.end()
               ? std::vector<coverage::Area>{}
               : coverage::load_areas((snapshot.folder / named->second).string());
}

std::vector<coverage::Settlement> settlements_of(const Snapshot& snapshot,
                                                 const SettlementSource& source) {
    const bool is_own = source.file.empty() && !source.births_per_1000;
    auto settlements =
        is_own && snapshot.settlements ? *snapshot.settlements : read_settlements(snapshot, source);
    const auto areas = areas_of(snapshot, source.areas);
    return areas.empty() ? settlements : coverage::with_areas(std::move(settlements), areas);
}

std::vector<coverage::Settlement> read_settlements(const Snapshot& snapshot,
                                                   const SettlementSource& source) {
    std::string file = source.file;
    if (file.empty()) {
        const auto named = snapshot.district.files.find("settlements");
        if (named == snapshot.district.files.end()) {
            throw InputError("the district names no settlements: give a file of them");
        }
        file = (snapshot.folder / named->second).string();
    }
    const MapBox box(snapshot.roads->network());
    coverage::SettlementImport import;
    import.births_per_1000 = source.births_per_1000;
    import.is_on_map = [&](const GeoPoint& point) { return box.contains(point);
};
return coverage::load_settlements(file, import);
}  // namespace waybourne::server

}  // namespace waybourne::server
