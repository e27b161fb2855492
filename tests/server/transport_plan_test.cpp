#include <doctest/doctest.h>

#include <algorithm>

#include "server/json/value.hpp"
#include "tests/server/served_sample.hpp"

namespace waybourne::server::test {

namespace {

const std::string findings = R"("readings": [{"taken_at": "2026-03-04T09:35:00Z",
  "systolic_mmhg": 165, "diastolic_mmhg": 112, "pulse_per_minute": 96}],
  "findings": {"status": "pregnant", "gestation_weeks": 34, "severe_headache": "yes"})";

std::string woman(const std::string& id, const std::string& clinic, const std::string& more = "") {
    return R"({"id": ")" + id + R"(", "request": {"from": {"facility": ")" + clinic + R"("}, )" +
           findings + more + "}}";
}

const JsonValue& at(const JsonValue& value, const std::string& name) {
    const JsonValue* found = value.find(name);
    REQUIRE_MESSAGE(found != nullptr, name);
    return *found;
}

Reply plan(const ServedSample& sample, const std::string& referrals, const std::string& more = "") {
    return post(sample.port(), "/v1/transport-plans",
                R"({"referrals": [)" + referrals + "]" + more + "}");
}

}  // namespace

TEST_CASE("One woman: every vehicle of the district is compared, and her own transport") {
    const ServedSample sample;
    const Reply reply =
        plan(sample, woman("first", "kezhiru-clinic",
                           R"(, "transport": {"means": "car", "ready_in_minutes": 10})"));
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    const JsonValue body = parse_json(reply.body);
    REQUIRE(at(body, "carried").items().size() == 1);
    CHECK(at(at(at(body, "carried").items()[0], "way"), "possible").boolean());
    // Eight vehicles in maps-sample/vehicles.json, and her own; more where two meet on the way.
    CHECK(at(body, "ways").items().size() >= 9);
    CHECK(at(at(body, "ways").items()[0], "against").items().empty());
    for (std::size_t i = 1; i < at(body, "ways").items().size(); ++i) {
        CAPTURE(i);
        CHECK_FALSE(at(at(body, "ways").items()[i], "against").items().empty());
    }
}

TEST_CASE("Three women are given three different vehicles, and the plan is proven the best") {
    const ServedSample sample;
    const Reply reply =
        plan(sample, woman("a", "kezhiru-clinic") + "," + woman("b", "luzhenni-clinic") + "," +
                         woman("c", "kezhiru-clinic"));
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    const JsonValue body = parse_json(reply.body);
    std::vector<std::string> used;
    for (const JsonValue& carried : at(body, "carried").items()) {
        for (const JsonValue& vehicle : at(at(carried, "way"), "vehicles").items()) {
            used.push_back(at(vehicle, "id").text());
        }
    }
    std::sort(used.begin(), used.end());
    CHECK(used.size() >= 3);
    CHECK(std::adjacent_find(used.begin(), used.end()) == used.end());
    CHECK(at(body, "is_optimal").boolean());
}

TEST_CASE("What is wrong with a plan's request is told with its place") {
    const ServedSample sample;
    CHECK(plan(sample, woman("a", "kezhiru-clinc")).status == 404);
    const Reply twice =
        plan(sample, woman("a", "kezhiru-clinic") + "," + woman("a", "luzhenni-clinic"));
    CHECK(twice.status == 400);
    CHECK(twice.body.find("#/referrals/1/id") != std::string::npos);
    const Reply kit = plan(sample, woman("a", "kezhiru-clinic"),
                           R"(, "vehicles": [{"id": "x", "name": "X", "base": "kezhiru-clinic",
        "kind": "car", "means": "car", "mobilisation_minutes": 5, "kit": ["magic"]}])");
    CHECK(kit.status == 400);
    CHECK(kit.body.find("#/vehicles/0/kit/0") != std::string::npos);
    const Reply off = plan(sample, woman("a", "kezhiru-clinic"),
                           R"(, "vehicles": [{"id": "x", "name": "X",
        "base": {"latitude": 48, "longitude": 16}, "kind": "car", "means": "car",
        "mobilisation_minutes": 5}])");
    CHECK(off.status == 400);
    CHECK(off.body.find("off the map") != std::string::npos);
    CHECK(
        plan(sample, woman("a", "kezhiru-clinic"), R"(, "promises": [{"referral": "b"}])").status ==
        400);
}

TEST_CASE("A dispatcher's own decision is planned around, and its cost is said") {
    const ServedSample sample;
    const Reply best = plan(sample, woman("a", "kezhiru-clinic"));
    const Reply own = plan(sample, woman("a", "kezhiru-clinic"),
                           R"(, "decided": {"referral": "a", "vehicles": ["pellumvo-1"]})");
    REQUIRE_MESSAGE(own.status == 200, own.body);
    const JsonValue body = parse_json(own.body);
    const JsonValue& way = at(at(body, "carried").items()[0], "way");
    CHECK(at(at(way, "vehicles").items()[0], "id").text() == "pellumvo-1");
    const JsonValue free = parse_json(best.body);
    CHECK(at(at(body, "cost"), "lateness").number() >= at(at(free, "cost"), "lateness").number());
}

}  // namespace waybourne::server::test
