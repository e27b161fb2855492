#include "dispatch/vehicle_report.hpp"

#include <doctest/doctest.h>

// Times of a day are worked out by hand beside each check; there is no outside source for them.

namespace waybourne::dispatch {

namespace {

const Instant ten = parse_rfc3339("2026-03-04T10:00:00Z");
const GeoPoint ford{Latitude{0.1}, Longitude{0.2}};
const GeoPoint bridge{Latitude{0.3}, Longitude{0.4}};

/// Works from six to six, on that day alone.
Vehicle day_vehicle() {
    Vehicle vehicle;
    vehicle.id = VehicleId{"car-1"};
    vehicle.base = FacilityId{"hill-post"};
    vehicle.roster = {{ten - 4h, ten + 8h}};
    return vehicle;
}

VehicleReport says(std::optional<Hold> hold, std::optional<Instant> until, Instant at) {
    VehicleReport report;
    report.state = VehicleState{hold, until, at, "driver"};
    return report;
}

std::optional<Instant> free_from(const Vehicle& vehicle, Instant now) {
    return availability(vehicle, {}, now, {}).from;
}

}  // namespace

TEST_CASE("A position that was reported stands in place of an older one, never of a newer one") {
    Vehicle vehicle = day_vehicle();
    vehicle.last_position = Position{ford, ten - 10min};
    VehicleReport report;
    report.position = Position{bridge, ten - 5min};
    CHECK(with_report(vehicle, report).last_position == Position{bridge, ten - 5min});
    report.position = Position{bridge, ten - 11min};
    CHECK(with_report(vehicle, report).last_position == Position{ford, ten - 10min});
}

TEST_CASE("Reports that arrive in the wrong order leave the newest of each kind") {
    VehicleReport old = says(Hold::breakdown, {}, ten - 20min);
    old.position = Position{ford, ten};
    VehicleReport young = says({}, {}, ten - 10min);
    young.position = Position{bridge, ten - 30min};
    const VehicleReport one = with_news(with_news({}, old), young);
    CHECK(one == with_news(with_news({}, young), old));
    CHECK(one.position == Position{ford, ten});
    CHECK_FALSE(one.state->hold.has_value());
}

TEST_CASE("What holds a vehicle is said, with its end where one was told") {
    for (const Hold hold : {Hold::rest, Hold::refuelling, Hold::repair, Hold::mission,
                            Hold::breakdown, Hold::no_fuel, Hold::taken, Hold::off_duty}) {
        CAPTURE(to_name(hold));
        const std::string id = "dispatch.held_by_" + std::string{to_name(hold)};
        const auto open =
            availability(with_report(day_vehicle(), says(hold, {}, ten)), {}, ten, {});
        CHECK_FALSE(open.from.has_value());
        CHECK(open.reasons == std::vector<Message>{{id + "_open_ended"}});
        const auto ends =
            availability(with_report(day_vehicle(), says(hold, ten + 1h, ten)), {}, ten, {});
        CHECK(ends.from == ten + 1h);
        CHECK(ends.reasons.at(0).id == id);
    }
}

TEST_CASE("A vehicle that is said to be free again is free, whatever its file said") {
    Vehicle vehicle = day_vehicle();
    vehicle.busy = Busy{{}, Hold::repair};
    CHECK_FALSE(free_from(vehicle, ten).has_value());
    CHECK(free_from(with_report(vehicle, says({}, {}, ten)), ten) == ten);
    SUBCASE("outside its shift its shift still holds: from 20:00 on nobody is there until six") {
        CHECK_FALSE(free_from(with_report(vehicle, says({}, {}, ten)), ten + 10h).has_value());
    }
    SUBCASE("unless its driver was called in until eleven at night") {
        const Vehicle called = with_report(vehicle, says({}, ten + 13h, ten + 9h));
        CHECK(free_from(called, ten + 10h) == ten + 10h);
        CHECK(free_from(called, ten + 13h - 1s) == ten + 13h - 1s);
        CHECK_FALSE(free_from(called, ten + 13h).has_value());
    }
}

TEST_CASE("Nothing said changes nothing") {
    CHECK(with_report(day_vehicle(), {}) == day_vehicle());
}

}  // namespace waybourne::dispatch
