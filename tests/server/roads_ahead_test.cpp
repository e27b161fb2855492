#include "server/roads_ahead.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>

#include "dispatch/remembered_roads.hpp"
#include "server/answer.hpp"
#include "server/json/request.hpp"
#include "server/load_district.hpp"
#include "server/planned_roads.hpp"
#include "server/program_files.hpp"
#include "server/ways.hpp"
#include "vocabulary/error.hpp"

// The sample's day ends at 18:00 UTC (maps-sample/district.json). That a way by night takes no less
// than by day is the speed table's (routing/data/speeds.json). Which roads count from when on is
// our own rule (docs/decisions/0011); common practice, no source.

namespace waybourne::server::test {

namespace {

using routing::Light;
using routing::Surface;

Instant at(const std::string& time) {
    return parse_rfc3339("2026-03-04T" + time + "Z");
}

/// Loaded once.
const Snapshot& sample() {
    static const auto snapshot = [] {
        LoadOptions options;
        options.folder = program_folder() / "maps-sample";
        options.now = at("09:40:00");
        options.most_routers = 1;  // nobody holds one while asking for another
        return load_district(options);
    }();
    return *snapshot;
}

const FacilityId clinic{"kezhiru-clinic"};
const FacilityId hospital{"venzhoth-hospital"};

// in the wet season
constexpr routing::RoadConditions by_day{Surface::wet, Light::day};
constexpr routing::RoadConditions by_night{Surface::wet, Light::night};

RouteAnswer way(const Snapshot& snapshot, Instant leave_at,
                const std::optional<routing::RoadConditions>& given = {}) {
    RouteRequest request;
    request.from = clinic;
    request.to = hospital;
    request.leave_at = leave_at;
    request.road_conditions = given;
    RouteAnswer answer = answer_route(snapshot, request, leave_at);
    REQUIRE(answer.route.has_value());
    return answer;
}

Seconds allow(const RouteAnswer& answer) {
    return answer.route->travel_time.allow;
}

/// Severe pressure and a headache at 34 weeks; her deadline is four hours after she was measured.
RecommendationRequest woman(const std::string& more = "") {
    return parse_recommendation_request(R"({"readings": [{"taken_at": "2026-03-04T09:35:00Z",
        "systolic_mmhg": 165, "diastolic_mmhg": 112, "pulse_per_minute": 96}],
      "findings": {"status": "pregnant", "gestation_weeks": 34, "severe_headache": "yes"},
      "from": {"facility": "kezhiru-clinic"})" +
                                        more + "}");
}

Answer asked(RecommendationRequest request, Instant now) {
    for (triage::Reading& reading : request.findings.readings) {
        reading.taken_at = now;
    }
    const Snapshot& snapshot = sample();
    return answer_recommendation(snapshot, request, now, snapshot.catalogue);
}

bool says_that_it_gets_dark(const Answer& answer) {
    const auto& remarks = answer.recommendation.remarks;
    return std::any_of(remarks.begin(), remarks.end(), [](const Message& remark) {
        return remark.id == "referral.dark_on_the_way";
    });
}

Snapshot with_closure(const std::string& road, const routing::Period& period) {
    Snapshot snapshot = sample();
    snapshot.roads = snapshot.roads->with_changes({{.id = "slide",
                                                    .where = routing::RoadName{road},
                                                    .slower_by = std::nullopt,
                                                    .period = period,
                                                    .means = routing::MeansSet::all(),
                                                    .reason = "slide"}},
                                                  at("09:40:00"));
    return snapshot;
}

/// The named roads of a way, in its order.
std::vector<std::string> roads_of(const routing::Route& route) {
    std::vector<std::string> roads;
    for (const routing::Leg& leg : route.legs) {
        for (const routing::Stretch& stretch : leg.stretches) {
            if (!stretch.road.empty()) {
                roads.push_back(stretch.road);
            }
        }
    }
    return roads;
}

/// None where a place has no road any more.
std::optional<std::vector<routing::Alternative>> ways(const Snapshot& snapshot,
                                                      const AlternativesRequest& request) {
    try {
        return answer_alternatives(snapshot, request, at("09:40:00")).ways;
    } catch (const InputError&) {
        return std::nullopt;
    }
}

}  // namespace

TEST_CASE("Roads turn worse at dusk and on the wet season's first day, and better at no moment") {
    District district;
    district.wet_season = WetSeason{{4 * 32 + 1}, {5 * 32 + 31}};
    const TimeZone zone;
    const routing::RoadConditions dry_day{Surface::dry, Light::day};
    const routing::RoadConditions dry_night{Surface::dry, Light::night};
    CHECK(next_worse(district, zone, dry_day, at("09:40:00")) == at("18:00:00"));
    CHECK(next_worse(district, zone, dry_day, at("17:59:59")) == at("18:00:00"));
    const Instant first_of_april = parse_rfc3339("2026-04-01T00:00:00Z");
    CHECK(next_worse(district, zone, dry_night, at("09:40:00")) == first_of_april);
    CHECK(next_worse(district, zone, dry_night, first_of_april) ==
          parse_rfc3339("2027-04-01T00:00:00Z"));
    CHECK_FALSE(next_worse(district, zone, {Surface::wet, Light::night}, at("09:40:00")));
    // always light, always dark
    district.daylight = {std::chrono::minutes{0}, std::chrono::minutes{24 * 60}};
    CHECK_FALSE(next_worse(district, zone, {Surface::wet, Light::day}, at("09:40:00")));
}

TEST_CASE("It is night as long as some of the time is, and what somebody says stays") {
    const Snapshot& snapshot = sample();
    const RoadsAhead ahead(snapshot, *snapshot.roads, routing::Means::car);
    CHECK(ahead.conditions(at("12:00:00"), at("17:59:59")) == by_day);
    CHECK(ahead.conditions(at("12:00:00"), at("18:00:00")) == by_night);
    CHECK(ahead.conditions(at("03:00:00"), at("12:00:00")) == by_night);
    CHECK(ahead.next_turn(at("12:00:00"), at("12:00:00")) == at("18:00:00"));
    CHECK_FALSE(ahead.next_turn(at("12:00:00"), at("18:00:00")).has_value());
    CHECK_FALSE(ahead.next_turn(at("03:00:00"), at("03:00:00")).has_value());
    const RoadsAhead forced(snapshot, *snapshot.roads, routing::Means::car, by_day);
    CHECK(forced.conditions(at("12:00:00"), at("23:00:00")) == by_day);
    CHECK_FALSE(forced.next_turn(at("12:00:00"), at("12:00:00")).has_value());
    const RoadsAhead floor(snapshot, *snapshot.roads, routing::Means::car, {}, by_night);
    CHECK(floor.conditions(at("12:00:00")) == by_night);
}

TEST_CASE("A way that dusk falls on is the way by night, and the answer says night") {
    const Snapshot& snapshot = sample();
    const RouteAnswer late = way(snapshot, at("17:59:00"));
    CHECK(late.route == way(snapshot, at("17:59:00"), by_night).route);
    CHECK(late.road_conditions == by_night);
    CHECK(allow(late) > allow(way(snapshot, at("17:59:00"), by_day)));
    const RouteAnswer early = way(snapshot, at("12:00:00"));
    CHECK(early.route == way(snapshot, at("12:00:00"), by_day).route);
    CHECK(early.road_conditions == by_day);
    // the same of the other ways and of what lies within reach
    AlternativesRequest others;
    others.way.from = clinic;
    others.way.to = hospital;
    others.way.leave_at = at("17:59:00");
    const auto ways = answer_alternatives(snapshot, others, at("17:59:00"));
    REQUIRE_FALSE(ways.ways.empty());
    CHECK(ways.ways.front().route.travel_time == late.route->travel_time);
    CHECK(ways.road_conditions == by_night);
    ReachRequest reach;
    reach.place = clinic;
    reach.within = 2h;
    reach.leave_at = at("17:00:00");
    const auto within = answer_reach(snapshot, reach, at("17:00:00"));
    CHECK(within.road_conditions == by_night);
    reach.road_conditions = by_night;
    CHECK(within.lines == answer_reach(snapshot, reach, at("17:00:00")).lines);
    reach.road_conditions.reset();
    reach.leave_at = at("12:00:00");
    CHECK(answer_reach(snapshot, reach, at("12:00:00")).road_conditions == by_day);
}

TEST_CASE("Leaving before dusk never brings one there later than leaving after") {
    const Snapshot& snapshot = sample();
    std::optional<Instant> arrived;
    for (Instant leaves = at("18:30:00"); leaves >= at("14:30:00"); leaves -= 10min) {
        CAPTURE(to_rfc3339(leaves));
        const Instant arrives = leaves + way(snapshot, leaves).route->travel_time.typical;
        if (arrived) {
            CHECK(arrives <= *arrived);
        }
        arrived = arrives;
    }
}

TEST_CASE("A woman who leaves shortly before dusk is promised no more than by night") {
    const Answer answer = asked(woman(), at("17:50:00"));
    const std::string night = R"(, "road_conditions": {"surface": "wet", "light": "night"})";
    const std::string day = R"(, "road_conditions": {"surface": "wet", "light": "day"})";
    const Answer judged_by_night = asked(woman(night), at("17:50:00"));
    const Answer judged_by_day = asked(woman(day), at("17:50:00"));
    REQUIRE(answer.recommendation.chosen.has_value());
    const referral::Stage& stage = answer.recommendation.chosen->stages.front();
    const referral::Stage& by_light = judged_by_day.recommendation.chosen->stages.front();
    CHECK(answer.recommendation.outcome == judged_by_night.recommendation.outcome);
    CHECK(stage.travel_time == judged_by_night.recommendation.chosen->stages.front().travel_time);
    CHECK(stage.route.travel_time == stage.travel_time);
    CHECK(stage.travel_time.allow > by_light.travel_time.allow);
    CHECK(stage.leave_by == judged_by_night.recommendation.chosen->stages.front().leave_by);
    const auto& passed = answer.recommendation.passed_over;
    const auto& passed_by_night = judged_by_night.recommendation.passed_over;
    CHECK(std::equal(passed.begin(), passed.end(), passed_by_night.begin(), passed_by_night.end(),
                     [](const referral::PassedOver& one, const referral::PassedOver& other) {
                         return one.facility == other.facility && one.reasons == other.reasons;
                     }));
}

TEST_CASE("Where it gets dark on the way the recommendation says so, and nowhere else") {
    const std::string soon = R"(, "transport": {"means": "car", "ready_in_minutes": 10})";
    const auto stated = [&](const std::string& light) {
        return soon + R"(, "road_conditions": {"surface": "wet", "light": ")" + light + "\"}";
    };
    CHECK(says_that_it_gets_dark(asked(woman(soon), at("17:10:00"))));
    CHECK_FALSE(says_that_it_gets_dark(asked(woman(stated("day")), at("17:10:00"))));
    CHECK_FALSE(says_that_it_gets_dark(asked(woman(stated("night")), at("17:10:00"))));
    // there by day; or in the dark from the beginning
    CHECK_FALSE(says_that_it_gets_dark(asked(woman(soon), at("09:40:00"))));
    CHECK_FALSE(says_that_it_gets_dark(asked(woman(), at("17:50:00"))));
    CHECK(asked(woman(soon), at("09:40:00")).recommendation.chosen->stages.front().travel_time ==
          asked(woman(stated("day")), at("09:40:00"))
              .recommendation.chosen->stages.front()
              .travel_time);
}

TEST_CASE("A road that closes while she is under way is gone round from the start") {
    const Instant leaves = at("09:40:00");
    const RouteAnswer open = way(sample(), leaves);
    std::size_t ways_round = 0;
    for (const std::string& road : roads_of(*open.route)) {
        CAPTURE(road);
        const auto when = [&](const routing::Period& period) {
            RouteRequest request;
            request.from = clinic;
            request.to = hospital;
            request.leave_at = leaves;
            return answer_route(with_closure(road, period), request, leaves).route;
        };
        const auto closed = when({});
        REQUIRE(closed != open.route);
        CHECK(when({at("09:50:00"), at("20:00:00")}) == closed);
        ways_round += closed ? 1 : 0;
        // one that closes when she is there, or is open again as she leaves, is no matter
        CHECK(when({leaves + allow(open), at("20:00:00")}) == open.route);
        CHECK(when({at("08:00:00"), leaves}) == open.route);
    }
    CHECK(ways_round > 0);
}

TEST_CASE("A plan of vehicles judges each way as a recommendation does") {
    const Snapshot& snapshot = sample();
    PlannedRoads planned(snapshot);
    dispatch::RememberedRoads remembered(planned);
    const RoadsAhead ahead(snapshot, *snapshot.roads, routing::Means::car);
    routing::CarefulRouter router(ahead);
    for (const std::string when :
         {"12:00:00", "17:00:00", "17:50:00", "12:00:00", "18:10:00", "04:00:00", "17:50:00"}) {
        CAPTURE(when);
        const auto roads = remembered.roads(routing::Means::car, at(when));
        std::vector<routing::Snap> places;
        for (const auto& snap : roads.facility_snaps) {
            places.push_back(snap.value_or(routing::Snap{}));
        }
        const routing::Departure departure{places.front(), at(when)};
        CHECK(roads.router->travel_times(departure, places, 24h) ==
              router.travel_times(departure, places, 24h));
        CHECK(roads.has_turns == (at(when) >= at("06:00:00") && at(when) < at("18:00:00")));
    }
}

TEST_CASE("A road taken as closed is left even where it is the nearest") {
    // what a closure that is known of finds, for every facility and the first road of its way
    std::size_t ways_round = 0;
    for (const facilities::Facility& facility : sample().facilities.facilities()) {
        if (facility.id == hospital) {
            continue;
        }
        AlternativesRequest request;
        request.way.from = facility.id;
        request.way.to = hospital;
        const auto open = ways(sample(), request);
        REQUIRE(open.has_value());
        const std::vector<std::string> roads =
            open->empty() ? std::vector<std::string>{} : roads_of(open->front().route);
        if (roads.empty()) {
            continue;
        }
        CAPTURE(facility.id.value());
        CAPTURE(roads.front());
        const auto known = ways(with_closure(roads.front(), {}), request);
        request.closed = {routing::RoadName{roads.front()}};
        const auto taken = ways(sample(), request);
        CHECK(taken == known);
        ways_round += taken && !taken->empty() ? 1 : 0;
    }
    CHECK(ways_round > 0);
}

}  // namespace waybourne::server::test
