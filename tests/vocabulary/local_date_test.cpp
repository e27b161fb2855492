#include "vocabulary/local_date.hpp"

#include <doctest/doctest.h>

using namespace waybourne;
using namespace std::chrono_literals;

namespace {

struct Shown {
    Seconds since_1970;
    std::chrono::year_month_day date;
    std::chrono::weekday weekday;
    Seconds clock;
};

}  // namespace

// Expected: GNU date 9.1, `date -u -d @SECONDS '+%F %a %T'`.
TEST_CASE(
    "A local time shows the date, the weekday and the time that a calendar and a clock show") {
    using std::chrono::Thursday, std::chrono::Tuesday, std::chrono::Monday, std::chrono::Wednesday;
    const Shown all[] = {
        {0s, 1970y / 1 / 1, Thursday, 0s},
        {951782400s, 2000y / 2 / 29, Tuesday, 0s},
        {1796083199s, 2026y / 11 / 30, Monday, 23h + 59min + 59s},
        {-1s, 1969y / 12 / 31, Wednesday, 23h + 59min + 59s},
    };
    for (const Shown& shown : all) {
        CAPTURE(shown.since_1970.count());
        const LocalTime local{shown.since_1970};
        CHECK(std::chrono::year_month_day{day_of(local)} == shown.date);
        CHECK(std::chrono::weekday{day_of(local)} == shown.weekday);
        CHECK(time_of_day(local) == shown.clock);
    }
}
