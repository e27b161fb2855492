#include <doctest/doctest.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "routing/ferry.hpp"
#include "vocabulary/error.hpp"

// The notation: wiki.openstreetmap.org/wiki/Key:opening_hours/specification 0.7.4 and
// Key:duration, from memory.

using namespace waybourne;
using namespace waybourne::routing;

namespace {

std::string hours_and_minutes(std::chrono::minutes minute) {
    const auto two = [](std::int64_t number) {
        return (number < 10 ? "0" : "") + std::to_string(number);
    };
    return two(minute.count() / 60) + ":" + two(minute.count() % 60);
}

/// `Mo 06:00-18:00, Tu 07:15`: the sailings as one would say them.
std::string said(const std::string& text,
                 std::optional<std::chrono::minutes> interval = std::nullopt) {
    static const char* const days[] = {"Mo", "Tu", "We", "Th", "Fr", "Sa", "Su"};
    constexpr std::chrono::minutes one_day{24 * 60};
    std::string result;
    const ReadTimetable read = parse_timetable(text, "UTC", interval);
    for (const Sailing& sailing : read.timetable.sailings()) {
        const auto day = sailing.from / one_day;
        result += result.empty() ? "" : ", ";
        result += days[day];
        result += " " + hours_and_minutes(sailing.from - day * one_day);
        if (sailing.to != sailing.from) {
            result += "-" + hours_and_minutes(sailing.to - day * one_day);
        }
    }
    return result;
}

std::size_t errors_in(const std::string& text) {
    try {
        parse_timetable(text, "UTC");
    } catch (const InputError& error) {
        return error.fields().size();
    }
    return 0;
}

}  // namespace

TEST_CASE("A ferryman's hours and sailings are read as the map writes them") {
    CHECK(said("Mo 06:00-18:00") == "Mo 06:00-18:00");
    CHECK(said("Mo 07:15") == "Mo 07:15");
    CHECK(said("Mo 07:15,12:00") == "Mo 07:15, Mo 12:00");
    CHECK(said("Mo,We 07:15, 12:00") == "Mo 07:15, Mo 12:00, We 07:15, We 12:00");
    CHECK(said("Fr-Mo 08:00") == "Mo 08:00, Fr 08:00, Sa 08:00, Su 08:00");
    CHECK(said("Mo 8:00 - 9:00") == "Mo 08:00-09:00");
    CHECK(said("Tu 06:00-12:00,14:00-18:00") == "Tu 06:00-12:00, Tu 14:00-18:00");
}

TEST_CASE("Every half hour from six to eight is five sailings, the last one included") {
    const std::string five = "We 06:00, We 06:30, We 07:00, We 07:30, We 08:00";
    CHECK(said("We 06:00-08:00/30") == five);
    CHECK(said("We 06:00-08:00/00:30") == five);
    CHECK(said("We 06:00-08:00", 30min) == five);
    CHECK(said("We 06:00-07:59/30") == "We 06:00, We 06:30, We 07:00, We 07:30");
}

TEST_CASE("The step written in the hours stands above the interval beside them") {
    CHECK(said("We 06:00-08:00/60", 30min) == "We 06:00, We 07:00, We 08:00");
}

TEST_CASE("A later rule replaces what an earlier one said of the same days") {
    CHECK(said("Mo-We 07:00; Tu 09:00") == "Mo 07:00, Tu 09:00, We 07:00");
    CHECK(said("Mo-We 07:00; Tu off") == "Mo 07:00, We 07:00");
    CHECK(said("Mo-We 07:00; Tu closed;") == "Mo 07:00, We 07:00");
    CHECK(said("Mo 07:00, Tu 09:00, Mo 12:00") == "Mo 07:00, Mo 12:00, Tu 09:00");
}

TEST_CASE("A ferry that runs past midnight runs on the next morning, also from Sunday to Monday") {
    CHECK(said("Mo 22:00-02:00") == "Mo 22:00-26:00");
    CHECK(said("Mo 22:00-26:00") == "Mo 22:00-26:00");
    CHECK(said("Su 22:00-02:00") == "Mo 00:00-02:00, Su 22:00-24:00");
    CHECK(said("Su 25:30") == "Mo 01:30");
}

TEST_CASE("Day and night means always") {
    CHECK(said("24/7") == "Mo 00:00-168:00");
    CHECK(said("00:00-24:00") == "Mo 00:00-168:00");
}

TEST_CASE("Day and night at an interval means departures that far apart, not at any time") {
    const ReadTimetable hourly = parse_timetable("24/7", "UTC", 60min);
    CHECK(hourly.timetable.sailings().size() == 7 * 24);
    CHECK(hourly.timetable.sailings()[1] == Sailing{1h, 1h});
    CHECK(hourly.remarks.size() == 1);
    CHECK(said("24/7; Tu-Su off", 9 * 60min) == "Mo 00:00, Mo 09:00, Mo 18:00");
    CHECK(said("24/7; Tu-Su off", 24 * 60min) == "Mo 00:00");
    CHECK_THROWS_AS(parse_timetable("24/7", "UTC", 24 * 60min + 1min), InputError);
}

TEST_CASE("Sunrise and sunset are taken early and late enough for the tropics, and that is said") {
    const ReadTimetable read = parse_timetable("sunrise-sunset", "UTC");
    CHECK(read.timetable.sailings().front() == Sailing{6h + 30min, 17h + 30min});
    CHECK(read.remarks.size() == 2);
}

TEST_CASE("Public holidays are left out of account, and that is said") {
    const ReadTimetable read = parse_timetable("Mo-Fr 07:00; PH off; SH,Sa 09:00", "UTC");
    CHECK(read.timetable.sailings().size() == 6);
    CHECK(read.remarks == std::vector<std::string>{"what is said of public holidays is left out",
                                                   "what is said of school holidays is left out"});
}

TEST_CASE("What is not understood is refused, every rule of it, rather than half read") {
    for (const char* text : {"",
                             "always",
                             "Jun-Sep 08:00-18:00",
                             "week 1-20 08:00",
                             "Mo 08:00+",
                             "Mo[1] 08:00",
                             "Mo 08:00-18:00 \"on request\"",
                             "Mo",
                             "Mo-Fr",
                             "Mo- 08:00",
                             "Mo 25:99",
                             "Mo 49:00",
                             "Mo 08:00-",
                             "Mo 08:00-18:00/0",
                             "Mo 08:00-18:00/x",
                             "08",
                             "Mo 08:00 || Tu 09:00",
                             "Mo 08:00;; ,",
                             "Mo 08:00,",
                             "(sunrise+01:00)-18:00",
                             "Mo 123456:00"}) {
        CAPTURE(text);
        CHECK(errors_in(text) >= 1);
    }
    CHECK(errors_in("Mo 08:00; nonsense; Tu 99:00; We 10:00") == 2);
    CHECK_THROWS_AS(parse_timetable("Mo 08:00", "UTC", 0min), InputError);
    CHECK_THROWS_AS(parse_timetable("Mo 08:00", "Nowhere/Land"), InputError);
}

TEST_CASE("A hostile timetable ends in a refusal, not in a full memory") {
    std::string text = "Mo 00:00-48:00/1";
    for (int i = 0; i < 2000; ++i) {
        text += ",00:00-48:00/1";
    }
    CHECK(errors_in(text) == 1);
}

TEST_CASE("Hours agree with the reference evaluation of the map's own notation") {
    // Table made by the npm package opening_hours; only where clocks never change, since on demand
    // hours of the repeated hour are read differently here.
    std::ifstream file{std::string{WAYBOURNE_SOURCE_DIR} + "/tests/sources/opening_hours.json"};
    REQUIRE(file.good());
    const nlohmann::json table = nlohmann::json::parse(file);
    int checked = 0;
    for (const auto& row : table.at("rows")) {
        const std::string zone = row.at("zone");
        if (zone != "Africa/Blantyre" && zone != "Asia/Kathmandu") {
            continue;
        }
        std::optional<ReadTimetable> read;
        try {
            read = parse_timetable(row.at("hours").get<std::string>(), zone);
        } catch (const InputError&) {
            continue;
        }
        if (!read->remarks.empty()) {
            continue;
        }
        CAPTURE(row.dump());
        const Instant at = parse_rfc3339(row.at("at").get<std::string>());
        const bool leaves_now = read->timetable.next_departure(at) == at;
        CHECK(leaves_now == row.at("open").get<bool>());
        ++checked;
    }
    CHECK(checked >= 150);
}

TEST_CASE("Crossing times are read in minutes, hours and minutes, or the long form") {
    CHECK(parse_duration("25") == 25min);
    CHECK(parse_duration("0:25") == 25min);
    CHECK(parse_duration("00:25") == 25min);
    CHECK(parse_duration("1:05:30") == 1h + 5min + 30s);
    CHECK(parse_duration("PT25M") == 25min);
    CHECK(parse_duration("PT1H5M30S") == 1h + 5min + 30s);
    CHECK(parse_duration("90") == 90min);
    CHECK(parse_duration("168:00") == 168h);
    for (const char* text : {"", "0", "00:00", "-5", "5 min", "1:60", "1:2:3:4", "PT", "P1D",
                             "PT5M1H", "168:01", "99999999999", "12:", ":12", "PTM", "1.5"}) {
        CAPTURE(text);
        CHECK_THROWS_AS(parse_duration(text), InputError);
    }
}
