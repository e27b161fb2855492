#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>

#include "tests/server/recorded_sample.hpp"

// What the receiving place sees and says. Shapes and rules are our own (docs/openapi.yaml); the
// readiness that counts at once is a promise of the design (section 11).

namespace waybourne::server::test {

namespace {

const std::string readiness = "/v1/facilities/sorvrith-hospital/readiness";

JsonValue arrivals(const RecordedSample& sample, const std::string& place) {
    const Reply reply = sample.send("GET", "/v1/facilities/" + place + "/arrivals");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    return parse_json(reply.body);
}

/// The place that a recommendation for the same woman leads to now.
std::string recommended(const RecordedSample& sample) {
    const JsonValue opening = parse_json(opening_body());
    const Reply reply = sample.send("POST", "/v1/recommendations", to_json(at(opening, "request")));
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    const JsonValue body = parse_json(reply.body);
    const auto& stages = at(body, "stages").items();
    return stages.empty() ? "" : text_at(stages.front(), "facility");
}

std::string etag_field(const RecordedSample& sample, const std::string& code) {
    return "If-Match: " + sample.send("GET", "/v1/referrals/" + code).field("ETag") + "\r\n";
}

}  // namespace

TEST_CASE("The hospital sees who is coming, the soonest first, and what to prepare") {
    RecordedSample sample;
    const std::string first = sample.open();
    sample.clock().pass(20min);
    const std::string second = sample.open(R"("treatments": [{"action": "A4"}])");
    const JsonValue list = arrivals(sample, "sorvrith-hospital");
    REQUIRE(at(list, "arrivals").items().size() == 2);
    CHECK(text_at(at(list, "arrivals").items()[0], "code") == first);
    const JsonValue& other = at(list, "arrivals").items()[1];
    CHECK(text_at(other, "code") == second);
    CHECK(text_at(at(other, "treatments").items().at(0), "action") == "A4");
    CHECK(text_at(at(other, "treatments").items().at(0), "text")
              .starts_with("Measure again at once."));
    CHECK_FALSE(at(other, "needs").items().empty());
    CHECK(at(arrivals(sample, "venzhoth-hospital"), "arrivals").items().empty());
    // who has left is expected from when she left; who was handed over is no longer expected
    CHECK(sample.tell(second, R"({"step": "departed"})").status == 200);
    CHECK(sample.tell(second, R"({"step": "arrived"})").status == 200);
    CHECK(text_at(at(arrivals(sample, "sorvrith-hospital"), "arrivals").items()[0], "code") ==
          second);
    CHECK(sample.tell(second, R"({"step": "received"})").status == 200);
    CHECK(at(arrivals(sample, "sorvrith-hospital"), "arrivals").items().size() == 1);
}

TEST_CASE("One call says yes to her and what is ready; all of it counts or nothing") {
    const RecordedSample sample;
    const std::string code = sample.open();
    const std::string call = R"({"reports": [{"about": "whole_facility", "state": "ready"}],
        "reply": {"code": ")" +
                             code + R"(", "answer": "accepted"}})";
    CHECK(sample.send("POST", readiness, call).status == 428);
    CHECK(sample.send("POST", readiness, call, etag_field(sample, code)).status == 200);
    CHECK(text_at(sample.show(code), "reply") == "accepted");
    const std::string unfit = R"({"reports": [{"about": "no-such-thing", "state": "ready"}],
        "reply": {"code": ")" +
                              code + R"(", "answer": "declined", "reason": "no theatre"}})";
    CHECK(sample.send("POST", readiness, unfit, etag_field(sample, code)).status == 400);
    CHECK(text_at(sample.show(code), "reply") == "accepted");
    const std::string silent = R"({"reply": {"code": ")" + code + R"(", "answer": "declined"}})";
    CHECK(sample.send("POST", readiness, silent, etag_field(sample, code)).status == 409);
    CHECK(sample.send("POST", readiness, "{}").status == 400);
    CHECK(sample.send("POST", "/v1/facilities/nowhere/readiness", call).status == 404);
}

TEST_CASE("Stock, staff and a capability are reported in one call, each until its own time") {
    RecordedSample sample;
    const std::string code = sample.open();
    const std::string call = R"({"reports": [
        {"about": "blood", "state": "ready", "units": 1},
        {"about": "surgeon", "state": "not_ready", "until": "2026-03-04T12:00:00Z"},
        {"about": "ultrasound", "state": "not_ready"}],
        "reply": {"code": ")" +
                             code + R"(", "answer": "declined", "reason": "no surgeon"}})";
    const Reply reply = sample.send("POST", readiness, call, etag_field(sample, code));
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    CHECK(text_at(sample.show(code), "reply") == "declined");
    const auto of = [&](const std::string& capability, const std::string& member) -> std::string {
        const JsonValue body = parse_json(sample.send("GET", readiness).body);
        for (const JsonValue& one : at(body, "readiness").items()) {
            if (text_at(one, "capability") == capability) {
                return text_at(one, member);
            }
        }
        return "not offered";
    };
    CHECK(of("blood_transfusion", "state") == "not_ready");  // needs two units (facilities.geojson)
    CHECK(of("ultrasound", "state") == "not_ready");
    CHECK(of("uterotonics", "state") == "ready");
    // until then nobody operates; afterwards the report says nothing any more, not that all is well
    CHECK(of("operative_delivery", "ready_at") == "2026-03-04T12:00:00Z");
    CHECK(of("operative_delivery", "state") == "unconfirmed");
    sample.clock().pass(3h);
    CHECK(of("operative_delivery", "ready_at") == to_rfc3339(sample.clock().now()));
    CHECK(of("operative_delivery", "state") == "unconfirmed");
    const std::string six = R"({"reports": [{"about": "blood", "state": "ready", "units": 6}]})";
    CHECK(sample.send("POST", readiness, six).status == 200);
    CHECK(of("blood_transfusion", "state") == "ready");
    const std::string none = R"({"reports": [{"about": "blood", "state": "ready", "units": -1}]})";
    CHECK(sample.send("POST", readiness, none).status == 400);
}

TEST_CASE("A place that says it is closed is not recommended any more, at once") {
    const RecordedSample sample;
    const std::string before = recommended(sample);
    const auto began = std::chrono::steady_clock::now();
    CHECK(sample
              .send("POST", "/v1/facilities/" + before + "/readiness",
                    R"({"reports": [{"about": "whole_facility", "state": "not_ready",
                        "until": "2026-03-05T06:00:00Z"}]})")
              .status == 200);
    CHECK(recommended(sample) != before);
    MESSAGE("from the report to the changed recommendation: "
            << std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - began)
                   .count()
            << " ms");
    CHECK(sample
              .send("POST", "/v1/facilities/" + before + "/readiness",
                    R"({"reports": [{"about": "whole_facility", "state": "ready"}]})")
              .status == 200);
}

TEST_CASE("After a no she is sent elsewhere, from where she is, and the no is not asked again") {
    RecordedSample sample;
    const std::string code = sample.open();
    CHECK(sample.tell(code, R"({"step": "departed"})").status == 200);
    sample.clock().pass(10min);
    CHECK(sample.tell(code, R"({"step": "declined", "reason": "no surgeon"})").status == 200);
    const std::string path = "/v1/referrals/" + code + "/recommendations";
    const JsonValue answer =
        parse_json(sample.send("POST", path, R"({"from": {"facility": "kezhiru-clinic"}})").body);
    const std::string next = text_at(at(answer, "stages").items().at(0), "facility");
    CHECK(next != "sorvrith-hospital");
    const Reply diverted = sample.tell(code, R"({"step": "diverted", "place": ")" + next + "\"}");
    REQUIRE_MESSAGE(diverted.status == 200, diverted.body);
    const JsonValue now = parse_json(diverted.body);
    CHECK(text_at(now, "plan.to") == next);
    CHECK(text_at(now, "plan.planned_at") == to_rfc3339(sample.clock().now()));
    CHECK(text_at(now, "state") == "diverted");
}

}  // namespace waybourne::server::test
