#include "tests/coverage/sample_district.hpp"

#include <algorithm>
#include <fstream>
#include <sstream>

#include "coverage/settlement_file.hpp"
#include "facilities/register_file.hpp"
#include "routing/osm_import.hpp"
#include "routing/reference_router.hpp"

namespace waybourne::coverage {

namespace {

const std::string root = WAYBOURNE_SOURCE_DIR;
const std::string folder = root + "/maps-sample/";

std::string read(const std::string& path) {
    std::ifstream file{path, std::ios::binary};
    std::ostringstream content;
    content << file.rdbuf();
    return content.str();
}

facilities::FacilityRegister load_register() {
    facilities::Import import = facilities::load_facilities(folder + "facilities.geojson");
    return facilities::FacilityRegister{std::move(import.facilities), import.holidays}.with(
        facilities::load_reports(folder + "reports.json"));
}

}  // namespace

SampleDistrict::SampleDistrict()
    : speeds_(routing::parse_speed_table(read(root + "/routing/data/speeds.json"))),
      network_(std::make_shared<const routing::RoadNetwork>(
          routing::import_osm(folder + "roads.osm", speeds_, {.time_zone = "Etc/UTC"}).network)),
      index_(network_),
      facilities_(load_register()),
      settlements_(load_settlements(folder + "settlements.geojson")),
      now_(parse_rfc3339("2026-03-04T09:40:00Z")) {}

std::shared_ptr<const routing::Metric> SampleDistrict::metric(
    routing::RoadConditions conditions) const {
    return std::make_shared<const routing::Metric>(
        network_, routing::speed_rules(speeds_, routing::Means::car, conditions));
}

std::vector<std::optional<routing::Snap>> SampleDistrict::settlement_snaps(
    const routing::Metric& metric) const {
    std::vector<std::optional<routing::Snap>> snaps;
    for (const Settlement& one : settlements_) {
        snaps.push_back(index_.snap(one.point, metric));
    }
    return snaps;
}

std::vector<std::optional<routing::Snap>> SampleDistrict::place_snaps(
    const routing::Metric& metric) const {
    std::vector<std::optional<routing::Snap>> snaps;
    for (const facilities::Facility& one : facilities_.facilities()) {
        snaps.push_back(index_.snap(one.point, metric));
    }
    return snaps;
}

std::shared_ptr<const TravelTimes> SampleDistrict::ways(routing::RoadConditions conditions,
                                                        Instant at) const {
    const auto roads = metric(conditions);
    routing::ReferenceRouter router{roads};
    return std::make_shared<const TravelTimes>(
        travel_times(router, settlement_snaps(*roads), place_snaps(*roads), at));
}

std::size_t SampleDistrict::settlement(const std::string& id) const {
    const auto found = std::find_if(settlements_.begin(), settlements_.end(),
                                    [&](const Settlement& one) { return one.id.value() == id; });
    return static_cast<std::size_t>(found - settlements_.begin());
}

const SampleDistrict& sample() {
    static const SampleDistrict district;
    return district;
}

}  // namespace waybourne::coverage
