#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <sstream>

#include "dispatch/vehicle_file.hpp"

namespace waybourne::dispatch {

namespace {

const Instant ten = parse_rfc3339("2026-03-04T10:00:00Z");

/// One good vehicle, with more members or other ones.
std::string file_with(const std::string& more, const std::string& kit = R"(["oxygen"])") {
    return R"({"vehicles": [{"id": "car-1", "name": "Car 1", "base": "hill-post",
        "kind": "ambulance", "means": "car", "seats": {"lying": 1, "sitting": 1},
        "mobilisation_minutes": 8, "kit": )" +
           kit + (more.empty() ? "" : ", ") + more + "}]}";
}

std::vector<FieldError> errors_of(const std::string& file) {
    try {
        read_vehicles(file);
    } catch (const InputError& error) {
        return error.fields();
    }
    return {};
}

bool has(const std::vector<FieldError>& errors, const std::string& pointer,
         const std::string& words) {
    return std::any_of(errors.begin(), errors.end(), [&](const FieldError& error) {
        return error.pointer == pointer && error.detail.find(words) != std::string::npos;
    });
}

bool everywhere(const Base& /*base*/, routing::Means /*means*/) {
    return true;
}

}  // namespace

TEST_CASE("The vehicles of the sample district are read") {
    std::ifstream file{WAYBOURNE_SOURCE_DIR "/maps-sample/vehicles.json"};
    std::ostringstream text;
    text << file.rdbuf();
    const auto vehicles = read_vehicles(text.str());
    REQUIRE(vehicles.size() == 8);  // counted in maps-sample/vehicles.json
    CHECK(vehicles[0].id == VehicleId{"sorvrith-1"});
    CHECK(vehicles[0].kit.contains(triage::Capability::magnesium_sulfate));
    CHECK(vehicles[0].escort_skills == std::set{Skill::midwife});
    CHECK(vehicles[5].kind == VehicleKind::motorcycle_ambulance);
    CHECK(vehicles[7].means == routing::Means::boat);
}

TEST_CASE("A kit nobody knows is refused and named") {
    const auto errors = errors_of(file_with("", R"(["oxygen", "magic"])"));
    CHECK(has(errors, "#/vehicles/0/kit/1", "\"magic\" is not a known kit"));
    CHECK(errors.size() == 1);
}

TEST_CASE("A shift that ends before it begins is refused, with both times") {
    const std::string roster =
        R"("roster": [{"from": "2026-03-04T18:00:00Z", "until": "2026-03-04T06:00:00Z"}])";
    CHECK(has(errors_of(file_with(roster)), "#/vehicles/0/roster/0/until",
              "ends at 2026-03-04T06:00:00Z, which is not after it begins"));
    SUBCASE("weekly hours over midnight are a night shift and good") {
        CHECK(errors_of(file_with(R"("shift": "Mo-Su 18:00-06:00")")).empty());
    }
    SUBCASE("a shift of no length is refused too") {
        const std::string empty =
            R"("roster": [{"from": "2026-03-04T18:00:00Z", "until": "2026-03-04T18:00:00Z"}])";
        CHECK(errors_of(file_with(empty)).size() == 1);
    }
}

TEST_CASE("All that is wrong with a file of vehicles is told at once") {
    const auto errors = errors_of(R"({"vehicles": [
        {"id": "Car 1", "name": "", "base": "hill-post", "kind": "tank", "means": "train",
         "seats": {"lying": 0, "sitting": 0}, "mobilisation_minutes": -5, "kits": []},
        {"id": "a", "name": "A", "base": {"latitude": 97.1, "longitude": 0}, "kind": "car",
         "means": "car", "mobilisation_minutes": 5},
        {"id": "a", "name": "A", "base": "b", "kind": "car", "means": "car",
         "mobilisation_minutes": 5}]})");
    CHECK(has(errors, "#/vehicles/0/id", "is not made of"));
    CHECK(has(errors, "#/vehicles/0/name", "a text is needed"));
    CHECK(has(errors, "#/vehicles/0/kind", "'tank'"));
    CHECK(has(errors, "#/vehicles/0/means", "'train'"));
    CHECK(has(errors, "#/vehicles/0/seats", "no place for her"));
    CHECK(has(errors, "#/vehicles/0/mobilisation_minutes", "-5"));
    CHECK(has(errors, "#/vehicles/0/kits", "did you mean 'kit'"));
    CHECK(has(errors, "#/vehicles/1/base/latitude", "97.1"));
    CHECK(has(errors, "#/vehicles/2/id", "stands twice"));
    CHECK(errors.size() == 9);
    CHECK(has(errors_of("[]"), "#/vehicles", "a list of vehicles is needed"));
}

TEST_CASE("A vehicle off the map is refused, its base or its position") {
    auto vehicles = read_vehicles(file_with(
        R"("last_position": {"latitude": 1, "longitude": 1, "at": "2026-03-04T09:58:00Z"})"));
    const IsOnTheMap only_bases = [](const Base& base, routing::Means) {
        return std::holds_alternative<FacilityId>(base);
    };
    CHECK(problems_of(vehicles, everywhere, ten).empty());
    CHECK(has(problems_of(vehicles, only_bases, ten), "#/vehicles/0/last_position", "off the map"));
    const IsOnTheMap nowhere = [](const Base&, routing::Means) { return false; };
    CHECK(has(problems_of(vehicles, nowhere, ten), "#/vehicles/0/base", "off the map"));
    vehicles[0].means = routing::Means::boat;
    CHECK(problems_of(vehicles, nowhere, ten).empty());
}

TEST_CASE("A position from the future is refused; a clock two minutes ahead is forgiven") {
    // Two minutes: common practice, no source.
    auto vehicles = read_vehicles(file_with(
        R"("last_position": {"latitude": 1, "longitude": 1, "at": "2026-03-04T10:02:00Z"})"));
    CHECK(problems_of(vehicles, everywhere, ten).empty());
    vehicles[0].last_position->at += 1s;
    CHECK(has(problems_of(vehicles, everywhere, ten), "#/vehicles/0/last_position/at",
              "which lies after now"));
}

TEST_CASE("A stale position is used with its age, and says so") {
    Vehicle vehicle;
    vehicle.last_position = Position{{Latitude{1}, Longitude{2}}, ten - 15min};
    CHECK(position_of(vehicle, ten, {}).remark == std::nullopt);
    vehicle.last_position->at -= 25min;
    const auto known = position_of(vehicle, ten, {});
    CHECK(known.point == GeoPoint{Latitude{1}, Longitude{2}});
    CHECK(known.age == Seconds{40min});
    REQUIRE(known.remark.has_value());
    CHECK(*known.remark == Message{"dispatch.position_is_old", {{"minutes", "40"}}});
    vehicle.last_position.reset();
    CHECK(position_of(vehicle, ten, {}).point == std::nullopt);
    CHECK(position_of(vehicle, ten, {}).remark->id == "dispatch.position_taken_as_base");
}

TEST_CASE("A crew called from home at night takes longer to set out") {
    const auto vehicles = read_vehicles(file_with(
        R"("mobilisation_by_hour": [{"from_hour": 22, "until_hour": 6, "minutes": 25}])"));
    const auto takes = [&](Seconds of_day) {
        return mobilisation_at(vehicles[0], TimeZone{}, ten - 10h + of_day);
    };
    CHECK(takes(21h + 59min) == 8min);
    CHECK(takes(22h) == 25min);
    CHECK(takes(0h) == 25min);
    CHECK(takes(5h + 59min) == 25min);
    CHECK(takes(6h) == 8min);
}

TEST_CASE("A vehicle is free when it is on shift, rested and back") {
    auto vehicle = read_vehicles(file_with(R"("shift": "Mo-Su 06:00-18:00")"))[0];
    const auto from = [&](Instant now) { return availability(vehicle, TimeZone{}, now, {}).from; };
    CHECK(from(ten) == ten);
    CHECK(from(ten + 8h) == ten + 20h);  // 18:00 is the end: the next shift begins at 06:00
    vehicle.busy = Busy{ten + 30min, Hold::refuelling};
    CHECK(from(ten) == ten + 30min);
    CHECK(availability(vehicle, TimeZone{}, ten, {}).reasons.front().id ==
          "dispatch.held_by_refuelling");
    vehicle.busy = Busy{ten + 9h, Hold::rest};
    CHECK(from(ten) == std::nullopt);  // 06:00 is 20 hours away, more than is waited for
    vehicle.busy.reset();
    vehicle.roster = {{ten + 2h, ten + 4h}, {ten + 1h, ten + 90min}};
    CHECK(from(ten) == ten + 1h);
    CHECK(from(ten + 90min) == ten + 2h);
    CHECK(from(ten + 4h) == std::nullopt);
}

TEST_CASE("A vehicle whose wheels would turn when its shift is over waits for the next one") {
    auto vehicle = read_vehicles(file_with(R"("shift": "Mo-Su 05:00-18:00")"))[0];  // 8 minutes
    const auto at = [&](Instant now) { return availability(vehicle, TimeZone{}, now, {}); };
    const Instant six_in_the_evening = ten + 8h;
    CHECK(at(six_in_the_evening - 8min - 1s).from == six_in_the_evening - 8min - 1s);
    CHECK(at(six_in_the_evening - 8min - 1s).reasons.empty());
    const auto late = at(six_in_the_evening - 8min);
    CHECK(late.from == ten + 19h);
    CHECK(late.reasons ==
          std::vector<Message>{
              {"dispatch.shift_ends_before_it_goes", {{"ends", "2026-03-04T18:00:00Z"}}},
              {"dispatch.shift_begins_later", {{"begins", "2026-03-05T05:00:00Z"}}}});
    CHECK(on_duty_until(vehicle, TimeZone{}, ten) == six_in_the_evening);
    CHECK(on_duty_until(vehicle, TimeZone{}, six_in_the_evening) == std::nullopt);
    SUBCASE("duties that follow each other at once are one") {
        vehicle.roster = {{six_in_the_evening, ten + 16h}, {ten, six_in_the_evening}};
        CHECK(at(six_in_the_evening - 1min).from == six_in_the_evening - 1min);
        CHECK(on_duty_until(vehicle, TimeZone{}, ten) == ten + 16h);
    }
    SUBCASE("a duty that is shorter than it takes to set out is none") {
        vehicle.roster = {{ten, ten + 8min}, {ten + 1h, ten + 1h + 9min}};
        CHECK(at(ten).from == ten + 1h);
        vehicle.roster.pop_back();
        CHECK(at(ten).from == std::nullopt);
    }
    SUBCASE("a crew that was called in goes on after the shift") {
        vehicle.called_in = Duty{ten, six_in_the_evening + 1h};
        CHECK(at(six_in_the_evening - 1min).from == six_in_the_evening - 1min);
        CHECK(at(six_in_the_evening + 55min).from == ten + 19h);
    }
    SUBCASE("day and night there is no end") {
        vehicle.shift = facilities::OpeningHours{};
        CHECK(on_duty_until(vehicle, TimeZone{}, ten) == Instant::max());
        CHECK(at(six_in_the_evening).from == six_in_the_evening);
    }
}

}  // namespace waybourne::dispatch
