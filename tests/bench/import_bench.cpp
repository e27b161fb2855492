/// How fast a map becomes a road network, beside a bare reading of the same file by libosmium in
/// the same process. Maps: those in the folder `roads` of WAYBOURNE_DATA and Debian's own samples.

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <osmium/io/bzip2_compression.hpp>
#include <osmium/io/pbf_input.hpp>
#include <osmium/io/reader.hpp>
#include <osmium/io/xml_input.hpp>
#include <sstream>

#include "routing/network_file.hpp"
#include "routing/osm_import.hpp"
#include "tests/bench/figure.hpp"

using namespace waybourne;
using namespace waybourne::routing;

namespace {

constexpr int runs = 7;
constexpr double megabyte = 1e6;

SpeedTable speeds() {
    std::ostringstream content;
    content << std::ifstream{WAYBOURNE_SOURCE_DIR "/routing/data/speeds.json"}.rdbuf();
    return parse_speed_table(content.str());
}

std::vector<std::filesystem::path> maps() {
    std::vector<std::filesystem::path> result;
    const char* data = std::getenv("WAYBOURNE_DATA");
    const std::filesystem::path folder =
        data != nullptr ? std::filesystem::path{data} / "roads"
                        : "/usr/share/doc/python-osmnx-doc/examples/tests/input_data";
    if (std::filesystem::exists(folder)) {
        for (const auto& entry : std::filesystem::directory_iterator{folder}) {
            if (entry.path().string().find(".osm") != std::string::npos) {
                result.push_back(entry.path());
            }
        }
    }
    std::sort(result.begin(), result.end());
    return result;
}

/// Every object decoded, nothing done with it.
void read_bare(const std::filesystem::path& file) {
    osmium::io::Reader reader{file.string()};
    std::size_t objects = 0;
    while (const osmium::memory::Buffer buffer = reader.read()) {
        for (const osmium::OSMEntity& entity : buffer) {
            objects += static_cast<std::size_t>(entity.type());
        }
    }
    reader.close();
    bench::keep(objects);
}

void measure(const std::filesystem::path& file, const SpeedTable& table) {
    const std::string network = file.filename().string();
    const double megabytes = static_cast<double>(std::filesystem::file_size(file)) / megabyte;
    const double bare = bench::median_seconds(runs, [&] { read_bare(file); });
    const double import = bench::median_seconds(
        runs, [&] { bench::keep(import_osm(file, table).network.arc_count()); });
    bench::print(
        {"R17", "import to the junction graph", megabytes / import, "MB/s", "", ">= 20", network});
    bench::print({"import_ratio", "import beside a bare reading of the same file", import / bare,
                  "ratio", "libosmium, all objects decoded", "<= 3", network});
    bench::print(
        {"bare_read", "bare reading of the same file", megabytes / bare, "MB/s", "", "", network});
}

/// Opening and verifying, on the largest map there is.
void measure_file(const std::filesystem::path& map, const SpeedTable& table) {
    const std::string network = map.filename().string();
    const std::filesystem::path path =
        std::filesystem::temp_directory_path() / "waybourne_import_bench.roads";
    write_network_file(path, import_osm(map, table).network, std::string(64, '0'));
    const double open = bench::median_seconds(
        runs, [&] { bench::keep(NetworkFile::open(path).network()->node_count()); });
    const NetworkFile file = NetworkFile::open(path);
    const double verify = bench::median_seconds(runs, [&] { file.verify(); });
    const double megabytes = static_cast<double>(std::filesystem::file_size(path)) / megabyte;
    bench::print(
        {"network_open", "opening a network file", open * 1e3, "ms", "", "<= 10", network});
    bench::print({"network_verify", "verifying a network file", megabytes / verify, "MB/s", "",
                  ">= 400", network});
    std::filesystem::remove(path);
}

}  // namespace

int main(int count, char** values) {
    const bench::Arguments arguments = bench::parse_arguments(count, values);
    if (!arguments.wants("R17") && !arguments.wants("import_ratio")) {
        return 0;
    }
    const SpeedTable table = speeds();
    const std::vector<std::filesystem::path> files = maps();
    for (const auto& file : files) {
        measure(file, table);
    }
    const auto largest = std::max_element(files.begin(), files.end(), [](auto& a, auto& b) {
        return std::filesystem::file_size(a) < std::filesystem::file_size(b);
    });
    if (largest != files.end()) {
        measure_file(*largest, table);
    }
    return 0;
}
