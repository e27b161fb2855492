#include "server/vehicles.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <functional>

#include "journal/open_journal.hpp"
#include "server/problem.hpp"
#include "tests/server/recorded_sample.hpp"

// What is heard of vehicles. Shapes and rules are our own (docs/dispatch.md, docs/openapi.yaml);
// the vehicles are those of maps-sample/vehicles.json; the clock stands at 2026-03-04T09:40:00Z.

namespace waybourne::server::test {

namespace {

const Caller dispatcher{"desk", Role::dispatcher, {}, false};
const Caller its_driver{"sorvrith-1", Role::driver, {}, false};
const Caller other_driver{"sorvrith-2", Role::driver, {}, false};

/// At the hospital of Sorvrith, as maps-sample/facilities.geojson has it.
const std::string here = R"("latitude": -0.2622, "longitude": -0.0363)";

Reply report(const RecordedSample& sample, const std::string& vehicle, const std::string& body,
             const std::string& fields = "") {
    return sample.send("POST", "/v1/vehicles/" + vehicle + "/reports", body, fields);
}

JsonValue vehicle(const RecordedSample& sample, const std::string& id) {
    const Reply reply = sample.send("GET", "/v1/vehicles");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    const JsonValue body = parse_json(reply.body);
    const auto& all = at(body, "vehicles").items();
    const auto found = std::find_if(all.begin(), all.end(),
                                    [&](const auto& one) { return text_at(one, "id") == id; });
    REQUIRE_MESSAGE(found != all.end(), id);
    return *found;
}

VehicleCall out_of_fuel() {
    VehicleCall call;
    call.vehicle = VehicleId{"sorvrith-1"};
    call.report.state =
        dispatch::VehicleState{dispatch::Hold::no_fuel, {}, parse_rfc3339(sample_now), "driver"};
    return call;
}

bool is_refused(const std::function<void()>& call, int status) {
    try {
        call();
    } catch (const HttpRefusal& refusal) {
        return refusal.problem().status == status;
    }
    return false;
}

}  // namespace

TEST_CASE(
    "Before anything is heard of them vehicles are taken to be at their bases, and it is said") {
    const RecordedSample sample;
    const Reply reply = sample.send("GET", "/v1/vehicles");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    const JsonValue list = parse_json(reply.body);
    CHECK(at(list, "vehicles").items().size() == 8);
    const JsonValue one = vehicle(sample, "sorvrith-1");
    CHECK(at(one, "position").kind() == JsonKind::null);
    CHECK(text_at(one, "base.facility") == "sorvrith-hospital");
    CHECK(text_at(one, "state") == "free");
    CHECK(text_at(one, "available_from") == "2026-03-04T09:40:00Z");
    CHECK(texts_at(one, "remarks").at(0).find("at its base") != std::string::npos);
}

TEST_CASE("A breakdown counts at once: it cannot be sent until it is said to be free again") {
    const RecordedSample sample;
    CHECK(report(sample, "sorvrith-1", R"({"state": "breakdown"})").status == 200);
    const JsonValue broken = vehicle(sample, "sorvrith-1");
    CHECK(text_at(broken, "state") == "breakdown");
    CHECK(at(broken, "available_from").kind() == JsonKind::null);
    CHECK(texts_at(broken, "reasons").at(0).find("broken down") != std::string::npos);
    CHECK(text_at(broken, "said_by") == "administrator");
    CHECK(report(sample, "sorvrith-1", R"({"state": "free"})").status == 200);
    CHECK(text_at(vehicle(sample, "sorvrith-1"), "state") == "free");
}

TEST_CASE("A position grows old: it is used all the same, and its age is said") {
    RecordedSample sample;
    CHECK(report(sample, "sorvrith-1", R"({"position": {)" + here + "}}").status == 200);
    CHECK(at(vehicle(sample, "sorvrith-1"), "remarks").items().empty());
    sample.clock().pass(40min);
    const JsonValue old = vehicle(sample, "sorvrith-1");
    CHECK(at(old, "position.age_s").number() == 2400);
    CHECK(texts_at(old, "remarks").at(0).find("40 minutes old") != std::string::npos);
    SUBCASE("one that comes late and is older still changes nothing") {
        CHECK(report(sample, "sorvrith-1",
                     R"({"position": {"latitude": -0.2622, "longitude": -0.0363,
                         "at": "2026-03-04T09:30:00Z"}})")
                  .status == 200);
        CHECK(text_at(vehicle(sample, "sorvrith-1"), "position.at") == "2026-03-04T09:40:00Z");
    }
}

TEST_CASE("A crew that is called in at night can be sent, until it goes home again") {
    RecordedSample sample;
    sample.clock().pass(13h);  // 22:40; its shift is from six to ten at night
    CHECK(text_at(vehicle(sample, "sorvrith-2"), "available_from") == "2026-03-05T06:00:00Z");
    CHECK(report(sample, "sorvrith-2", R"({"state": "free", "until": "2026-03-05T02:00:00Z"})")
              .status == 200);
    CHECK(text_at(vehicle(sample, "sorvrith-2"), "available_from") == "2026-03-04T22:40:00Z");
    sample.clock().pass(3h + 20min);
    CHECK(text_at(vehicle(sample, "sorvrith-2"), "available_from") == "2026-03-05T06:00:00Z");
}

TEST_CASE("What cannot be is refused with its place, and nothing is changed") {
    const RecordedSample sample;
    const auto refused = [&](const std::string& body, const std::string& pointer) {
        const Reply reply = report(sample, "sorvrith-1", body);
        CAPTURE(reply.body);
        return reply.status == 400 && reply.body.find("\"" + pointer + "\"") != std::string::npos;
    };
    // two minutes ahead are a clock that runs ahead; one second more is the future
    CHECK(refused(R"({"position": {)" + here + R"(, "at": "2026-03-04T09:42:01Z"}})",
                  "#/position/at"));
    CHECK(refused(R"({"position": {"latitude": 48, "longitude": 16}})", "#/position"));
    CHECK(refused(R"({"position": {"latitude": 91, "longitude": 0}})", "#/position/latitude"));
    CHECK(refused(R"({"position": {"latitude": 1}})", "#/position/longitude"));
    CHECK(refused(R"({"state": "tired"})", "#/state"));
    CHECK(refused(R"({"state": "rest", "until": "2026-03-04T09:40:00Z"})", "#/until"));
    CHECK(refused(R"({"until": "2026-03-04T19:40:00Z"})", "#/until"));
    CHECK(refused("{}", "#"));
    CHECK(refused(R"({"stat": "rest"})", "#/stat"));
    const Reply unknown = report(sample, "sorvrith-11", R"({"state": "rest"})");
    CHECK(unknown.status == 404);
    CHECK(unknown.body.find("did you mean 'sorvrith-1'") != std::string::npos);
    CHECK(text_at(vehicle(sample, "sorvrith-1"), "state") == "free");
    CHECK(report(sample, "sorvrith-1",
                 R"({"position": {)" + here + R"(, "at": "2026-03-04T09:42:00Z"}})")
              .status == 200);
    CHECK(text_at(vehicle(sample, "sorvrith-1"), "position.at") == "2026-03-04T09:40:00Z");
}

TEST_CASE("A driver speaks for the own vehicle and for no other; who practises changes none") {
    RecordedSample sample;
    CHECK(is_refused([&] { sample.desk().report_vehicle({other_driver}, out_of_fuel()); }, 403));
    Caller practising = dispatcher;
    practising.practice = true;
    CHECK(is_refused([&] { sample.desk().report_vehicle({practising}, out_of_fuel()); }, 403));
    CHECK(sample.records().vehicle_reports().empty());
    sample.desk().report_vehicle({its_driver}, out_of_fuel());
    sample.desk().report_vehicle({dispatcher}, out_of_fuel());
    CHECK(sample.records().vehicle_reports().size() == 1);
}

TEST_CASE("A report sent again because no answer came is stored once") {
    RecordedSample sample;
    const std::string key = "Idempotency-Key: phone-1\r\n";
    CHECK(report(sample, "sorvrith-1", R"({"state": "taken"})", key).status == 200);
    CHECK(report(sample, "sorvrith-1", R"({"state": "taken"})", key).status == 200);
    CHECK(sample.records().sequence() == 1);
    CHECK(report(sample, "sorvrith-1", R"({"state": "rest"})", key).status == 422);
}

TEST_CASE(
    "After a restart, from the fold's snapshot or from all events, vehicles are as they were") {
    const PrivateFolder folder;
    VehicleReports before;
    {
        RecordedSample sample{folder.path()};
        report(sample, "sorvrith-1", R"({"position": {)" + here + R"(}, "state": "rest",
                   "until": "2026-03-04T12:00:00Z"})");
        report(sample, "venzhoth-1", R"({"state": "free", "until": "2026-03-04T23:00:00Z"})");
        before = sample.records().vehicle_reports();
        CHECK(before.size() == 2);
        const journal::Folded<Recorded> folded =
            journal::load(sample.records().journal(), recorded_fold());
        CHECK(recorded_fold().read(recorded_fold().write(folded.state)).vehicles == before);
    }
    RecordedSample again{folder.path()};
    CHECK(again.records().vehicle_reports() == before);
}

TEST_CASE("A position makes no new snapshot: what phones carry stays the same") {
    RecordedSample sample;
    const auto before = sample.snapshot().get();
    CHECK(report(sample, "sorvrith-1", R"({"position": {)" + here + "}}").status == 200);
    CHECK(sample.snapshot().get() == before);
}

}  // namespace waybourne::server::test
