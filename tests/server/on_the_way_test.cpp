#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>

#include "server/json/writer.hpp"
#include "tests/server/recorded_sample.hpp"

// She has left, and the place says no or the road is closed: where to go is worked out again from
// where she is (design, section 6: "replan from the vehicle's position").

namespace waybourne::server::test {

namespace {

GeoPoint point_of(const JsonValue& position) {
    return {Latitude{position.items().at(1).number()}, Longitude{position.items().at(0).number()}};
}

std::vector<GeoPoint> line_of(const JsonValue& geometry) {
    std::vector<GeoPoint> line;
    for (const JsonValue& position : at(geometry, "coordinates").items()) {
        line.push_back(point_of(position));
    }
    return line;
}

/// A point of the way as it is planned now, `part` of its points along.
GeoPoint on_the_way(const RecordedSample& sample, const std::string& code, double part) {
    const auto line = line_of(at(sample.show(code), "plan.geometry"));
    return line.at(static_cast<std::size_t>(part * static_cast<double>(line.size())));
}

std::string to_body(const GeoPoint& point) {
    return fmt::format(R"({{"latitude": {:.7f}, "longitude": {:.7f}}})", point.latitude().degrees,
                       point.longitude().degrees);
}

std::string step_at(const std::string& step, const GeoPoint& position,
                    const std::string& more = "") {
    return R"({"step": ")" + step + R"(", "position": )" + to_body(position) + more + "}";
}

JsonValue onward(const RecordedSample& sample, const std::string& code,
                 const std::string& body = "{}") {
    const Reply reply = sample.send("POST", "/v1/referrals/" + code + "/recommendations", body);
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    return parse_json(reply.body);
}

/// What the same findings, of the same time, lead to from a point, for somebody who is already
/// travelling.
JsonValue asked_from(const RecordedSample& sample, const GeoPoint& point,
                     const std::string& calls) {
    const Reply reply = sample.send("POST", "/v1/recommendations",
                                    R"({"at": "2026-03-04T09:40:00Z",
  "readings": [{"taken_at": "2026-03-04T09:35:00Z", "systolic_mmhg": 165, "diastolic_mmhg": 112,
                "pulse_per_minute": 96}],
  "findings": {"status": "pregnant", "gestation_weeks": 34, "severe_headache": "yes"},
  "transport": {"means": "car", "ready_in_minutes": 0},
  "road_conditions": {"surface": "wet", "light": "day"}, "calls": [)" +
                                        calls + R"(], "from": )" + to_body(point) + "}");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    return parse_json(reply.body);
}

std::string stages_of(const JsonValue& recommendation) {
    return to_json(at(recommendation, "stages"));
}

const JsonValue& first_stage(const JsonValue& recommendation) {
    return at(recommendation, "stages").items().at(0);
}

double nearest_m(const std::vector<GeoPoint>& line, const GeoPoint& point) {
    double nearest = great_circle_distance(line.front(), point).value();
    for (const GeoPoint& other : line) {
        nearest = std::min(nearest, great_circle_distance(other, point).value());
    }
    return nearest;
}

/// How many road changes that hit her way she has alerts for.
std::size_t way_alerts(const RecordedSample& sample, const std::string& code) {
    const JsonValue shown = sample.show(code);
    const auto& alerts = at(shown, "alerts").items();
    return static_cast<std::size_t>(std::count_if(
        alerts.begin(), alerts.end(),
        [](const JsonValue& alert) { return text_at(alert, "alert").starts_with("way-"); }));
}

constexpr double half_a_kilometre = 500;

/// Nothing goes within some hundred metres of there until the evening.
std::string closed_around(const GeoPoint& point) {
    constexpr double reach = 0.004;  // degrees: 445 m
    const double x = point.longitude().degrees;
    const double y = point.latitude().degrees;
    return fmt::format(
        R"({{"kind": "closed", "until": "2026-03-04T20:00:00Z", "reason": "slide", "where": {{"area":
            {{"type": "LineString", "coordinates": [[{:.7f},{:.7f}],[{:.7f},{:.7f}],[{:.7f},{:.7f}],
            [{:.7f},{:.7f}]]}}}}}})",
        x - reach, y - reach, x + reach, y - reach, x + reach, y + reach, x - reach, y + reach);
}

}  // namespace

TEST_CASE("A no on the way: where to go next is worked out from where she was last seen") {
    RecordedSample sample;
    const std::string code = sample.open();
    const GeoPoint there = on_the_way(sample, code, 0.4);
    sample.clock().pass(10min);
    REQUIRE(sample.tell(code, R"({"step": "departed"})").status == 200);
    sample.clock().pass(20min);
    REQUIRE(sample.tell(code, step_at("declined", there, R"(, "reason": "no surgeon")")).status ==
            200);
    const JsonValue next = onward(sample, code);
    const std::string refused = R"({"facility": "sorvrith-hospital", "answer": "refused"})";
    CHECK(stages_of(next) == stages_of(asked_from(sample, there, refused)));
    CHECK(text_at(first_stage(next), "facility") != "sorvrith-hospital");
    CHECK(nearest_m(line_of(at(first_stage(next), "geometry")), there) < half_a_kilometre);
    // somebody who knows better says where she is
    const GeoPoint further = on_the_way(sample, code, 0.7);
    const JsonValue from_there = onward(sample, code, R"({"from": )" + to_body(further) + "}");
    CHECK(stages_of(from_there) == stages_of(asked_from(sample, further, refused)));
    CHECK(stages_of(from_there) != stages_of(next));
}

TEST_CASE("A road closed on the way: an alert, and the new plan begins where she is") {
    RecordedSample sample;
    const std::string code = sample.open();
    const GeoPoint there = on_the_way(sample, code, 0.3);
    const GeoPoint slide = on_the_way(sample, code, 0.7);
    sample.clock().pass(10min);
    REQUIRE(sample.tell(code, step_at("departed", there)).status == 200);
    sample.clock().pass(10min);
    const JsonValue before = onward(sample, code);
    const Reply closed = sample.send("POST", "/v1/road-conditions", closed_around(slide));
    REQUIRE_MESSAGE(closed.status == 200, closed.body);
    CHECK(way_alerts(sample, code) == 1);

    const JsonValue next = onward(sample, code);
    CHECK(stages_of(next) == stages_of(asked_from(sample, there, "")));
    const std::string place = text_at(first_stage(next), "facility");
    CHECK(nearest_m(line_of(at(first_stage(next), "geometry")), slide) > 300);
    const Reply diverted =
        sample.tell(code, step_at("diverted", there, R"(, "place": ")" + place + "\""));
    REQUIRE_MESSAGE(diverted.status == 200, diverted.body);
    const JsonValue now = parse_json(diverted.body);
    CHECK(text_at(now, "plan.to") == place);
    const auto line = line_of(at(now, "plan.geometry"));
    CHECK(great_circle_distance(line.front(), there).value() < half_a_kilometre);
    CHECK(nearest_m(line, slide) > 300);
    sample.clock().pass(1s);
    sample.watch().look();
    CHECK(way_alerts(sample, code) == 1);  // the new way does not run there
}

TEST_CASE("Where she is, is where she was seen last, in whatever order it is told") {
    RecordedSample sample;
    const std::string code = sample.open();
    const GeoPoint early = on_the_way(sample, code, 0.2);
    const GeoPoint later = on_the_way(sample, code, 0.6);
    sample.clock().pass(30min);
    REQUIRE(sample.tell(code, step_at("departed", later)).status == 200);
    const std::string path = "/v1/referrals/" + code + "/events";
    const Reply late = sample.send(
        "POST", path, step_at("with_the_woman", early, R"(, "recorded_late": true, "id": "phone-1",
            "occurred_at": "2026-03-04T09:50:00Z", "recorded_at": "2026-03-04T09:50:00Z")"));
    REQUIRE_MESSAGE(late.status == 200, late.body);
    CHECK(stages_of(onward(sample, code)) == stages_of(asked_from(sample, later, "")));
}

TEST_CASE("A diversion told late, or taken back, leaves the plan with the place that is asked") {
    RecordedSample sample;
    const std::string code = sample.open();
    sample.clock().pass(30min);
    REQUIRE(sample.tell(code, R"({"step": "diverted", "place": "venzhoth-hospital"})").status ==
            200);
    const std::string path = "/v1/referrals/" + code + "/events";
    const Reply late = sample.send(
        "POST", path, R"({"step": "diverted", "place": "pellumvo-hospital", "recorded_late": true,
            "id": "phone-1", "occurred_at": "2026-03-04T09:50:00Z",
            "recorded_at": "2026-03-04T09:50:00Z"})");
    REQUIRE_MESSAGE(late.status == 200, late.body);
    CHECK(text_at(sample.show(code), "asked") == "venzhoth-hospital");
    CHECK(text_at(sample.show(code), "plan.to") == "venzhoth-hospital");
    // both were a mistake
    const JsonValue shown = sample.show(code);
    std::vector<std::string> mistakes;
    for (const JsonValue& event : at(shown, "history").items()) {
        if (text_at(event, "step") == "diverted") {
            mistakes.push_back(text_at(event, "id"));
        }
    }
    REQUIRE(mistakes.size() == 2);
    for (const std::string& id : mistakes) {
        const Reply reply =
            sample.tell(code, R"({"step": "withdrawn", "corrects": ")" + id + "\"}");
        REQUIRE_MESSAGE(reply.status == 200, reply.body);
    }
    CHECK(text_at(sample.show(code), "asked") == "sorvrith-hospital");
    CHECK(text_at(sample.show(code), "plan.to") == "sorvrith-hospital");
}

}  // namespace waybourne::server::test
