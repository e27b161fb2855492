#include "facilities/opening_hours.hpp"

#include <doctest/doctest.h>

#include <map>

#include "tests/facilities/source_table.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::facilities {
namespace {

const Holidays none;

Instant at(const char* text) {
    return parse_rfc3339(text);
}

Holidays holidays_of(const nlohmann::json& table) {
    Holidays days;
    for (const std::string date : table["holidays"]) {
        const Instant midnight = parse_rfc3339(date + "T00:00:00Z");
        days.emplace_back(std::chrono::floor<std::chrono::days>(midnight).time_since_epoch());
    }
    return days;
}

std::string refusal(std::string_view hours) {
    try {
        parse_opening_hours(hours);
    } catch (const InputError& error) {
        return error.what();
    }
    return "accepted";
}

TEST_CASE("Open or closed, at any place and through every change of the clock") {
    // Source: npm package opening_hours 3.15.0, see tests/sources/make_opening_hours.mjs.
    const auto table = load_table("opening_hours.json");
    const Holidays holidays = holidays_of(table);
    REQUIRE(table["rows"].size() == 1452);
    std::map<std::string, TimeZone> zones;
    for (const auto& row : table["rows"]) {
        CAPTURE(row["name"].get<std::string>());
        const std::string zone = row["zone"];
        zones.try_emplace(zone, load_time_zone(zone));
        const OpeningHours hours = parse_opening_hours(row["hours"].get<std::string>());
        CHECK(hours.is_open(at(row["at"].get<std::string>().c_str()), zones.at(zone), holidays) ==
              row["open"].get<bool>());
    }
}

TEST_CASE("When does it open next?") {
    // Source: npm package opening_hours 3.15.0, getNextChange, as above.
    const auto table = load_table("opening_hours.json");
    const Holidays holidays = holidays_of(table);
    const TimeZone zone = load_time_zone("Africa/Blantyre");
    REQUIRE(table["next"].size() == 308);
    for (const auto& row : table["next"]) {
        CAPTURE(row["name"].get<std::string>());
        const OpeningHours hours = parse_opening_hours(row["hours"].get<std::string>());
        const auto opens =
            hours.next_open(at(row["at"].get<std::string>().c_str()), zone, holidays);
        if (row["opens"].is_null()) {
            CHECK(!opens);
        } else {
            REQUIRE(opens);
            CHECK(to_rfc3339(*opens) == row["opens"].get<std::string>());
        }
    }
}

TEST_CASE("A minute before it opens, when it opens, and when it closes") {
    // Limits by hand: 08:00-17:00 in Blantyre (UTC+2) is 06:00-15:00 UTC; 2026-03-04 is a
    // Wednesday.
    const OpeningHours hours = parse_opening_hours("Mo-Fr 08:00-17:00");
    const TimeZone zone = load_time_zone("Africa/Blantyre");
    CHECK(!hours.is_open(at("2026-03-04T05:59:59Z"), zone, none));
    CHECK(hours.is_open(at("2026-03-04T06:00:00Z"), zone, none));
    CHECK(hours.is_open(at("2026-03-04T14:59:59Z"), zone, none));
    CHECK(!hours.is_open(at("2026-03-04T15:00:00Z"), zone, none));
    CHECK(hours.next_open(at("2026-03-06T15:00:00Z"), zone, none) == at("2026-03-09T06:00:00Z"));
    CHECK(hours.next_closed(at("2026-03-04T09:00:00Z"), zone, none) == at("2026-03-04T15:00:00Z"));
    CHECK(hours.next_closed(at("2026-03-07T09:00:00Z"), zone, none) == at("2026-03-07T09:00:00Z"));
}

TEST_CASE("Hours that the clocks skip are not waited for, and one that comes twice is open twice") {
    // Berlin 2026: 02:00 becomes 03:00 on 29 March at 01:00 UTC; 03:00 becomes 02:00 on 25 October
    // at 01:00 UTC (European Union directive 2000/84/EC).
    const OpeningHours hours = parse_opening_hours("Mo-Su 02:00-03:00");
    const TimeZone zone = load_time_zone("Europe/Berlin");
    SUBCASE("in March the hour does not exist: the next is a day later, at 00:00 UTC") {
        CHECK(hours.next_open(at("2026-03-29T00:30:00Z"), zone, none) ==
              at("2026-03-30T00:00:00Z"));
    }
    SUBCASE("in October it is open from 00:00 to 02:00 UTC, without a gap") {
        CHECK(hours.next_open(at("2026-10-24T23:00:00Z"), zone, none) ==
              at("2026-10-25T00:00:00Z"));
        CHECK(hours.is_open(at("2026-10-25T00:59:59Z"), zone, none));
        CHECK(hours.is_open(at("2026-10-25T01:00:00Z"), zone, none));
        CHECK(!hours.is_open(at("2026-10-25T02:00:00Z"), zone, none));
    }
    SUBCASE("the first half of the hour comes back after the second") {
        const OpeningHours half = parse_opening_hours("Mo-Su 02:00-02:30");
        CHECK(half.next_open(at("2026-10-25T00:30:00Z"), zone, none) == at("2026-10-25T01:00:00Z"));
    }
}

TEST_CASE("A place that is closed for good has no next opening") {
    const TimeZone zone;
    CHECK(!parse_opening_hours("off").next_open(at("2026-03-04T00:00:00Z"), zone, none));
    CHECK(!parse_opening_hours("2020 Jan 1 08:00-09:00")
               .next_open(at("2026-03-04T00:00:00Z"), zone, none));
    CHECK(!parse_opening_hours("24/7").next_closed(at("2026-03-04T00:00:00Z"), zone, none));
    CHECK(!parse_opening_hours("Mo-Su 00:00-24:00")
               .next_closed(at("2026-03-04T00:00:00Z"), zone, none));
}

TEST_CASE("Always open is recognised, however it is written") {
    for (const char* text : {"24/7", "Mo-Su 00:00-24:00", "00:00-12:00,12:00-24:00", "open",
                             "Mo-Fr 08:00-17:00; 24/7"}) {
        CAPTURE(text);
        CHECK(parse_opening_hours(text).is_always_open());
    }
    CHECK(OpeningHours().is_always_open());
    CHECK(!parse_opening_hours("24/7; Dec 25 off").is_always_open());
    CHECK(!parse_opening_hours("24/7; PH off").is_always_open());
}

TEST_CASE("What is not understood is refused, saying where") {
    // The subset is our own; what it leaves out is named in opening_hours.hpp.
    CHECK(refusal("") == "opening hours '': at the end: expected days, times, off or 24/7");
    CHECK(refusal("Mo-Fr 08:00") ==
          "opening hours 'Mo-Fr 08:00': at the end: times are written hh:mm-hh:mm");
    CHECK(refusal("Mo-Xy 08:00-17:00") ==
          "opening hours 'Mo-Xy 08:00-17:00': at 'Xy 08:00-17:00': not a weekday (Mo), a month "
          "(Jan), PH, off, closed or open");
    CHECK(refusal("Feb 30 off").find("there is no such day") != std::string::npos);
    CHECK(refusal("2027 Feb 29 off").find("there is no such day") != std::string::npos);
    CHECK(refusal("2026 Dec 24-Jan 2 off").find("give the second year too") != std::string::npos);
    for (const char* text : {"sunrise-sunset",
                             "week 1-10 Mo off",
                             "Mo[1] 08:00-12:00",
                             "\"by appointment\"",
                             "unknown",
                             "08:00+",
                             "Mo-Fr 25:00-26:00",
                             "Mo-Fr 08:60-09:00",
                             "Mo-Fr 08:00-48:01",
                             "8-17",
                             "Mo-Fr 08:00-17:00 08:00-17:00",
                             "Mo-Fr, 08:00-17:00",
                             "Mo-Fr 08:00-17:00, We off",
                             "PH Mo-Fr off",
                             "24/7 off",
                             ";",
                             "Dec-2 off",
                             "Dec 24-Jan off",
                             "99999 Jan 1 off",
                             "1800 Jan 1 off",
                             "Mo-Fr 24:00-25:00",
                             "Mo-Fr 08.00-17.00",
                             "\xff",
                             "Mo-Fr 8:0-9:00"}) {
        CAPTURE(text);
        CHECK(refusal(text) != "accepted");
    }
    CHECK(refusal(std::string(1001, ' ')) != "accepted");
}

TEST_CASE("What is written in another usual way is understood") {
    const TimeZone zone;
    const Instant wednesday = at("2026-03-04T08:30:00Z");
    for (const char* text :
         {"mo-fr 8:00-17:00", " Mo - Fr  08:00 - 17:00 ", "Mo-Fr 08:00-17:00;",
          "Mar 4: 08:00-17:00", "Mo,Tu,We 08:00-17:00", "We", "Mar", "2026 Mar 4"}) {
        CAPTURE(text);
        CHECK(parse_opening_hours(text).is_open(wednesday, zone, none));
    }
    CHECK(parse_opening_hours("Mo off; We closed").text() == "Mo off; We closed");
}

TEST_CASE("Clocks all over the world show what the reference shows") {
    // Source: Python's zoneinfo, see tests/sources/make_time_zones.py.
    const auto table = load_table("time_zones.json");
    REQUIRE(table["rows"].size() == 426);
    std::map<std::string, TimeZone> zones;
    for (const auto& row : table["rows"]) {
        CAPTURE(row["name"].get<std::string>());
        const std::string zone = row["zone"];
        zones.try_emplace(zone, load_time_zone(zone));
        const Instant instant = at(row["at"].get<std::string>().c_str());
        CHECK(zones.at(zone).period_at(instant).offset.count() == row["offset_s"].get<long>());
    }
}

TEST_CASE("A time zone that does not exist is refused with the nearest that does") {
    CHECK_THROWS_WITH_AS(load_time_zone("Africa/Blantire"),
                         "'Africa/Blantire' is not a time zone such as Africa/Blantyre or Etc/GMT; "
                         "did you mean 'Africa/Blantyre'?",
                         InputError);
    for (const char* name : {"", "../../etc/passwd", "/etc/passwd", "Africa", "UTC+2", "\xff"}) {
        CAPTURE(name);
        CHECK_THROWS_AS(load_time_zone(name), InputError);
    }
}

}  // namespace
}  // namespace waybourne::facilities
