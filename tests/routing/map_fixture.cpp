#include "tests/routing/map_fixture.hpp"

#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <iostream>
#include <sstream>

#include "routing/speed_rules.hpp"

namespace waybourne::tests {

using namespace routing;

namespace {

const std::string source_folder = WAYBOURNE_SOURCE_DIR;

}  // namespace

std::string file_content(const std::string& path) {
    std::ifstream file{path, std::ios::binary};
    REQUIRE_MESSAGE(file.good(), path);
    std::ostringstream content;
    content << file.rdbuf();
    return content.str();
}

const SpeedTable& speed_table() {
    static const SpeedTable table =
        parse_speed_table(file_content(source_folder + "/routing/data/speeds.json"));
    return table;
}

ImportedMap import_fixture(const std::string& name) {
    return import_osm(source_folder + "/tests/routing/fixtures/" + name + ".osm", speed_table(),
                      {.time_zone = "Pacific/Fiji", .examples = 5});
}

std::size_t pieces_named(const RoadNetwork& network, const std::string& name) {
    std::size_t count = 0;
    for (const Piece& piece : network.pieces()) {
        count += network.name_of(piece) == name ? 1U : 0U;
    }
    return count;
}

const Piece& piece_named(const RoadNetwork& network, const std::string& name) {
    REQUIRE_MESSAGE(pieces_named(network, name) == 1, name);
    std::size_t i = 0;
    while (network.name_of(network.pieces()[i]) != name) {
        ++i;
    }
    return network.pieces()[i];
}

std::string who(const RoadNetwork& network, ArcId arc) {
    std::string result;
    const auto add = [&](Means means, const char* word) {
        if (arc.exists() && network.means(arc).has(means)) {
            result += result.empty() ? word : std::string{" "} + word;
        }
    };
    add(Means::on_foot, "foot");
    add(Means::motorcycle, "motorcycle");
    add(Means::car, "car");
    add(Means::four_wheel_drive, "4wd");
    return result.empty() ? "nobody" : result;
}

std::uint64_t times(const std::vector<ImportRemark>& remarks, const std::string& reason) {
    for (const ImportRemark& remark : remarks) {
        if (remark.reason == reason) {
            return remark.count;
        }
    }
    return 0;
}

std::optional<std::string> outside_data() {
    const char* folder = std::getenv("WAYBOURNE_DATA");
    if (folder != nullptr) {
        return folder;
    }
    CHECK_MESSAGE(std::getenv("CI") == nullptr,
                  "WAYBOURNE_DATA must be set where CI is: see tests/sources");
    std::cout << "not run for want of the outside data: set WAYBOURNE_DATA to the folder that "
                 "holds roads/\n";
    return std::nullopt;
}

std::shared_ptr<const RoadNetwork> real_roads(const std::string& data, const std::string& name) {
    return std::make_shared<const RoadNetwork>(
        import_osm(data + "/roads/" + name + ".osm.pbf", speed_table()).network);
}

std::shared_ptr<const Metric> real_metric(const std::string& data, const std::string& name,
                                          RoadConditions conditions) {
    return std::make_shared<const Metric>(real_roads(data, name),
                                          speed_rules(speed_table(), Means::car, conditions));
}

void each_real_map(const std::function<void(const std::string& name)>& visit) {
    for (const char* name : {"campo-grande", "liechtenstein", "fiji-ferry", "andorra"}) {
        CAPTURE(name);
        visit(name);
    }
}

}  // namespace waybourne::tests
