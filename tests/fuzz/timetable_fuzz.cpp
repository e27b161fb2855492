/// Ferry timetables and crossing times as strangers write them into the map.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "routing/ferry.hpp"
#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::routing;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string_view text{reinterpret_cast<const char*>(data), size};
    try {
        parse_duration(text);
    } catch (const InputError&) {
    }
    try {
        const ReadTimetable read = parse_timetable(text, "Europe/London");
        // Six hours apart for two weeks around the change of clocks of 2026-03-29.
        Instant last{};
        for (Instant now{Seconds{1'774'000'000}}; now < Instant{Seconds{1'775'200'000}};
             now += Seconds{6 * 3600}) {
            const std::optional<Instant> departure = read.timetable.next_departure(now);
            if (departure && (*departure < now || *departure < last)) {
                std::abort();  // an earlier or a backward departure
            }
            last = departure.value_or(last);
        }
    } catch (const InputError&) {
        return 0;
    }
    return 0;
}
