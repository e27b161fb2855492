/// Registers and reports from anywhere: whatever the bytes are, they are read or refused.
/// The first byte chooses the reader; the rest is the text.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "facilities/register_file.hpp"
#include "tests/fuzz/attempt.hpp"

namespace {

using namespace waybourne;
using namespace waybourne::facilities;

/// What was read makes a register, and is read back the same.
void use(const Import& made) {
    const FacilityRegister facilities(made.facilities, made.holidays);
    const Import again = read_facilities_geojson(to_geojson(made.facilities, made.holidays));
    if (again.facilities != made.facilities) {
        std::abort();
    }
}

void read_one(std::uint8_t reader, std::string_view text) {
    ImportOptions options;
    options.bad_rows = BadRows::leave_out;
    options.make_ids = true;
    switch (reader % 4) {
        case 0:
            use(read_facilities_geojson(text, options));
            break;
        case 1:
            use(read_facilities_csv(text, options));
            break;
        case 2:
            if (const auto reports = read_reports(text);
                read_reports(to_json(reports)) != reports) {
                std::abort();
            }
            break;
        default: {
            const OpeningHours hours = parse_opening_hours(text);
            const auto opens = hours.next_open(Instant{Seconds{0}}, TimeZone{}, {});
            if (opens && !hours.is_open(*opens, TimeZone{}, {})) {
                std::abort();
            }
        }
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::attempt_chosen(data, size, read_one);
    return 0;
}
