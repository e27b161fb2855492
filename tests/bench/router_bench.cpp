/// How fast the country router is, beside Boost.Graph, LEMON and igraph in the same process, on a
/// generated network, a network file or real maps (those in the folder `roads` of WAYBOURNE_DATA).

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <sstream>

#include "routing/osm_import.hpp"
#include "tests/bench/router_measures.hpp"

using namespace waybourne;
using namespace waybourne::bench;

namespace {

void measure(const Arguments& arguments, BenchNetwork network) {
    Workbench bench{arguments, std::move(network)};
    measure_yardsticks(bench);
    measure_build(bench);
    measure_customise(bench);
    measure_queries(bench);
    measure_sweeps(bench);
    measure_planning(bench);
    measure_snapping(bench);
}

void measure_real_maps(const Arguments& arguments, const std::filesystem::path& folder) {
    std::ostringstream content;
    content << std::ifstream{WAYBOURNE_SOURCE_DIR "/routing/data/speeds.json"}.rdbuf();
    const routing::SpeedTable speeds = routing::parse_speed_table(content.str());
    std::vector<std::filesystem::path> files;
    for (const auto& entry : std::filesystem::directory_iterator{folder}) {
        if (entry.path().string().ends_with(".osm.pbf")) {
            files.push_back(entry.path());
        }
    }
    std::sort(files.begin(), files.end());
    for (const auto& file : files) {
        const auto import = routing::import_osm(file, speeds);
        measure(arguments, bench_network_of(import.network, speeds, file.filename().string()));
    }
}

}  // namespace

int main(int count, char** values) {
    const Arguments arguments = parse_arguments(count, values);
    std::cerr << "compiled with g++ " << __VERSION__ << ' ' << WAYBOURNE_FLAGS << '\n';
    if (!arguments.network.empty()) {
        measure(arguments, read_rnet(arguments.network));
        return 0;
    }
    measure(arguments, made_bench_network(static_cast<std::uint32_t>(arguments.size)));
    const char* data = std::getenv("WAYBOURNE_DATA");
    if (data != nullptr) {
        measure_real_maps(arguments, std::filesystem::path{data} / "roads");
    }
    return 0;
}
