#include <doctest/doctest.h>

#include <set>

#include "server/json/value.hpp"
#include "tests/server/served_sample.hpp"

// The shapes are fixed by the API reference, docs/openapi.yaml; the ways themselves are held to the
// reference engine in tests/routing.

namespace waybourne::server::test {

namespace {

const JsonValue& at(const JsonValue& value, const std::string& name) {
    const JsonValue* found = value.find(name);
    REQUIRE_MESSAGE(found != nullptr, name);
    return *found;
}

JsonValue asked(int port, const std::string& path, const std::string& body) {
    const Reply reply = post(port, path, body);
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    return parse_json(reply.body);
}

std::set<std::string> facilities(const JsonValue& reach) {
    std::set<std::string> ids;
    for (const JsonValue& inside : at(reach, "facilities").items()) {
        ids.insert(at(inside, "facility").text());
    }
    return ids;
}

std::set<std::string> roads_of(const JsonValue& route) {
    std::set<std::string> roads;
    for (const JsonValue& leg : at(route, "legs").items()) {
        for (const JsonValue& road : at(leg, "roads").items()) {
            roads.insert(road.text());
        }
    }
    return roads;
}

const std::string there =
    R"("from": {"facility": "luzhenni-clinic"}, "to": {"facility": "sorvrith-hospital"})";

}  // namespace

TEST_CASE("The best way comes first, and the others say how much of it they share") {
    const ServedSample sample;
    const JsonValue best = asked(sample.port(), "/v1/routes", "{" + there + "}");
    const JsonValue ways =
        asked(sample.port(), "/v1/alternatives", "{" + there + R"(, "most_others": 5})");
    const auto& routes = at(ways, "routes").items();
    REQUIRE_FALSE(routes.empty());
    CHECK(at(at(routes[0], "travel_time_s"), "typical").number() ==
          at(at(at(best, "route"), "travel_time_s"), "typical").number());
    CHECK(at(routes[0], "times_the_best").number() == 1);
    CHECK(at(routes[0], "in_common").number() == 0);
    for (const JsonValue& route : routes) {
        // the limits of routing/alternatives.hpp
        CHECK(at(route, "times_the_best").number() <= 1.25);
        CHECK(at(route, "in_common").number() <= 0.8);
    }
    const JsonValue alone =
        asked(sample.port(), "/v1/alternatives", "{" + there + R"(, "most_others": 0})");
    CHECK(at(alone, "routes").items().size() == 1);
}

TEST_CASE("If the bridge is out, the way goes round it and takes no less") {
    const ServedSample sample;
    const JsonValue open = asked(sample.port(), "/v1/alternatives", "{" + there + "}");
    const JsonValue& first = at(open, "routes").items().at(0);
    const std::set<std::string> roads = roads_of(first);
    REQUIRE_FALSE(roads.empty());
    std::size_t ways_round = 0;
    for (const std::string& road : roads) {
        CAPTURE(road);
        const Reply reply = post(sample.port(), "/v1/alternatives",
                                 "{" + there + R"(, "closed": [{"road": ")" + road + R"("}]})");
        if (reply.status != 200) {
            // a road without a name is called by its class, and cannot be named here
            CHECK(reply.status == 400);
            CHECK(reply.body.find("#/closed/0") != std::string::npos);
            continue;
        }
        const JsonValue round = parse_json(reply.body);
        for (const JsonValue& route : at(round, "routes").items()) {
            CHECK(roads_of(route).count(road) == 0);
            CHECK(at(at(route, "travel_time_s"), "typical").number() >=
                  at(at(first, "travel_time_s"), "typical").number());
            ++ways_round;
        }
    }
    CHECK(ways_round > 0);
    // the ferry has no other name, and whoever cannot take it drives round by the bridge
    const JsonValue by_bridge = asked(sample.port(), "/v1/alternatives",
                                      R"({"from": {"facility": "druvaneth-health-centre"},
                  "to": {"facility": "sorvrith-hospital"}, "closed": [{"road": "Sorvrith ferry"}]})");
    for (const JsonValue& leg : at(at(by_bridge, "routes").items().at(0), "legs").items()) {
        CHECK(at(leg, "means").text() != "ferry");
    }
}

TEST_CASE("Within more minutes one reaches more, and by the time to allow never more") {
    const ServedSample sample;
    const auto reach = [&](int minutes, const std::string& more) {
        return asked(sample.port(), "/v1/reach",
                     R"({"from": {"facility": "sorvrith-hospital"}, "within_minutes": )" +
                         std::to_string(minutes) + more + "}");
    };
    const JsonValue near = reach(20, "");
    const JsonValue far = reach(90, "");
    const JsonValue allowed = reach(90, R"(, "judged_by": "allow")");
    CHECK(facilities(near).count("sorvrith-hospital") == 1);
    CHECK(facilities(far).size() > facilities(near).size());
    CHECK(facilities(allowed).size() <= facilities(far).size());
    CHECK(at(near, "road_length_m").number() < at(far, "road_length_m").number());
    CHECK(at(allowed, "road_length_m").number() <= at(far, "road_length_m").number());
    for (const JsonValue& inside : at(allowed, "facilities").items()) {
        CHECK(at(at(inside, "travel_time_s"), "allow").number() <= 90 * 60);
    }
    CHECK(at(at(far, "geometry"), "type").text() == "MultiLineString");
    CHECK_FALSE(at(at(far, "geometry"), "coordinates").items().empty());
}

TEST_CASE("A place is reached from exactly those facilities whose way to it is short enough") {
    const ServedSample sample;
    const JsonValue reach =
        asked(sample.port(), "/v1/reach",
              R"({"to": {"facility": "sorvrith-hospital"}, "within_minutes": 60})");
    const JsonValue all = parse_json(get(sample.port(), "/v1/facilities").body);
    const std::set<std::string> inside = facilities(reach);
    std::size_t compared = 0;
    for (const JsonValue& facility : at(all, "facilities").items()) {
        const std::string id = at(facility, "id").text();
        CAPTURE(id);
        const JsonValue way = asked(
            sample.port(), "/v1/routes",
            R"({"from": {"facility": ")" + id + R"("}, "to": {"facility": "sorvrith-hospital"}})");
        const JsonValue& route = at(way, "route");
        const bool is_near = route.kind() == JsonKind::object &&
                             at(at(route, "travel_time_s"), "typical").number() <= 60 * 60;
        CHECK(is_near == (inside.count(id) == 1));
        ++compared;
    }
    CHECK(compared >= 20);
}

TEST_CASE("Whether waiting for ferries is counted is always said") {
    const ServedSample sample;
    const auto waiting = [&](const std::string& way, const std::string& judge) {
        return at(asked(sample.port(), "/v1/reach",
                        R"({")" + way +
                            R"(": {"facility": "sorvrith-hospital"}, "within_minutes": 1440,)" +
                            R"("judged_by": ")" + judge + R"("})"),
                  "waiting")
            .text();
    };
    // the sample has a ferry with a timetable (maps-sample/README.md)
    CHECK(waiting("from", "typical") == "counted");
    CHECK(waiting("from", "allow") == "counted");
    CHECK(waiting("to", "typical") == "counted");
    CHECK(waiting("to", "allow") == "not_counted");
    CHECK(at(asked(sample.port(), "/v1/reach",
                   R"({"from": {"facility": "sorvrith-hospital"}, "within_minutes": 1})"),
             "waiting")
              .text() == "none");
}

TEST_CASE("A question about ways that is not clear is refused, with where it is not") {
    const ServedSample sample;
    const auto refused = [&](const std::string& path, const std::string& body,
                             const std::string& pointer) {
        CAPTURE(body);
        const Reply reply = post(sample.port(), path, body);
        CHECK(reply.status == 400);
        CHECK(reply.body.find('"' + pointer + '"') != std::string::npos);
    };
    refused("/v1/alternatives", "{" + there + R"(, "closed": [{"road": "No such road"}]})",
            "#/closed/0");
    refused("/v1/alternatives", "{" + there + R"(, "closed": [{"road": "A", "road_id": 1}]})",
            "#/closed/0");
    refused("/v1/alternatives", "{" + there + R"(, "closed": [{"road": ""}]})", "#/closed/0/road");
    refused("/v1/alternatives", "{" + there + R"(, "most_others": 6})", "#/most_others");
    refused("/v1/reach", R"({"within_minutes": 60})", "#/from");
    refused("/v1/reach", R"({"from": {"facility": "kezhiru-clinic"}})", "#/within_minutes");
    refused("/v1/reach",
            R"({"from": {"facility": "kezhiru-clinic"}, "to": {"facility": "kezhiru-clinic"},
                "within_minutes": 60})",
            "#/to");
    refused("/v1/reach", R"({"to": {"latitude": 48, "longitude": 16}, "within_minutes": 60})",
            "#/to");
    refused("/v1/reach", R"({"to": {"facility": "kezhiru-clinic"}, "within_minutes": 1441})",
            "#/within_minutes");
}

}  // namespace waybourne::server::test
