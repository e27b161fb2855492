#include "server/open_plan.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <set>
#include <thread>

#include "tests/server/recorded_sample.hpp"

// One plan for all open referrals. Rules and shapes are our own (docs/dispatch.md,
// docs/openapi.yaml); that the plans are the best is shown in tests/dispatch. Preconditions: RFC
// 9110 section 13.1.1 and RFC 6585 section 3. The clock stands at 2026-03-04T09:40:00Z.

namespace waybourne::server::test {

namespace {

/// A woman with severe pre-eclampsia, at a clinic where nothing is at hand to carry her.
std::string woman_at(const std::string& clinic) {
    return R"({"request": {
  "readings": [{"taken_at": "2026-03-04T09:35:00Z", "systolic_mmhg": 165, "diastolic_mmhg": 112,
                "pulse_per_minute": 96}],
  "findings": {"status": "pregnant", "gestation_weeks": 34, "severe_headache": "yes"},
  "from": {"facility": ")" +
           clinic + R"("}}, "sender": ")" + clinic + R"(", "to": "sorvrith-hospital"})";
}

std::string open_at(const RecordedSample& sample, const std::string& clinic) {
    const Reply reply = sample.send("POST", "/v1/referrals", woman_at(clinic));
    REQUIRE_MESSAGE(reply.status == 201, reply.body);
    return text_at(parse_json(reply.body), "code");
}

struct Seen {
    JsonValue body;
    std::string if_match;
};

Seen plan(const RecordedSample& sample, const std::string& query = "") {
    const Reply reply = sample.send("GET", "/v1/transport-plans" + query);
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    return {parse_json(reply.body), "If-Match: " + reply.field("ETag") + "\r\n"};
}

Reply accept(const RecordedSample& sample, const std::string& carried,
             const std::string& if_match) {
    return sample.send("POST", "/v1/transport-plans/accepted", R"({"carried": [)" + carried + "]}",
                       if_match);
}

std::string by(const std::string& code, const std::string& vehicle) {
    return R"({"referral": ")" + code + R"(", "vehicles": [)" +
           (vehicle.empty() ? "" : "\"" + vehicle + "\"") + "]}";
}

const JsonValue& one_of(const JsonValue& list, const std::string& member,
                        const std::string& value) {
    const auto found =
        std::find_if(list.items().begin(), list.items().end(),
                     [&](const JsonValue& one) { return text_at(one, member) == value; });
    REQUIRE_MESSAGE(found != list.items().end(), value);
    return *found;
}

const JsonValue& woman(const Seen& seen, const std::string& code) {
    return one_of(at(seen.body, "referrals"), "code", code);
}

/// The vehicles that the plan gives her, by their ids.
std::vector<std::string> carried_by(const Seen& seen, const std::string& code) {
    const JsonValue& carried = one_of(at(seen.body, "plan.carried"), "referral", code);
    std::vector<std::string> ids;
    for (const JsonValue& vehicle : at(carried, "way.vehicles").items()) {
        ids.push_back(text_at(vehicle, "id"));
    }
    return ids;
}

void report(const RecordedSample& sample, const std::string& vehicle, const std::string& body) {
    const Reply reply = sample.send("POST", "/v1/vehicles/" + vehicle + "/reports", body);
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
}

}  // namespace

TEST_CASE(
    "Three women at three clinics: one plan gives each a vehicle of her own, and says the cover") {
    const RecordedSample sample;
    const std::vector<std::string> codes{open_at(sample, "kezhiru-clinic"),
                                         open_at(sample, "luzhenni-clinic"),
                                         open_at(sample, "tamvrelo-clinic")};
    const Seen seen = plan(sample);
    CHECK(at(seen.body, "referrals").items().size() == 3);
    CHECK(at(seen.body, "plan.is_optimal").boolean());
    std::set<std::string> used;
    for (const std::string& code : codes) {
        CHECK(text_at(woman(seen, code), "planning") == "planned");
        CHECK_FALSE(at(woman(seen, code), "needs").items().empty());
        for (const std::string& vehicle : carried_by(seen, code)) {
            CHECK(used.insert(vehicle).second);
        }
    }
    CHECK(used.size() >= 3);
    const double before = at(seen.body, "cover.share_before").number();
    const double after = at(seen.body, "cover.share_after").number();
    CHECK(before > 0);
    CHECK(after < before);  // three vehicles leave
    CHECK_FALSE(at(seen.body, "cover.warnings").items().empty());
    CHECK(texts_at(seen.body, "cover.words").at(0).find("expected calls") != std::string::npos);
}

TEST_CASE(
    "The cover says who is the last somewhere, where to wait and who moves up, with the gain") {
    const RecordedSample sample;
    // Sorvrith has two vehicles; with the others off duty one of them is better placed elsewhere.
    for (const char* vehicle :
         {"venzhoth-1", "pellumvo-1", "druvaneth-1", "ammovreth-1", "quovreth-1", "uvrissa-1"}) {
        report(sample, vehicle, R"({"state": "off_duty"})");
    }
    const JsonValue cover = at(plan(sample).body, "cover");
    const double now = at(cover, "share_after").number();
    const auto& waiting = at(cover, "waiting").items();
    REQUIRE_FALSE(waiting.empty());
    double share = now;
    for (const JsonValue& move : waiting) {
        CHECK(text_at(move, "vehicle.id").starts_with("sorvrith-"));
        CHECK(text_at(move, "to.facility") != "sorvrith-hospital");
        CHECK(at(move, "share_after").number() >= share + 0.009);  // 1 of 100, as it is rounded
        share = at(move, "share_after").number();
        CHECK(text_at(move, "text").find(text_at(move, "to_name")) != std::string::npos);
    }
    for (const JsonValue& move_up : at(cover, "move_ups").items()) {
        CHECK(text_at(move_up, "called.id") != text_at(move_up, "vehicle.id"));
        CHECK(at(move_up, "share_before").number() < at(move_up, "share_after").number());
    }
    report(sample, "sorvrith-2", R"({"state": "repair"})");
    const JsonValue alone = at(plan(sample).body, "cover");
    const auto& lasts = at(alone, "last_vehicles").items();
    REQUIRE(lasts.size() == 1);
    CHECK(text_at(lasts[0], "vehicle.id") == "sorvrith-1");
    CHECK(at(lasts[0], "areas").items().size() > 1);
    CHECK(at(alone, "move_ups").items().empty());  // nobody is left to move
}

TEST_CASE("An accepted rendezvous: both vehicles have their part of it, and it stays promised") {
    RecordedSample sample;
    const Reply opened = sample.send("POST", "/v1/referrals",
                                     R"({"request": {"findings": {"status": "postpartum",
 "bleeding": "heavy"}, "from": {"facility": "kezhiru-clinic"}}, "sender": "kezhiru-clinic",
 "to": "venzhoth-hospital"})");
    REQUIRE_MESSAGE(opened.status == 201, opened.body);
    const std::string code = text_at(parse_json(opened.body), "code");
    const auto snapshot = sample.snapshot().get();
    const GeoPoint& clinic = snapshot->facilities.facility(FacilityId{"kezhiru-clinic"}).point;
    report(sample, "ammovreth-1",
           R"({"position": {"latitude": )" + std::to_string(clinic.latitude().degrees) +
               R"(, "longitude": )" + std::to_string(clinic.longitude().degrees) + "}}");
    const Seen decided = plan(sample, "?referral=" + code + "&vehicles=ammovreth-1,venzhoth-1");
    const JsonValue& way = at(one_of(at(decided.body, "plan.carried"), "referral", code), "way");
    REQUIRE(text_at(way, "kind") == "rendezvous");
    const Reply reply = accept(
        sample, R"({"referral": ")" + code + R"(", "vehicles": ["ammovreth-1", "venzhoth-1"]})",
        decided.if_match);
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    const Seen after{parse_json(reply.body), {}};
    CHECK(text_at(woman(after, code), "second_vehicle") == "venzhoth-1");
    CHECK(text_at(woman(after, code), "takeover") == "not_begun");
    CHECK(text_at(woman(after, code), "accepted.meets.typical") >=
          text_at(way, "meeting.first_arrives.typical"));
    CHECK(at(woman(after, code), "accepted.meets_at").items().size() == 2);
    // it can still be kept: whatever is proposed instead is proposed because it is better
    for (const JsonValue& change : at(after.body, "plan.changed").items()) {
        CHECK(text_at(change, "why").find("not possible any more") == std::string::npos);
    }
    const JsonValue listed = parse_json(sample.send("GET", "/v1/vehicles").body);
    for (const char* vehicle : {"ammovreth-1", "venzhoth-1"}) {
        CHECK(text_at(one_of(at(listed, "vehicles"), "id", vehicle), "referral") == code);
    }
    // another plan with one vehicle alone: nobody takes her over any more
    const Seen alone = plan(sample, "?referral=" + code + "&vehicles=ammovreth-1");
    REQUIRE(accept(sample, by(code, "ammovreth-1"), alone.if_match).status == 200);
    CHECK(at(woman(plan(sample), code), "second_vehicle").kind() == JsonKind::null);
}

TEST_CASE(
    "From the island a boat is sent for her, and an ambulance meets it at a landing in time") {
    RecordedSample sample;
    // On the island at 09:40, in the wet: the pontoon, the roads round and back by the pontoon
    // would take until the afternoon. She needs care by 13:40, four hours after she was found so.
    const std::string code = open_at(sample, "uvrissa-health-post");
    const Seen seen = plan(sample);
    const auto vehicles = carried_by(seen, code);
    REQUIRE(vehicles.size() == 2);
    CHECK(vehicles[0] == "uvrissa-1");
    const JsonValue& way = at(one_of(at(seen.body, "plan.carried"), "referral", code), "way");
    CHECK(text_at(way, "kind") == "rendezvous");
    CHECK(text_at(way, "outcome") == "in_time");
    // Sorvrith landing, as maps-sample/boat_ways.json has it
    CHECK(at(way, "meeting.latitude").number() == doctest::Approx(-0.2779516).epsilon(1e-6));
    CHECK(at(way, "meeting.longitude").number() == doctest::Approx(0.0266249).epsilon(1e-6));
    // 10 minutes to set out, 15 to take her on board, 90 up the river, and the walks to the boat
    // and from it
    CHECK(text_at(way, "sets_out") == "2026-03-04T09:50:00Z");
    CHECK(text_at(way, "meeting.first_arrives.typical") >= "2026-03-04T11:35:00Z");
    CHECK(text_at(way, "meeting.first_arrives.typical") <= "2026-03-04T11:50:00Z");
    const Reply reply = accept(sample,
                               R"({"referral": ")" + code + R"(", "vehicles": [")" + vehicles[0] +
                                   R"(", ")" + vehicles[1] + R"("]})",
                               seen.if_match);
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    const Seen after{parse_json(reply.body), {}};
    CHECK(text_at(sample.show(code), "vehicle") == "uvrissa-1");
    CHECK(text_at(woman(after, code), "second_vehicle") == vehicles[1]);
    CHECK(at(after.body, "plan.changed").items().empty());
}

TEST_CASE("Who is asked about more closely has every vehicle listed, each loser with its reason") {
    const RecordedSample sample;
    const std::string code = open_at(sample, "kezhiru-clinic");
    const Seen seen = plan(sample, "?referral=" + code);
    const auto& ways = at(seen.body, "plan.ways").items();
    CHECK(ways.size() >= 8);  // the vehicles of maps-sample/vehicles.json
    CHECK(at(ways.at(0), "against").items().empty());
    for (std::size_t i = 1; i < ways.size(); ++i) {
        CHECK_FALSE(at(ways[i], "against").items().empty());
    }
    CHECK(sample.send("GET", "/v1/transport-plans?referral=" + code + "&vehicles=no-such-one")
              .status == 400);
    CHECK(sample.send("GET", "/v1/transport-plans?vehicles=sorvrith-1").status == 400);
    CHECK(sample.send("GET", "/v1/transport-plans?referal=" + code).status == 400);
}

TEST_CASE("An accepted plan is her transport: the vehicle is assigned and the promise is kept") {
    RecordedSample sample;
    const std::string code = open_at(sample, "kezhiru-clinic");
    const Seen seen = plan(sample);
    const auto vehicles = carried_by(seen, code);
    REQUIRE(vehicles.size() == 1);
    const Reply reply = accept(sample, by(code, vehicles[0]), seen.if_match);
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    const JsonValue referral = sample.show(code);
    CHECK(text_at(referral, "vehicle") == vehicles[0]);
    CHECK(texts_at(referral, "transport.vehicles") == vehicles);
    CHECK_FALSE(at(referral, "transport.waits").boolean());
    const JsonValue& way = at(one_of(at(seen.body, "plan.carried"), "referral", code), "way");
    CHECK(text_at(referral, "transport.with_her.allow") == text_at(way, "with_her.allow"));
    CHECK(text_at(referral, "plan.to") == text_at(at(way, "places").items().at(0), "facility"));
    CHECK(text_at(referral, "asked") == text_at(referral, "plan.to"));
    sample.clock().pass(2min);
    const Seen later = plan(sample);
    CHECK(carried_by(later, code) == vehicles);
    CHECK(at(later.body, "plan.changed").items().empty());
    CHECK(text_at(at(woman(later, code), "vehicles").items().at(0), "id") == vehicles[0]);
    SUBCASE("and it stands after a restart: the record is made of the journal alone") {
        const auto record =
            read_record(sample.records().journal(), code, sample.records().sequence());
        REQUIRE(record->transport);
        CHECK(*record->transport == *sample.records().find(code)->transport);
    }
    SUBCASE("when its wheels turn it is on its way, and is overdue when it is not there in time") {
        CHECK(sample.tell(code, R"({"step": "transport_sent"})").status == 200);
        CHECK(at(sample.show(code), "overdue").items().empty());
        sample.clock().pass(6h);
        const JsonValue overdue = at(sample.show(code), "overdue");
        CHECK(text_at(one_of(overdue, "step", "reach_her"), "due") ==
              text_at(way, "with_her.allow"));
    }
}

TEST_CASE("Two dispatchers and one vehicle: the second is told, and decides again") {
    const RecordedSample sample;
    const std::string first = open_at(sample, "kezhiru-clinic");
    const std::string second = open_at(sample, "luzhenni-clinic");
    const Seen seen = plan(sample);
    CHECK(accept(sample, by(first, "sorvrith-1"), "").status == 428);
    CHECK(accept(sample, by(first, "sorvrith-1"), "If-Match: *\r\n").status == 428);
    REQUIRE(accept(sample, by(first, "sorvrith-1"), seen.if_match).status == 200);
    SUBCASE("the same woman") {
        const Reply reply = accept(sample, by(first, "venzhoth-1"), seen.if_match);
        CHECK(reply.status == 412);
        CHECK(text_at(parse_json(reply.body), "referral") == first);
        CHECK(text_at(sample.show(first), "vehicle") == "sorvrith-1");
    }
    SUBCASE("another woman, the same vehicle") {
        CHECK(accept(sample, by(second, "sorvrith-1"), seen.if_match).status == 412);
        const Seen again = plan(sample);
        CHECK(accept(sample, by(second, "sorvrith-1"), again.if_match).status == 409);
        CHECK(at(sample.show(second), "vehicle").kind() == JsonKind::null);
        const std::string both = by(second, "sorvrith-1") + "," + by(first, "venzhoth-1");
        const Reply reply = accept(sample, both, again.if_match);
        REQUIRE_MESSAGE(reply.status == 200, reply.body);
        CHECK(text_at(sample.show(first), "vehicle") == "venzhoth-1");
        CHECK(text_at(sample.show(second), "vehicle") == "sorvrith-1");
    }
    SUBCASE("another woman, another vehicle: nobody is in the way") {
        CHECK(accept(sample, by(second, "venzhoth-1"), seen.if_match).status == 200);
    }
}

TEST_CASE("Two who accept the same vehicle in the same moment: one has it, one is told") {
    const RecordedSample sample;
    const std::vector<std::string> codes{open_at(sample, "kezhiru-clinic"),
                                         open_at(sample, "luzhenni-clinic")};
    for (int round = 0; round < 10; ++round) {
        const Seen seen = plan(sample);
        std::vector<int> statuses(2);
        std::vector<std::thread> threads;
        for (std::size_t i = 0; i < 2; ++i) {
            threads.emplace_back([&, i] {
                statuses[i] = accept(sample, by(codes[i], "sorvrith-1"), seen.if_match).status;
            });
        }
        for (std::thread& thread : threads) {
            thread.join();
        }
        std::sort(statuses.begin(), statuses.end());
        CHECK(statuses == std::vector{200, 412});
        const Seen after = plan(sample);
        REQUIRE(accept(sample, by(codes[0], "") + "," + by(codes[1], ""), after.if_match).status ==
                200);
        CHECK(at(sample.show(codes[0]), "vehicle").kind() == JsonKind::null);
        CHECK(at(sample.show(codes[1]), "vehicle").kind() == JsonKind::null);
    }
}

TEST_CASE(
    "A decision is shown with its cost before it counts, and with whom it takes something from") {
    const RecordedSample sample;
    const std::string code = open_at(sample, "kezhiru-clinic");
    const Seen best = plan(sample);
    const Seen other = plan(sample, "?referral=" + code + "&vehicles=pellumvo-1");
    CHECK(carried_by(other, code) == std::vector<std::string>{"pellumvo-1"});
    const auto cost = [](const Seen& seen, const std::string& name) {
        return std::pair{at(seen.body, "plan." + name + ".lateness").number(),
                         at(seen.body, "plan." + name + ".seconds").number()};
    };
    CHECK(cost(other, "decision_costs_more") > std::pair{0.0, 0.0});
    CHECK(cost(best, "cost") < cost(other, "cost"));
    CHECK(at(sample.show(code), "transport").kind() == JsonKind::null);  // nothing is stored
    REQUIRE(accept(sample, by(code, "pellumvo-1"), other.if_match).status == 200);
    const std::string second = open_at(sample, "luzhenni-clinic");
    const Seen taking = plan(sample, "?referral=" + second + "&vehicles=pellumvo-1");
    const JsonValue& changed = one_of(at(taking.body, "plan.changed"), "referral", code);
    CHECK_FALSE(text_at(changed, "why").empty());
}

TEST_CASE("Nobody is left behind: who loses her vehicle to another woman is given the next best") {
    RecordedSample sample;
    const std::string code = open_at(sample, "kezhiru-clinic");
    const Seen seen = plan(sample);
    const auto vehicles = carried_by(seen, code);
    REQUIRE(accept(sample, by(code, vehicles.at(0)), seen.if_match).status == 200);
    for (const char* state : {"no_fuel", "taken", "breakdown"}) {
        CAPTURE(state);
        report(sample, vehicles[0], R"({"state": ")" + std::string{state} + "\"}");
        const Seen without = plan(sample);
        const JsonValue& changed = one_of(at(without.body, "plan.changed"), "referral", code);
        CHECK(text_at(changed, "why").find("not possible any more") != std::string::npos);
        CHECK(carried_by(without, code) != vehicles);
        CHECK_FALSE(carried_by(without, code).empty());
        CHECK(text_at(woman(without, code), "deadline") == text_at(woman(seen, code), "deadline"));
    }
}

TEST_CASE("Breakdown with her aboard: replanned from the roadside, with the deadline she had") {
    RecordedSample sample;
    const std::string code = open_at(sample, "kezhiru-clinic");
    const Seen seen = plan(sample);
    const auto vehicles = carried_by(seen, code);
    REQUIRE(accept(sample, by(code, vehicles.at(0)), seen.if_match).status == 200);
    for (const char* step : {"transport_sent", "with_the_woman"}) {
        sample.clock().pass(20min);
        CHECK(sample.tell(code, R"({"step": ")" + std::string{step} + "\"}").status == 200);
    }
    CHECK(text_at(woman(plan(sample), code), "planning") == "under_way");
    CHECK(accept(sample, by(code, "venzhoth-1"), plan(sample).if_match).status == 409);
    CHECK(sample.tell(code, R"({"step": "departed"})").status == 200);
    sample.clock().pass(10min);
    // the vehicle is nobody else's while she is in it
    const std::string other = open_at(sample, "kezhiru-clinic");
    CHECK(carried_by(plan(sample), other) != vehicles);
    // the roadside: the first clinic's own point lies on a road
    const auto& at_clinic =
        sample.snapshot().get()->facilities.facility(FacilityId{"luzhenni-clinic"}).point;
    report(sample, vehicles[0],
           R"({"state": "breakdown", "position": {"latitude": )" +
               std::to_string(at_clinic.latitude().degrees) + R"(, "longitude": )" +
               std::to_string(at_clinic.longitude().degrees) + "}}");
    const Seen stranded = plan(sample);
    const JsonValue& her = woman(stranded, code);
    CHECK(text_at(her, "planning") == "planned");
    CHECK(text_at(her, "deadline") == text_at(woman(seen, code), "deadline"));
    CHECK(at(her, "at.latitude").number() ==
          doctest::Approx(at_clinic.latitude().degrees).epsilon(1e-6));
    const auto next = carried_by(stranded, code);
    REQUIRE_FALSE(next.empty());
    CHECK(next != vehicles);
    const JsonValue& changed = one_of(at(stranded.body, "plan.changed"), "referral", code);
    CHECK(text_at(changed, "why").find("not possible any more") != std::string::npos);
    REQUIRE(accept(sample, by(code, next[0]), stranded.if_match).status == 200);
    const JsonValue referral = sample.show(code);
    CHECK(text_at(referral, "vehicle") == next[0]);
    // she is expected from where the second vehicle fetches her, not from when she first left
    const JsonValue& way = at(one_of(at(stranded.body, "plan.carried"), "referral", code), "way");
    CHECK(text_at(referral, "expected.allow") == text_at(way, "arrives.allow"));
    CHECK(sample.tell(code, R"({"step": "arrived"})").status == 200);
    CHECK(text_at(woman(plan(sample), code), "planning") == "none");
    CHECK(sample.tell(code, R"({"step": "received"})").status == 200);
    CHECK(at(plan(sample).body, "referrals").items().size() == 1);
}

TEST_CASE("What cannot be accepted is refused, and nothing is changed") {
    RecordedSample sample;
    const std::string code = open_at(sample, "kezhiru-clinic");
    const Seen seen = plan(sample);
    const journal::Sequence before = sample.records().sequence();
    CHECK(accept(sample, by(code, "sorvrith-11"), seen.if_match).status == 404);
    CHECK(accept(sample, by("no-such-one", "sorvrith-1"), seen.if_match).status == 404);
    CHECK(accept(sample, by(code, "uvrissa-1"), seen.if_match).status == 409);  // a boat
    CHECK(accept(sample, "", seen.if_match).status == 400);
    CHECK(accept(sample, by(code, "sorvrith-1") + "," + by(code, "sorvrith-1"), seen.if_match)
              .status == 400);
    CHECK(accept(sample, R"({"referal": "x"})", seen.if_match).status == 400);
    CHECK(sample.records().sequence() == before);
}

}  // namespace waybourne::server::test
