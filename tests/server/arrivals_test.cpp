#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>

#include "tests/server/recorded_sample.hpp"

// What the receiving place sees and says, and what is told of roads. Shapes and rules are our own
// (docs/openapi.yaml); the alert on a hit way and the readiness that counts at once are promises of
// the design (sections 6 and 11).

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

const std::string closed_around_hospital =
    R"({"kind": "closed", "near": {"place": "sorvrith-hospital", "within_m": 800},
        "until": "2026-03-04T20:00:00Z", "reason": "flood"})";

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

TEST_CASE("A closed road changes recommendations at once and alerts whose way it hits, once") {
    RecordedSample sample;
    const std::string code = sample.open();
    const std::string before = recommended(sample);
    const Reply closed = sample.send("POST", "/v1/road-conditions", closed_around_hospital);
    REQUIRE_MESSAGE(closed.status == 200, closed.body);
    const JsonValue state = parse_json(closed.body);
    const std::string id = text_at(at(state, "changes").items().at(0), "id");
    CHECK(text_at(at(state, "reported").items().at(0), "by") == "local");
    const JsonValue hit = sample.show(code);
    REQUIRE(at(hit, "alerts").items().size() == 1);
    CHECK(text_at(at(hit, "alerts").items()[0], "alert") == "way-" + id);
    CHECK(sample.watch().look() == 0);
    if (before == "sorvrith-hospital") {
        CHECK(recommended(sample) != before);
    }
    // planned anew after the closure, the way no longer runs there
    CHECK(sample.send("DELETE", "/v1/road-conditions/" + id).status == 200);
    CHECK(sample.send("DELETE", "/v1/road-conditions/" + id).status == 404);
    CHECK(recommended(sample) == before);
    CHECK(
        sample.tell(code, R"({"step": "alert_acknowledged", "alert": "way-)" + id + "\"}").status ==
        200);
}

TEST_CASE("A road is open again when somebody says so, and by itself when its time is over") {
    RecordedSample sample;
    CHECK(sample.send("POST", "/v1/road-conditions", closed_around_hospital).status == 200);
    const Reply open = sample.send("POST", "/v1/road-conditions",
                                   R"({"kind": "open",
                                       "near": {"place": "sorvrith-hospital", "within_m": 100}})");
    REQUIRE_MESSAGE(open.status == 200, open.body);
    CHECK(at(parse_json(open.body), "changes").items().empty());
    const std::string before = recommended(sample);
    CHECK(sample
              .send("POST", "/v1/road-conditions",
                    R"({"kind": "closed", "where": {"road": "Ishuvel trunk road"},
                        "until": "2026-03-04T10:00:00Z"})")
              .status == 200);
    sample.clock().pass(30min);
    CHECK(recommended(sample) == before);
}

TEST_CASE("What is no road, or has no end, is refused with the reason") {
    const RecordedSample sample;
    const auto status = [&](const std::string& body) {
        return sample.send("POST", "/v1/road-conditions", body).status;
    };
    CHECK(status(R"({"kind": "closed", "where": {"road": "Ford road"}})") == 400);
    CHECK(status(R"({"kind": "closed", "where": {"road": "No such road"},
                     "until": "2026-03-04T20:00:00Z"})") == 400);
    CHECK(status(R"({"kind": "slower", "where": {"road": "Ford road"},
                     "until": "2026-03-04T20:00:00Z"})") == 400);
    CHECK(status(R"({"kind": "closed", "until": "2026-03-04T20:00:00Z"})") == 400);
    CHECK(status(R"({"kind": "closed", "where": {"road": "Ford road"},
                     "until": "2026-03-04T09:00:00Z"})") == 400);
    CHECK(status(R"({"kind": "slower", "slower_by": 2, "where": {"road": "Ford road"},
                     "until": "2026-03-04T20:00:00Z"})") == 200);
}

}  // namespace waybourne::server::test
