#include "vocabulary/time.hpp"

#include <doctest/doctest.h>

#include "vocabulary/error.hpp"

using namespace waybourne;

TEST_CASE("An instant is written in UTC, as RFC 3339 says") {
    CHECK(to_rfc3339(Instant{0s}) == "1970-01-01T00:00:00Z");
    CHECK(to_rfc3339(Instant{1772617200s}) == "2026-03-04T09:40:00Z");
}

TEST_CASE("The examples of RFC 3339, section 5.8, are read as the instants they mean") {
    CHECK(parse_rfc3339("1985-04-12T23:20:50.52Z") == Instant{482196050s});
    // "equivalent to 1996-12-20T00:39:57Z in UTC"
    CHECK(parse_rfc3339("1996-12-19T16:39:57-08:00") == parse_rfc3339("1996-12-20T00:39:57Z"));
    // a leap second counts as the second after it
    CHECK(parse_rfc3339("1990-12-31T23:59:60Z") == parse_rfc3339("1991-01-01T00:00:00Z"));
    CHECK(parse_rfc3339("1937-01-01T12:00:27.87+00:20") == parse_rfc3339("1937-01-01T11:40:27Z"));
}

TEST_CASE("What is written can be read back") {
    for (const Seconds since : {0s, 1s, 951782400s, 1772617200s, 4102444799s}) {
        CHECK(parse_rfc3339(to_rfc3339(Instant{since})) == Instant{since});
    }
}

TEST_CASE("What is not an RFC 3339 instant is refused and shown") {
    for (const char* wrong :
         {"", "yesterday", "2026-03-04", "2026-03-04T09:40Z", "2026-03-04T09:40:00",
          "2026-02-30T09:40:00Z", "2026-13-01T00:00:00Z", "2026-03-04T24:00:00Z",
          "2026-03-04T09:60:00Z", "2026-03-04T09:40:00.Z", "2026-03-04T09:40:00+2:00",
          "2026-03-04T09:40:00Zz", "2026-03-04T09:40:00+24:00", "20260304T094000Z"}) {
        CAPTURE(wrong);
        CHECK_THROWS_AS(parse_rfc3339(wrong), InputError);
    }
    CHECK_THROWS_WITH(parse_rfc3339("noon"),
                      "'noon' is not an RFC 3339 instant such as 2026-03-04T09:40:00Z");
}

TEST_CASE("Minutes are rounded up, so that a promise is never shorter than the truth") {
    CHECK(ceil_minutes(40min) == 40min);
    CHECK(ceil_minutes(40min + 1s) == 41min);
    CHECK(ceil_minutes(0s) == 0min);
    CHECK(ceil_minutes(-90s) == -1min);
}
