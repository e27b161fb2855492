#include "server/speed_offer.hpp"

#include <doctest/doctest.h>

#include "routing/speed_table.hpp"
#include "server/json/speed_offer.hpp"
#include "server/load_district.hpp"
#include "server/program_files.hpp"
#include "tests/server/district_copy.hpp"
#include "vocabulary/error.hpp"

// Speeds change only when somebody accepts them, and then only those that were offered.

namespace waybourne::server::test {

namespace {

std::string program_table() {
    return read_program_file(program_folder() / "routing" / "data" / "speeds.json");
}

coverage::ClassCalibration change(const std::string& road_class, routing::Surface surface,
                                  double time_factor, std::optional<routing::Light> light = {}) {
    return {road_class, surface, 40, time_factor, 0.05, true, light};
}

SpeedOffer offer(std::vector<coverage::ClassCalibration> changes) {
    return {sha256(program_table()), "1", parse_rfc3339("2026-03-01T00:00:00Z"), 80,
            std::move(changes)};
}

const Acceptance planner{"district planner", "two seasons of journeys",
                         parse_rfc3339("2026-03-04T09:40:00Z")};

/// Calls `check(kind, conditions, before, after)` for every kind of road, season and hour on which
/// a car may go.
template <typename Check>
int for_each_speed(const routing::SpeedTable& before, const routing::SpeedTable& after,
                   const Check& check) {
    int count = 0;
    for (std::size_t road = 0; road < routing::road_class_count; ++road) {
        for (std::size_t surface = 0; surface < routing::surface_class_count; ++surface) {
            for (const auto season : {routing::Surface::dry, routing::Surface::wet}) {
                for (const auto light : {routing::Light::day, routing::Light::night}) {
                    routing::RoadKind kind;
                    kind.road_class = static_cast<routing::RoadClass>(road);
                    kind.surface = static_cast<routing::SurfaceClass>(surface);
                    const routing::RoadConditions conditions{season, light};
                    const auto was = before.speed(kind, conditions, routing::Means::car);
                    const auto is = after.speed(kind, conditions, routing::Means::car);
                    REQUIRE(was.has_value() == is.has_value());
                    if (was) {
                        check(kind, conditions, *was, *is);
                        ++count;
                    }
                }
            }
        }
    }
    return count;
}

}  // namespace

TEST_CASE("A night that is told apart is as slow as was offered, and a day that is not stays") {
    using routing::Light;
    using routing::Surface;
    const auto before = routing::parse_speed_table(program_table());
    const auto hold = [&](std::vector<coverage::ClassCalibration> changes, double dry_day,
                          double dry_night, double wet_night) {
        const AcceptedTable made =
            accepted_table(program_table(), offer(std::move(changes)), planner);
        CHECK(made.cut_off.empty());
        const auto after = routing::parse_speed_table(made.text);
        CHECK(for_each_speed(
                  before, after,
                  [&](const auto& kind, const auto& conditions, const auto& was, const auto& is) {
                      double slower = 1;
                      if (kind.road_class == routing::RoadClass::track) {
                          const bool is_night = conditions.light == Light::night;
                          const bool is_wet = conditions.surface == Surface::wet;
                          slower = is_wet ? (is_night ? wet_night : 1.0)
                                          : (is_night ? dry_night : dry_day);
                      }
                      // factors stand in the file with three decimals
                      CHECK(is.kilometres_per_hour ==
                            doctest::Approx(was.kilometres_per_hour / slower).epsilon(0.006));
                  }) > 100);
        return made.text;
    };
    SUBCASE("day and night: the wet night follows, since a table has one night for both seasons") {
        const std::string text = hold({change("track", Surface::dry, 1.25, Light::day),
                                       change("track", Surface::dry, 2.0, Light::night)},
                                      1.25, 2.0, 2.0 / 1.25);
        CHECK(text.find("track dry at night: 40 journeys") != std::string::npos);
    }
    SUBCASE("the night alone") {
        hold({change("track", Surface::dry, 1.5, Light::night)}, 1, 1.5, 1.5);
    }
    SUBCASE("the day alone: the night stays as fast as it was") {
        hold({change("track", Surface::dry, 1.25, Light::day)}, 1.25, 1, 1 / 1.25);
    }
    SUBCASE("both seasons: one night for both, each season by its journeys") {
        // (40 × 2 + 40 × 1.5) / 80
        hold({change("track", Surface::dry, 2.0, Light::night),
              change("track", Surface::wet, 1.5, Light::night)},
             1, 1.75, 1.75);
    }
    SUBCASE("an offer is read as it was written") {
        const SpeedOffer made = offer({change("track", Surface::dry, 2.0, Light::night),
                                       change("primary", Surface::wet, 1.5)});
        JsonWriter json;
        write_speed_offer(json, made);
        CHECK(parse_speed_offer(json.take()) == made);
    }
}

TEST_CASE(
    "An accepted table is slower on tracks by what was offered, and the same everywhere else") {
    const auto before = routing::parse_speed_table(program_table());
    const AcceptedTable made = accepted_table(
        program_table(), offer({change("track", routing::Surface::dry, 1.25)}), planner);
    CHECK(made.cut_off.empty());
    const auto after = routing::parse_speed_table(made.text);
    const int tried = for_each_speed(
        before, after,
        [](const auto& kind, const auto& conditions, const auto& was, const auto& is) {
            const bool is_slower = kind.road_class == routing::RoadClass::track &&
                                   conditions.surface == routing::Surface::dry;
            // factors stand in the file with three decimals
            CHECK(
                is.kilometres_per_hour ==
                doctest::Approx(was.kilometres_per_hour / (is_slower ? 1.25 : 1.0)).epsilon(0.003));
            CHECK(is.spread == was.spread);
        });
    CHECK(tried > 100);
    // each new figure names the journeys, who took them, and why
    routing::RoadKind track;
    track.road_class = routing::RoadClass::track;
    const std::string source = after.find_row(track)->source;
    CHECK(after.rows().sources.at(source).is_measured);
    CHECK(after.rows().sources.at(source).text.find("district planner") != std::string::npos);
    CHECK(after.rows().sources.at(source).text.find("two seasons of journeys") !=
          std::string::npos);
    CHECK(after.rows().version != before.rows().version);
}

TEST_CASE(
    "What is offered for the wet alone leaves the dry as it was, and is never faster than it") {
    const auto before = routing::parse_speed_table(program_table());
    const AcceptedTable made =
        accepted_table(program_table(),
                       offer({change("primary", routing::Surface::wet, 1.5),
                              change("motorway", routing::Surface::wet, 0.5)}),
                       planner);
    const auto after = routing::parse_speed_table(made.text);
    for_each_speed(before, after,
                   [](const auto& kind, const auto& conditions, const auto& was, const auto& is) {
                       if (conditions.surface == routing::Surface::dry) {
                           CHECK(is == was);
                       } else if (kind.road_class == routing::RoadClass::primary) {
                           CHECK(is.kilometres_per_hour ==
                                 doctest::Approx(was.kilometres_per_hour / 1.5).epsilon(0.003));
                       }
                   });
    CHECK(made.cut_off == std::vector<std::string>{"motorway"});
}

TEST_CASE("Another table, nobody who accepts, or nothing offered: nothing is made") {
    const SpeedOffer good = offer({change("track", routing::Surface::dry, 1.25)});
    CHECK_THROWS_AS(accepted_table(program_table() + " ", good, planner), InputError);
    CHECK_THROWS_AS(accepted_table(program_table(), good, {"", "why", planner.at}), InputError);
    CHECK_THROWS_AS(accepted_table(program_table(), good, {"who", "", planner.at}), InputError);
    CHECK_THROWS_AS(accepted_table(program_table(), offer({}), planner), InputError);
    for (const char* const text :
         {"{}", "[]",
          R"({"table_sha256": "a", "table_version": "1", "made_at": "2026-03-01T00:00:00Z",
          "journeys": 3, "changes": [{"road_class": "track", "surface": "icy", "journeys": 3,
          "time_factor": 1}]})",
          R"({"table_sha256": "a", "table_version": "1", "made_at": "2026-03-01T00:00:00Z",
          "journeys": 3, "changes": [{"road_class": "track", "surface": "dry", "journeys": 3,
          "time_factor": 0}]})"}) {
        CHECK_THROWS_AS(parse_speed_offer(text), InputError);
    }
}

TEST_CASE("An offer reads the same after it was a file") {
    const SpeedOffer good = offer({change("track", routing::Surface::dry, 1.25),
                                   change("track", routing::Surface::wet, 1.5)});
    JsonWriter json;
    write_speed_offer(json, good);
    CHECK(parse_speed_offer(json.take()) == good);
}

TEST_CASE("A district that names the new table travels by it; one that does not stays as it was") {
    const DistrictCopy copy;
    LoadOptions options;
    options.folder = copy.path();
    options.now = parse_rfc3339(sample_now);
    const auto before = load_district(options);
    CHECK(before->speeds_text == program_table());
    copy.put(
        "speeds.json",
        accepted_table(program_table(), offer({change("track", routing::Surface::dry, 2)}), planner)
            .text);
    CHECK(load_district(options)->files.at("speeds") == before->files.at("speeds"));
    copy.name_file("speeds", "speeds.json");
    const auto after = load_district(options);
    CHECK(after->files.at("speeds") != before->files.at("speeds"));
    CHECK(after->roads->sources().speeds->rows().version != "1");
}

}  // namespace waybourne::server::test
