#include <doctest/doctest.h>
#include <fmt/format.h>

#include <fstream>

#include "server/program_files.hpp"
#include "tests/server/recorded_sample.hpp"

// What is told of roads. Shapes and rules are our own (docs/openapi.yaml); that it changes
// recommendations at once, and the alert on a way that is hit, are promises of the design (section
// 6).

namespace waybourne::server::test {

namespace {

JsonValue recommendation(const RecordedSample& sample) {
    const JsonValue opening = parse_json(opening_body());
    const Reply reply = sample.send("POST", "/v1/recommendations", to_json(at(opening, "request")));
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    return parse_json(reply.body);
}

/// The place that she is sent to, and how.
std::string recommended(const RecordedSample& sample) {
    return to_json(at(recommendation(sample), "stages"));
}

/// What goes before and after the where of a report.
std::string report(const std::string& kind, const std::string& where) {
    return R"({"kind": ")" + kind + R"(", "until": "2026-03-04T20:00:00Z", "reason": "flood", )" +
           where + "}";
}

const std::string closed_around_hospital =
    report("closed", R"("near": {"place": "sorvrith-hospital", "within_m": 800})");

/// From the hill clinic to the hospital that the first story leads to, in the wet.
double way_s(const RecordedSample& sample) {
    const Reply reply =
        sample.send("POST", "/v1/routes", R"({"from": {"facility": "kezhiru-clinic"},
        "to": {"facility": "venzhoth-hospital"},
        "road_conditions": {"surface": "wet", "light": "day"}})");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    return at(parse_json(reply.body), "route.travel_time_s.typical").number();
}

/// The number of the first OpenStreetMap way of that name in the sample's map.
std::string way_named(const std::string& name) {
    std::ifstream in{program_folder() / "maps-sample" / "roads.osm"};
    std::string id;
    for (std::string line; std::getline(in, line);) {
        const std::string before = " <way id=\"";
        if (line.starts_with(before)) {
            id = line.substr(before.size(), line.find('"', before.size()) - before.size());
        } else if (line.find("v=\"" + name + "\"") != std::string::npos && !id.empty()) {
            return id;
        }
    }
    return "";
}

}  // namespace

TEST_CASE("A road is meant by its name, its number, a ring on the map, or the place it leads to") {
    const RecordedSample sample;
    const double usual = way_s(sample);
    // the last road of the first story's way (maps-sample/README.md)
    const std::string number = way_named("Ammovreth road");
    REQUIRE_FALSE(number.empty());
    const JsonValue stages = at(recommendation(sample), "stages");
    REQUIRE(text_at(stages.items().at(0), "facility") == "venzhoth-hospital");
    const auto& line = at(stages.items().at(0), "geometry.coordinates").items();
    const auto& middle = line.at(line.size() / 2).items();
    const double x = middle.at(0).number();
    const double y = middle.at(1).number();
    const std::string ring = fmt::format(
        R"("where": {{"area": {{"type": "LineString", "coordinates":
           [[{},{}],[{},{}],[{},{}]]}}}})",
        x - 0.004, y - 0.004, x + 0.004, y - 0.004, x, y + 0.004);
    for (const std::string& where :
         {std::string{R"("where": {"road": "Ammovreth road"})"}, ring,
          R"("where": {"road_id": )" + number + "}",
          std::string{R"("near": {"place": "venzhoth-hospital", "within_m": 500})"},
          std::string{R"("near": {"place": "Venzhoth hospital", "within_m": 500})"},
          std::string{R"("near": {"place": "Venzhoth", "within_m": 2000})"}}) {
        CAPTURE(where);
        const std::string slower = report("slower", where);
        const Reply told =
            sample.send("POST", "/v1/road-conditions", R"({"slower_by": 3, )" + slower.substr(1));
        REQUIRE_MESSAGE(told.status == 200, told.body);
        const JsonValue state = parse_json(told.body);
        REQUIRE(at(state, "changes").items().size() == 1);
        const JsonValue& change = at(state, "changes").items().at(0);
        // who said it, when, and until when it holds
        CHECK(at(change, "slower_by").number() == 3);
        CHECK(text_at(change, "until") == "2026-03-04T20:00:00Z");
        CHECK(text_at(change, "reason") == "flood");
        const JsonValue& said = at(state, "reported").items().at(0);
        CHECK(text_at(said, "id") == text_at(change, "id"));
        CHECK(text_at(said, "by") == "local");
        CHECK(text_at(said, "at") == sample_now);
        CHECK(way_s(sample) > usual);
        const std::string before = recommended(sample);
        // the same road closed: she is sent another way or to another place
        REQUIRE(sample.send("POST", "/v1/road-conditions", report("closed", where)).status == 200);
        CHECK(recommended(sample) != before);
        // open again: both are over
        const std::string open = R"({"kind": "open", )" + where + "}";
        const Reply opened = sample.send("POST", "/v1/road-conditions", open);
        CHECK(at(parse_json(opened.body), "changes").items().empty());
        CHECK(way_s(sample) == usual);
    }
}

TEST_CASE("A road that became slower alerts those whose way it lies on, and nobody else") {
    RecordedSample sample;
    const std::string hit = sample.open();
    const std::string other = sample.open();
    REQUIRE(sample.tell(other, R"({"step": "diverted", "place": "zhelappu-health-post"})").status ==
            200);
    sample.clock().pass(1s);
    const std::string slower = report("slower", R"("near": {"place": "sorvrith-hospital",
        "within_m": 800})");
    REQUIRE(sample.send("POST", "/v1/road-conditions", R"({"slower_by": 2, )" + slower.substr(1))
                .status == 200);
    const auto alerts = [&](const std::string& code) {
        return at(sample.show(code), "alerts").items().size();
    };
    CHECK(alerts(hit) == 1);
    CHECK(alerts(other) == 0);
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
    // it hits the recommended way, too, where it lies around the recommended place
    CHECK(recommended(sample) == before);
    const Reply around =
        sample.send("POST", "/v1/road-conditions",
                    report("closed", R"("near": {"place": "venzhoth-hospital", "within_m": 800})"));
    REQUIRE_MESSAGE(around.status == 200, around.body);
    CHECK(recommended(sample) != before);
    CHECK(text_at(at(recommendation(sample), "stages").items().at(0), "facility") !=
          "venzhoth-hospital");
    const JsonValue both = parse_json(around.body);
    for (const JsonValue& change : at(both, "changes").items()) {
        if (text_at(change, "id") != id) {
            CHECK(sample.send("DELETE", "/v1/road-conditions/" + text_at(change, "id")).status ==
                  200);
        }
    }
    CHECK(recommended(sample) == before);
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
    const double usual = way_s(sample);
    CHECK(sample
              .send("POST", "/v1/road-conditions",
                    R"({"kind": "closed", "where": {"road": "Ammovreth road"},
                        "until": "2026-03-04T10:00:00Z"})")
              .status == 200);
    CHECK(recommended(sample) != before);
    sample.clock().pass(30min);
    CHECK(way_s(sample) == usual);
    CHECK(text_at(at(recommendation(sample), "stages").items().at(0), "facility") ==
          "venzhoth-hospital");
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
    CHECK(status(R"({"kind": "closed", "near": {"place": "nowhere", "within_m": 500},
                     "until": "2026-03-04T20:00:00Z"})") == 400);
    for (const std::string blank : {"", " "}) {
        const Reply reply = sample.send("POST", "/v1/road-conditions",
                                        report("closed", R"("where": {"road": ")" + blank + "\"}"));
        CHECK(reply.status == 400);
        CHECK(reply.body.find("#/where/road") != std::string::npos);
        CHECK(reply.body.find("is blank") != std::string::npos);
    }
    CHECK(status(R"({"kind": "slower", "slower_by": 2, "where": {"road": "Ford road"},
                     "until": "2026-03-04T20:00:00Z"})") == 200);
}

}  // namespace waybourne::server::test
