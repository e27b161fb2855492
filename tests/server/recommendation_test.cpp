#include <doctest/doctest.h>

#include <chrono>
#include <set>
#include <thread>
#include <vector>

#include "server/json/value.hpp"
#include "tests/server/served_sample.hpp"

// The shapes are fixed by the API reference, docs/openapi.yaml; the woman's story is the first one
// of maps-sample/README.md.

namespace waybourne::server::test {

namespace {

const std::string woman = R"({
  "at": "2026-03-04T09:40:00Z",
  "readings": [{"taken_at": "2026-03-04T09:35:00Z", "systolic_mmhg": 165, "diastolic_mmhg": 112,
                "pulse_per_minute": 96}],
  "findings": {"status": "pregnant", "gestation_weeks": 34, "avpu": "A", "convulsions": "no",
               "bleeding": "none", "severe_headache": "yes", "urine_protein": 2, "temp_c": 37.2},
  "available_here": ["oral_antihypertensive"])";
const std::string assessment_request = woman + "}";
const std::string recommendation_request = woman + R"(, "from": {"facility": "kezhiru-clinic"},
  "transport": {"means": "car", "ready_in_minutes": 10},
  "road_conditions": {"surface": "wet", "light": "day"}})";

std::set<std::string> names(const JsonValue& value) {
    std::set<std::string> all;
    for (const JsonMember& member : value.members()) {
        all.insert(member.name);
    }
    return all;
}

const JsonValue& at(const JsonValue& value, const std::string& name) {
    const JsonValue* found = value.find(name);
    REQUIRE_MESSAGE(found != nullptr, name);
    return *found;
}

/// The pointers of a problem's errors.
std::vector<std::string> pointers(const Reply& reply) {
    std::vector<std::string> all;
    const JsonValue body = parse_json(reply.body);
    if (const JsonValue* errors = body.find("errors")) {
        for (const JsonValue& error : errors->items()) {
            all.push_back(at(error, "pointer").text());
        }
    }
    return all;
}

}  // namespace

TEST_CASE("Severe pressure with headache: she needs treatment within four hours of the findings") {
    // Rule HTN-2: 165 reaches the limit of 160; 240 minutes from 09:40 is 13:40 (API reference).
    const ServedSample sample;
    const Reply reply = post(sample.port(), "/v1/assessments", assessment_request);
    REQUIRE(reply.status == 200);
    CHECK(reply.field("Cache-Control") == "no-store");
    CHECK(reply.field("X-Content-Type-Options") == "nosniff");
    CHECK_FALSE(reply.field("Request-Id").empty());
    const JsonValue body = parse_json(reply.body);
    CHECK(names(body) == std::set<std::string>{"protocol", "assessed_at", "suspected", "needs",
                                               "earliest_deadline", "within_minutes", "leave_now",
                                               "refer", "provisional", "measure_again", "do_now",
                                               "on_the_way", "withheld", "questions", "refused",
                                               "confirm", "cautions"});
    CHECK(at(body, "earliest_deadline").text() == "2026-03-04T13:40:00Z");
    CHECK(at(body, "within_minutes").number() == 240);
    CHECK(at(body, "refer").boolean());
    CHECK_FALSE(at(body, "suspected").items().empty());
    CHECK_FALSE(at(body, "cautions").items().empty());
}

TEST_CASE("Nothing wrong: no deadline, nobody is referred, and she stays") {
    // 118/72, pulse 80, well at 34 weeks: worked case WC-01 of the clinical specification.
    const ServedSample sample;
    const std::string well = R"({
      "readings": [{"taken_at": "2026-03-04T09:35:00Z", "systolic_mmhg": 118, "diastolic_mmhg": 72,
                    "pulse_per_minute": 80}],
      "findings": {"status": "pregnant", "gestation_weeks": 34, "avpu": "A", "convulsions": "no",
                   "bleeding": "none"}, "from": {"facility": "kezhiru-clinic"}})";
    const Reply reply = post(sample.port(), "/v1/recommendations", well);
    REQUIRE(reply.status == 200);
    const JsonValue body = parse_json(reply.body);
    CHECK(at(body, "outcome").text() == "stay");
    CHECK(at(body, "stages").items().empty());
    CHECK(at(at(body, "assessment"), "earliest_deadline").kind() == JsonKind::null);
    CHECK(at(at(body, "assessment"), "within_minutes").kind() == JsonKind::null);
    CHECK_FALSE(at(at(body, "assessment"), "refer").boolean());
}

TEST_CASE("A recommendation names the place, the way, the fallback and why not nearer") {
    const ServedSample sample;
    const Reply reply = post(sample.port(), "/v1/recommendations", recommendation_request);
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    const JsonValue body = parse_json(reply.body);
    CHECK(names(body) == std::set<std::string>{"assessment", "outcome", "stages", "alternatives",
                                               "passed_over", "call_first", "meanwhile", "remarks",
                                               "referral_note", "snapshot", "cautions"});
    REQUIRE_FALSE(at(body, "stages").items().empty());
    const JsonValue& stage = at(body, "stages").items().front();
    CHECK(names(stage) == std::set<std::string>{"facility", "name", "phones", "meets", "leave_by",
                                                "arrival", "care_begins", "travel_time_s",
                                                "distance_m", "margin_s", "readiness",
                                                "chance_in_time", "legs", "geometry"});
    CHECK(at(stage, "facility").text() != "kezhiru-clinic");
    CHECK(at(at(stage, "travel_time_s"), "typical").number() <=
          at(at(stage, "travel_time_s"), "allow").number());
    CHECK(at(at(stage, "geometry"), "coordinates").items().size() > 2);
    CHECK(at(body, "alternatives").items().size() >= 2);
    CHECK(at(body, "referral_note").text().size() > 100);
    CHECK(at(at(body, "snapshot"), "map").text().size() == 64);
    // No text was forgotten in the catalogues: a gap shows as an id in brackets.
    CHECK(reply.body.find("\"[") == std::string::npos);
}

TEST_CASE("Every error of a request is named at once, with its place and the nearest known name") {
    const ServedSample sample;
    const Reply reply = post(sample.port(), "/v1/recommendations", R"({
      "readings": [{"taken_at": "yesterday", "systolic_mmhg": "165"}],
      "findings": {"convulsions": true}, "available_here": ["oxigen"],
      "from": {"latitude": 97.1, "longitude": 0.1}, "trasport": {},
      "road_conditions": {"surface": "icy", "light": "day"}, "calls": [{"facility": "x"}]})");
    CHECK(reply.status == 400);
    CHECK(pointers(reply) == std::vector<std::string>{
                                 "#/readings/0/taken_at", "#/readings/0/systolic_mmhg",
                                 "#/findings/convulsions", "#/available_here/0", "#/from/latitude",
                                 "#/road_conditions/surface", "#/calls/0/answer", "#/trasport"});
    CHECK(reply.body.find("did you mean \\\"transport\\\"?") != std::string::npos);
    CHECK(reply.body.find("did you mean \\\"oxygen\\\"?") != std::string::npos);
    CHECK(reply.body.find("97.1 is outside -90 to 90") != std::string::npos);
}

TEST_CASE("A field that the protocol does not know is refused with the nearest one") {
    const ServedSample sample;
    const Reply reply =
        post(sample.port(), "/v1/assessments", R"({"findings": {"sever_headache": "yes"}})");
    CHECK(reply.status == 400);
    CHECK(reply.body.find("severe_headache") != std::string::npos);
}

TEST_CASE("A systolic below the diastolic is refused as a value, and the rest is still judged") {
    const ServedSample sample;
    const Reply reply = post(sample.port(), "/v1/assessments", R"({
      "readings": [{"taken_at": "2026-03-04T09:35:00Z", "systolic_mmhg": 70, "diastolic_mmhg": 110}],
      "findings": {"convulsions": "yes"}})");
    REQUIRE(reply.status == 200);
    const JsonValue body = parse_json(reply.body);
    CHECK_FALSE(at(body, "refused").items().empty());
    CHECK_FALSE(at(body, "needs").items().empty());
}

TEST_CASE("A time to come is refused; two minutes are a phone's clock") {
    const ServedSample sample;
    const auto ask = [&](const std::string& when) {
        return post(sample.port(), "/v1/assessments", R"({"at": ")" + when + R"("})");
    };
    CHECK(ask("2026-03-04T09:41:30Z").status == 200);
    const Reply late = ask("2026-03-04T10:40:00Z");
    CHECK(late.status == 400);
    CHECK(pointers(late) == std::vector<std::string>{"#/at"});
}

TEST_CASE("A point off the map and an unknown clinic are told apart") {
    const ServedSample sample;
    const Reply off = post(sample.port(), "/v1/recommendations",
                           R"({"from": {"latitude": 48.2, "longitude": 16.4}})");
    CHECK(off.status == 400);
    CHECK(pointers(off) == std::vector<std::string>{"#/from"});
    const Reply unknown =
        post(sample.port(), "/v1/recommendations", R"({"from": {"facility": "kezhiru-clinc"}})");
    CHECK(unknown.status == 404);
    CHECK(unknown.body.find("kezhiru-clinic") != std::string::npos);
}

TEST_CASE("A list of facilities that has not changed is not sent again") {
    const ServedSample sample;
    const Reply first = get(sample.port(), "/v1/facilities");
    REQUIRE(first.status == 200);
    RawClient client{sample.port()};
    client.send("GET /v1/facilities HTTP/1.1\r\nHost: localhost\r\nIf-None-Match: " +
                first.field("ETag") + "\r\n\r\n");
    CHECK(parse_reply(client.receive()).status == 304);  // RFC 9110, section 13.1.2
}

TEST_CASE("The log never holds anything about a woman") {
    ServedSample sample;
    // Markers in every place where a client can put something.
    post(sample.port(), "/v1/assessments", R"({"findings": {"marker_one": "yes"}})");
    post(sample.port(), "/v1/recommendations", R"({"from": {"facility": "marker-two"}})");
    post(sample.port(), "/v1/recommendations",
         R"({"from": {"latitude": 12.3456789, "longitude": 12.3456789}})");
    get(sample.port(), "/v1/facilities/marker-three");
    get(sample.port(), "/marker-four?marker-five");
    post(sample.port(), "/v1/recommendations", recommendation_request);
    const std::string log = without_chance(sample.stop());
    CHECK(log.find("event=request") != std::string::npos);
    CHECK(log.find("path=/v1/recommendations status=200") != std::string::npos);
    for (const char* personal : {"marker", "12.345", "kezhiru", "165", "127.0.0.1", "headache"}) {
        CAPTURE(personal);
        CHECK(log.find(personal) == std::string::npos);
    }
}

TEST_CASE("Eight who ask at once get the answer that one gets") {
    const ServedSample sample;
    const std::string alone =
        post(sample.port(), "/v1/recommendations", recommendation_request).body;
    std::vector<std::string> answers(8);
    std::vector<std::thread> clients;
    clients.reserve(answers.size());
    for (std::string& answer : answers) {
        clients.emplace_back([&] {
            for (int turn = 0; turn < 3; ++turn) {
                answer = post(sample.port(), "/v1/recommendations", recommendation_request).body;
            }
        });
    }
    for (std::thread& client : clients) {
        client.join();
    }
    const JsonValue expected = parse_json(alone);
    for (const std::string& answer : answers) {
        REQUIRE_FALSE(answer.empty());
        const JsonValue body = parse_json(answer);
        CHECK(at(body, "outcome").text() == at(expected, "outcome").text());
        CHECK(at(at(body, "stages").items().front(), "facility").text() ==
              at(at(expected, "stages").items().front(), "facility").text());
        CHECK(at(at(body, "stages").items().front(), "distance_m").number() ==
              at(at(expected, "stages").items().front(), "distance_m").number());
    }
}

TEST_CASE("Counts and latencies can be read by the machine that watches") {
    const ServedSample sample;
    get(sample.port(), "/livez");
    // A request is counted once its answer has left, which may be just after it was read here.
    const auto is_counted = [](const Reply& reply) {
        return reply.body.find(
                   R"(waybourne_requests_total{method="GET",path="/livez",status="200"} 1)") !=
               std::string::npos;
    };
    Reply reply = get(sample.port(), "/metrics");
    for (int tries = 0; tries < 100 && !is_counted(reply); ++tries) {
        std::this_thread::sleep_for(std::chrono::milliseconds{50});
        reply = get(sample.port(), "/metrics");
    }
    CHECK(is_counted(reply));
    CHECK(reply.field("Content-Type").starts_with("text/plain; version=0.0.4"));
    CHECK(reply.body.find("waybourne_snapshot_info{district=\"Oruvesh\"") != std::string::npos);
}

}  // namespace waybourne::server::test
