#include "routing/ferry.hpp"

#include <doctest/doctest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <random>

#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::routing;

namespace {

Instant at(const char* text) {
    return parse_rfc3339(text);
}

constexpr std::chrono::minutes day(int number) {
    return number * std::chrono::minutes{24 * 60};
}

/// Every day at this minute.
std::vector<Sailing> daily(std::chrono::minutes minute) {
    std::vector<Sailing> sailings;
    for (int i = 0; i < 7; ++i) {
        sailings.push_back({day(i) + minute, day(i) + minute});
    }
    return sailings;
}

nlohmann::json table_rows(const std::string& name) {
    const std::string path = std::string{WAYBOURNE_SOURCE_DIR} + "/tests/sources/" + name;
    std::ifstream file{path};
    REQUIRE_MESSAGE(file.good(), path);
    const nlohmann::json table = nlohmann::json::parse(file);
    REQUIRE(table.contains("source"));
    return table.at("rows");
}

}  // namespace

TEST_CASE("She catches the sailing of this minute, and waits for the next a second later") {
    // 2026-03-04 is a Wednesday. Fiji is twelve hours ahead: 18:00 UTC on Tuesday is 06:00.
    const Timetable ferry{"Pacific/Fiji", daily(6h)};
    CHECK(ferry.next_departure(at("2026-03-03T17:59:59Z")) == at("2026-03-03T18:00:00Z"));
    CHECK(ferry.next_departure(at("2026-03-03T18:00:00Z")) == at("2026-03-03T18:00:00Z"));
    CHECK(ferry.next_departure(at("2026-03-03T18:00:01Z")) == at("2026-03-04T18:00:00Z"));
}

TEST_CASE("After the last ferry of Saturday she waits until Monday") {
    const Timetable ferry{"UTC", {{day(0) + 7h, day(0) + 7h}, {day(5) + 18h, day(5) + 18h}}};
    CHECK(ferry.next_departure(at("2026-03-07T18:00:00Z")) == at("2026-03-07T18:00:00Z"));
    CHECK(ferry.next_departure(at("2026-03-07T18:00:01Z")) == at("2026-03-09T07:00:00Z"));
    CHECK(ferry.next_departure(at("2026-03-08T23:59:59Z")) == at("2026-03-09T07:00:00Z"));
}

TEST_CASE("A ferry on demand leaves at once between its hours, and not from the minute it stops") {
    const Timetable ferry{"UTC", {{day(2) + 6h, day(2) + 18h}}};
    CHECK(ferry.next_departure(at("2026-03-04T05:00:00Z")) == at("2026-03-04T06:00:00Z"));
    CHECK(ferry.next_departure(at("2026-03-04T11:11:11Z")) == at("2026-03-04T11:11:11Z"));
    CHECK(ferry.next_departure(at("2026-03-04T17:59:59Z")) == at("2026-03-04T17:59:59Z"));
    CHECK(ferry.next_departure(at("2026-03-04T18:00:00Z")) == at("2026-03-11T06:00:00Z"));
}

TEST_CASE("A ferry on demand all night does not stop at midnight between Sunday and Monday") {
    const Timetable ferry{"UTC", {{day(6) + 22h, day(7)}, {0h, 2h}}};
    CHECK(ferry.next_departure(at("2026-03-08T23:59:59Z")) == at("2026-03-08T23:59:59Z"));
    CHECK(ferry.next_departure(at("2026-03-09T00:00:00Z")) == at("2026-03-09T00:00:00Z"));
    CHECK(ferry.next_departure(at("2026-03-09T02:00:00Z")) == at("2026-03-15T22:00:00Z"));
}

TEST_CASE("A last sailing at the minute when the hours on demand end still leaves") {
    const Timetable ferry{"UTC", {{day(2) + 6h, day(2) + 18h}, {day(2) + 18h, day(2) + 18h}}};
    CHECK(ferry.next_departure(at("2026-03-04T18:00:00Z")) == at("2026-03-04T18:00:00Z"));
    CHECK(ferry.next_departure(at("2026-03-04T18:00:01Z")) == at("2026-03-11T06:00:00Z"));
}

TEST_CASE("A ferry without sailings never leaves") {
    CHECK_FALSE(Timetable("UTC", {}).next_departure(at("2026-03-04T00:00:00Z")));
}

// Clocks in London: forward at 2026-03-29 01:00 UTC, back at 2026-10-25 01:00 UTC (IANA database).
TEST_CASE("When clocks go forward, the sailing of the missing hour leaves at the change") {
    const Timetable ferry{"Europe/London", daily(1h + 30min)};
    CHECK(ferry.next_departure(at("2026-03-29T00:59:59Z")) == at("2026-03-29T01:00:00Z"));
    CHECK(ferry.next_departure(at("2026-03-29T01:00:00Z")) == at("2026-03-29T01:00:00Z"));
    CHECK(ferry.next_departure(at("2026-03-29T01:00:01Z")) == at("2026-03-30T00:30:00Z"));
}

TEST_CASE("When clocks go back, the sailing of the repeated hour leaves the first time only") {
    const Timetable ferry{"Europe/London", daily(1h + 30min)};
    CHECK(ferry.next_departure(at("2026-10-25T00:00:00Z")) == at("2026-10-25T00:30:00Z"));
    CHECK(ferry.next_departure(at("2026-10-25T00:30:01Z")) == at("2026-10-26T01:30:00Z"));
    CHECK(ferry.next_departure(at("2026-10-25T01:15:00Z")) == at("2026-10-26T01:30:00Z"));
}

TEST_CASE("Departures agree with another reading of the time zone database") {
    // Made by Python's zoneinfo, trying every sailing of three weeks.
    const nlohmann::json rows = table_rows("ferry_departures.json");
    REQUIRE(rows.size() == 600);
    for (const auto& row : rows) {
        CAPTURE(row.dump());
        std::vector<Sailing> sailings;
        for (const auto& minute : row.at("minutes_of_week")) {
            const std::chrono::minutes start{minute.get<int>()};
            sailings.push_back({start, start});
        }
        const Timetable ferry{row.at("zone").get<std::string>(), sailings};
        CHECK(ferry.next_departure(at(row.at("at").get<std::string>().c_str())) ==
              at(row.at("next").get<std::string>().c_str()));
    }
}

TEST_CASE("Whoever comes later never leaves earlier, and waiting at the bank changes nothing") {
    std::mt19937 random{20260304};
    const Instant begin = at("2026-03-20T00:00:00Z");  // London's change lies in these weeks
    for (const char* zone : {"Europe/London", "Australia/Lord_Howe", "Pacific/Fiji", "UTC"}) {
        for (int round = 0; round < 50; ++round) {
            std::vector<Sailing> sailings;
            for (unsigned i = 0; i < 1 + random() % 30; ++i) {
                const std::chrono::minutes from{random() % (7 * 24 * 60)};
                const std::chrono::minutes longest = day(7) - from;
                const std::chrono::minutes length =
                    random() % 2 == 0 ? 0min
                                      : std::min(longest, std::chrono::minutes{random() % 600});
                sailings.push_back({from, from + length});
            }
            const Timetable ferry{zone, sailings};
            Instant last = begin - Seconds{1};
            for (Instant now = begin; now < begin + Seconds{21 * 24 * 3600};
                 now += Seconds{random() % 3000}) {
                const Instant departure = ferry.next_departure(now).value();
                CHECK(departure >= now);
                CHECK(departure >= last);
                CHECK(ferry.next_departure(departure) == departure);
                last = departure;
            }
        }
    }
}

TEST_CASE("A time zone nobody knows, or a sailing outside the week, is refused") {
    CHECK_THROWS_WITH_AS(Timetable("Mars/Olympus", {}), doctest::Contains("Mars/Olympus"),
                         InputError);
    CHECK_THROWS_AS(Timetable("UTC", {{day(7), day(7)}}), InputError);
    CHECK_THROWS_AS(Timetable("UTC", {{-1min, 0min}}), InputError);
    CHECK_THROWS_AS(Timetable("UTC", {{2h, 1h}}), InputError);
    CHECK_NOTHROW(Timetable("UTC", {{day(7) - 1min, day(7)}}));
}
