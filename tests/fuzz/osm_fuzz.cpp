/// Map files from outside, in both forms: the first byte chooses.

#include <cstddef>
#include <cstdint>
#include <fstream>
#include <sstream>
#include <string_view>

#include "routing/osm_import.hpp"
#include "vocabulary/error.hpp"

namespace {

const waybourne::routing::SpeedTable& speeds() {
    static const waybourne::routing::SpeedTable table = [] {
        std::ostringstream content;
        content << std::ifstream{WAYBOURNE_SOURCE_DIR "/routing/data/speeds.json"}.rdbuf();
        return waybourne::routing::parse_speed_table(content.str());
    }();
    return table;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    if (size == 0) {
        return 0;
    }
    const std::string_view content{reinterpret_cast<const char*>(data) + 1, size - 1};
    try {
        waybourne::routing::import_osm_text(content, data[0] % 2 == 0 ? "osm" : "osm.pbf",
                                            speeds());
    } catch (const waybourne::InputError&) {
        return 0;  // the only answer that a bad file may get
    }
    return 0;
}
