#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>

#include "coverage/access.hpp"
#include "coverage/settlement_file.hpp"
#include "facilities/register_file.hpp"
#include "vocabulary/csv.hpp"

// Real places, from the file to a figure: 36 towns of Malawi (GeoNames, CC BY 4.0) and 648 public
// facilities (Maina et al., Sci Data 6:134, 2019, CC BY 4.0). Not part of this project. The
// facility list says nothing of what a place can do: this is a check of reading, joining and
// finding the nearest, never advice.

using namespace waybourne;
using namespace waybourne::coverage;

namespace {

std::string read(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

/// Those whose kind has this in its name, with one service so that they can be asked for.
std::vector<facilities::Facility> hospitals(const std::string& path) {
    facilities::ImportOptions options;
    options.bad_rows = facilities::BadRows::leave_out;
    options.columns = {{"latitude", "lat"}, {"longitude", "lon"}, {"kind", "type"}};
    options.defaults = {{"time_zone", "Africa/Blantyre"}};
    options.ignored_columns = {"country", "admin1", "ownership", "coordinate_source"};
    options.make_ids = true;
    const facilities::Import made = facilities::load_facilities(path, options);
    CHECK(made.left_out.size() >= 9);  // nine have no coordinates: reported, not dropped silently
    std::vector<facilities::Facility> all;
    for (facilities::Facility place : made.facilities) {
        if (place.kind.find("ospital") != std::string::npos) {
            facilities::Service service;
            service.capability = triage::Capability::operative_delivery;
            place.services = {service};
            all.push_back(std::move(place));
        }
    }
    return all;
}

/// As the crow flies at 60 km/h: one second is 1/60 km.
TravelTimes as_the_crow_flies(const std::vector<Settlement>& towns,
                              std::span<const facilities::Facility> places) {
    TravelTimes times(towns.size(), places.size());
    for (std::size_t i = 0; i < towns.size(); ++i) {
        for (std::size_t j = 0; j < places.size(); ++j) {
            const Metres way = great_circle_distance(towns[i].point, places[j].point);
            const Seconds time{static_cast<std::int64_t>(std::ceil(way.value() / 1000 * 60))};
            times.set(i, j, routing::TravelTime{time, time});
        }
    }
    return times;
}

}  // namespace

TEST_CASE(
    "Towns of Malawi: how far each is from a hospital agrees with the published coordinates") {
    const char* const data = std::getenv("WAYBOURNE_DATA");
    const std::string folder = std::string(data == nullptr ? "" : data) + "/planning/malawi";
    if (data == nullptr || !std::filesystem::exists(folder)) {
        CHECK_MESSAGE(std::getenv("CI") == nullptr, "WAYBOURNE_DATA must be set where CI is");
        MESSAGE("not run: WAYBOURNE_DATA does not hold planning/malawi");
        return;
    }
    SettlementImport options;
    // the crude birth rate does not matter here: people are counted below
    options.births_per_1000 = 30;
    options.columns = {
        {"id", "geonames_id"}, {"latitude", "lat"}, {"longitude", "lon"}, {"kind", "feature_code"}};
    options.ignored_columns = {"admin_code"};
    std::vector<Settlement> towns =
        read_settlements_csv(read(folder + "/malawi_settlements_geonames.csv"), options);
    REQUIRE(towns.size() == 36);
    const facilities::FacilityRegister places{hospitals(folder + "/malawi_public_facilities.csv")};
    CareClock clock(
        std::make_shared<const TravelTimes>(as_the_crow_flies(towns, places.facilities())), places,
        {}, ReadinessAssumption::as_registered, {0s, 0s});
    const auto nearest = access(clock, {{triage::Capability::operative_delivery}, 2h});

    SUBCASE("every town's distance is the one computed independently") {
        std::map<std::string, double> kilometres;
        for (const CsvRow& row : read_csv(read(folder + "/malawi_nearest_hospital_km.csv"))) {
            if (row.line > 1) {
                kilometres[row.values.at(0)] = std::stod(row.values.at(5));
            }
        }
        for (std::size_t i = 0; i < towns.size(); ++i) {
            CAPTURE(towns[i].name);
            const double ours = static_cast<double>(nearest[i].way->typical.count()) / 60;
            CHECK(ours == doctest::Approx(kilometres.at(towns[i].id.value())).epsilon(0.02));
        }
    }
    SUBCASE("people within 5, 10, 20, 30 and 50 km") {
        // as computed independently with a sphere of 6371.0088 km
        const std::map<int, double> people_within{
            {5, 1893528}, {10, 1896526}, {20, 1916383}, {30, 1920729}, {50, 1932348}};
        for (const auto& one : people_within) {
            const int km = one.first;
            CAPTURE(km);
            double within = 0;
            for (std::size_t i = 0; i < towns.size(); ++i) {
                within +=
                    nearest[i].way->typical <= std::chrono::minutes(km) ? *towns[i].population : 0;
            }
            CHECK(within == one.second);
        }
    }
}
