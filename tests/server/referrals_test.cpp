#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "journal/open_journal.hpp"
#include "referral/referral_code.hpp"
#include "server/problem.hpp"
#include "tests/server/recorded_sample.hpp"

// States and steps: docs/referral-life.md. Preconditions: RFC 9110 section 13.1.1 and RFC 6585
// section 3. Idempotency, visibility and shapes are our own rules (docs/openapi.yaml).

namespace waybourne::server::test {

namespace {

const Caller clinic{"clinic-1", Role::health_worker, {FacilityId{"kezhiru-clinic"}}, false};
const Caller other_clinic{"clinic-2", Role::health_worker, {FacilityId{"dorvath-clinic"}}, false};
const Caller hospital{"hospital", Role::facility, {FacilityId{"sorvrith-hospital"}}, false};

bool has(const std::vector<std::string>& all, const std::string& one) {
    return std::find(all.begin(), all.end(), one) != all.end();
}

std::string key(const std::string& value) {
    return "Idempotency-Key: " + value + "\r\n";
}

}  // namespace

TEST_CASE("She is sent: the referral has a code, a plan and a list of what can happen next") {
    const RecordedSample sample;
    const Reply reply = sample.send("POST", "/v1/referrals", opening_body());
    REQUIRE(reply.status == 201);
    const JsonValue body = parse_json(reply.body);
    const std::string code = text_at(body, "code");
    CHECK(code.size() == 8);
    CHECK(reply.field("Location") == "/v1/referrals/" + code);
    CHECK_FALSE(reply.field("ETag").empty());
    CHECK(text_at(body, "state") == "opened");
    CHECK(text_at(body, "asked") == "sorvrith-hospital");
    CHECK(text_at(body, "plan.to") == "sorvrith-hospital");
    CHECK(text_at(body, "plan.made_from.map") == sample_snapshot()->map_sha256);
    CHECK(has(texts_at(body, "possible"), "departed"));
    CHECK_FALSE(has(texts_at(body, "possible"), "received"));
    // read back as people write codes
    const std::string spoken = code.substr(0, 4) + "-" + code.substr(4);
    CHECK(sample.send("GET", "/v1/referrals/" + spoken).body ==
          sample.send("GET", "/v1/referrals/" + code).body);
}

TEST_CASE(
    "The whole way: informed, accepted, departed, arrived, received, closed, told the sender") {
    RecordedSample sample;
    const std::string code = sample.open();
    const std::vector<std::pair<std::string, std::string>> steps{
        {R"({"step": "informed"})", "informed"},
        {R"({"step": "accepted"})", "accepted"},
        {R"({"step": "departed"})", "departed"},
        {R"({"step": "arrived"})", "arrived"},
        {R"({"step": "received"})", "received"},
        {R"({"step": "person_added", "persons": [{"person": "baby"}]})", "received"},
        {R"({"step": "closed", "persons": [{"person": "mother", "outcome": "alive_well"},
             {"person": "baby", "outcome": "alive_well"}]})",
         "closed"},
        {R"({"step": "outcome_returned"})", "closed"}};
    for (const auto& [step, state] : steps) {
        sample.clock().pass(60s);
        const Reply reply = sample.tell(code, step);
        REQUIRE_MESSAGE(reply.status == 200, reply.body);
        CHECK(text_at(parse_json(reply.body), "state") == state);
    }
    // settled, it is read from the journal alone and says the same
    const JsonValue settled = sample.show(code);
    CHECK(at(settled, "history").items().size() == steps.size() + 1);
    CHECK(at(settled, "persons").items().size() == 2);
    CHECK(sample.records().live().empty());
    const Reply list = sample.send("GET", "/v1/referrals?open=false&state=closed");
    CHECK(text_at(at(parse_json(list.body), "referrals").items().at(0), "code") == code);
}

TEST_CASE("An impossible step is refused with what is possible, and changes nothing") {
    const RecordedSample sample;
    const std::string code = sample.open();
    const Reply refused = sample.tell(code, R"({"step": "received"})");
    CHECK(refused.status == 409);
    const JsonValue problem = parse_json(refused.body);
    CHECK(text_at(problem, "state") == "opened");
    CHECK(has(texts_at(problem, "possible"), "informed"));
    CHECK(sample.tell(code, R"({"step": "closed"})").status == 409);
    CHECK(at(sample.show(code), "history").items().size() == 1);
}

TEST_CASE("Two who act at once: the second sees what the first has done, and nothing is lost") {
    const RecordedSample sample;
    const std::string code = sample.open();
    const std::string path = "/v1/referrals/" + code + "/events";
    const std::string seen =
        "If-Match: " + sample.send("GET", "/v1/referrals/" + code).field("ETag") + "\r\n";
    CHECK(sample.send("POST", path, R"({"step": "informed"})", seen).status == 200);
    const Reply second = sample.send("POST", path, R"({"step": "accepted"})", seen);
    CHECK(second.status == 412);
    CHECK(text_at(parse_json(second.body), "current.state") == "informed");
    CHECK(sample.send("POST", path, R"({"step": "accepted"})").status == 428);
    CHECK(sample.send("POST", path, R"({"step": "accepted"})", "If-Match: *\r\n").status == 428);
    CHECK(sample
              .send("POST", path, R"({"step": "accepted"})",
                    "If-Match: " + second.field("ETag") + "\r\n")
              .status == 200);
}

TEST_CASE("A call sent again because no answer came gives the same answer and is stored once") {
    RecordedSample sample;
    const Reply first = sample.send("POST", "/v1/referrals", opening_body(), key("phone-1"));
    sample.clock().pass(3h);
    const Reply again = sample.send("POST", "/v1/referrals", opening_body(), key("phone-1"));
    CHECK(again.status == 201);
    CHECK(again.body == first.body);
    CHECK(again.field("ETag") == first.field("ETag"));
    CHECK(sample.records().sequence() == 1);
    const Reply other =
        sample.send("POST", "/v1/referrals", opening_body(R"("channel": "text")"), key("phone-1"));
    CHECK(other.status == 422);
    // a step: again after somebody else has acted, still the answer of then
    const std::string code = text_at(parse_json(first.body), "code");
    const std::string path = "/v1/referrals/" + code + "/events";
    const std::string seen = "If-Match: " + first.field("ETag") + "\r\n";
    const Reply told = sample.send("POST", path, R"({"step": "informed"})", seen + key("phone-2"));
    REQUIRE(told.status == 200);
    CHECK(sample.tell(code, R"({"step": "accepted"})").status == 200);
    const Reply retold =
        sample.send("POST", path, R"({"step": "informed"})", seen + key("phone-2"));
    CHECK(retold.status == 200);
    CHECK(retold.body == told.body);
    CHECK(sample.records().sequence() == 3);
    CHECK(sample.send("POST", path, "{}", key(std::string(129, 'k'))).status == 400);
}

TEST_CASE("What a phone tells late is kept and flagged, whatever the state") {
    RecordedSample sample;
    sample.clock().pass(4h);
    const std::string code = sample.open();
    CHECK(sample.tell(code, R"({"step": "cancelled", "reason": "she has gone home"})").status ==
          200);
    const std::string late = R"({"step": "departed", "recorded_late": true, "id": "phone-7",
        "occurred_at": "2026-03-04T13:50:00Z", "recorded_at": "2026-03-04T13:50:00Z"})";
    const std::string path = "/v1/referrals/" + code + "/events";
    const Reply kept = sample.send("POST", path, late);
    REQUIRE_MESSAGE(kept.status == 200, kept.body);
    const JsonValue body = parse_json(kept.body);
    CHECK(text_at(at(body, "flags").items().at(0), "event") == "phone-7");
    CHECK(text_at(body, "state") == "departed");           // she is on the way: open again
    CHECK(sample.send("POST", path, late).status == 200);  // again: there already
    CHECK(at(sample.show(code), "history").items().size() == 3);
    CHECK(sample.send("POST", path, R"({"step": "departed", "recorded_late": true})").status ==
          400);
}

TEST_CASE("A phone without connection chooses the code, and nobody else gets it") {
    const RecordedSample sample;
    const std::string code = referral::to_referral_code(12345);
    CHECK(sample.open(R"("code": ")" + code + "\"") == code);
    CHECK(sample.send("POST", "/v1/referrals", opening_body(R"("code": ")" + code + "\"")).status ==
          409);
    CHECK(sample.send("GET", "/v1/referrals/ABCDEFGH").status == 400);  // no code at all
    CHECK(sample.send("GET", "/v1/referrals/" + referral::to_referral_code(777)).status == 404);
}

TEST_CASE("A list goes on where the page before ended, and can be narrowed") {
    const RecordedSample sample;
    std::set<std::string> opened;
    for (int i = 0; i < 60; ++i) {
        opened.insert(sample.open());
    }
    std::set<std::string> listed;
    const JsonValue first = parse_json(sample.send("GET", "/v1/referrals").body);
    const JsonValue second = parse_json(
        sample.send("GET", "/v1/referrals?cursor=" + text_at(first, "next_cursor")).body);
    for (const JsonValue* page : {&first, &second}) {
        for (const JsonValue& one : at(*page, "referrals").items()) {
            listed.insert(text_at(one, "code"));
        }
    }
    CHECK(listed == opened);
    CHECK(at(second, "next_cursor").kind() == JsonKind::null);
    const auto count = [&](const std::string& query) {
        return at(parse_json(sample.send("GET", "/v1/referrals?" + query).body), "referrals")
            .items()
            .size();
    };
    CHECK(count("facility=venzhoth-hospital") == 0);
    CHECK(count("facility=sorvrith-hospital&open=true") == 50);
    CHECK(sample.send("GET", "/v1/referrals?state=lost").status == 400);
    CHECK(sample.send("GET", "/v1/referrals?name=x").status == 400);
}

TEST_CASE("A clinic sees what it has sent, a hospital what comes to it, a planner nobody") {
    RecordedSample sample;
    const std::string code = sample.open();
    CHECK(sample.desk().visible(clinic, code)->code == code);
    CHECK(sample.desk().visible(hospital, code)->code == code);
    CHECK_THROWS_AS(sample.desk().visible(other_clinic, code), NotFound);
    CHECK_THROWS_AS(sample.desk().visible({"vehicle-9", Role::driver, {}, false}, code), NotFound);
    CHECK_THROWS_AS(sample.desk().visible({"planner", Role::planner, {}, false}, code),
                    HttpRefusal);
    CHECK(sample.tell(code, R"({"step": "vehicle_assigned", "vehicle": "vehicle-9"})").status ==
          200);
    CHECK(sample.desk().visible({"vehicle-9", Role::driver, {}, false}, code)->code == code);
    // sent elsewhere, she is no longer the hospital's to see
    CHECK(sample.tell(code, R"({"step": "diverted", "place": "venzhoth-hospital"})").status == 200);
    CHECK_THROWS_AS(sample.desk().visible(hospital, code), NotFound);
    // who practises sees no real case
    CHECK_THROWS_AS(
        sample.desk().visible(
            {"clinic-1", Role::health_worker, {FacilityId{"kezhiru-clinic"}}, true}, code),
        NotFound);
}

TEST_CASE("The same woman told of twice is offered as one case; merging can be turned round") {
    const RecordedSample sample;
    const std::string one = sample.open();
    const std::string two = sample.open(R"("channel": "text")");
    CHECK(text_at(at(sample.show(one), "same_woman.offers").items().at(0), "code") == two);
    CHECK(sample.tell(one, R"({"step": "merged", "other": ")" + two + "\"}").status == 200);
    CHECK(texts_at(sample.show(two), "same_woman.merged_with") == std::vector{one});
    CHECK(at(sample.show(two), "same_woman.offers").items().empty());
    CHECK(sample.tell(two, R"({"step": "unmerged", "other": ")" + one + "\"}").status == 200);
    CHECK(texts_at(sample.show(one), "same_woman.merged_with").empty());
    CHECK(
        at(sample.show(one), "same_woman.offers").items().empty());  // told apart: not asked again
}

TEST_CASE("A case under review is held, and retention is told to leave it alone") {
    RecordedSample sample;
    const std::string code = sample.open();
    const std::string path = "/v1/referrals/" + code + "/hold";
    CHECK(sample.send("DELETE", path).status == 409);
    CHECK(sample.send("POST", path, R"({"reason": "review of delays"})").status == 200);
    CHECK(text_at(sample.show(code), "hold.reason") == "review of delays");
    CHECK(sample.records().held_subjects() == std::vector{subject_of(code)});
    CHECK(sample.send("DELETE", path).status == 200);
    CHECK(sample.records().held_subjects().empty());
}

TEST_CASE("After a redaction it is still known that and when things happened, and no more") {
    const PrivateFolder folder;
    RecordedSample sample{folder.path()};
    const std::string code = sample.open();
    CHECK(sample.tell(code, R"({"step": "departed"})").status == 200);
    const auto before = sample.show(code);
    CHECK(at(before, "findings").kind() == JsonKind::object);
    journal::open_journal((folder.path() / "journal.db").string())
        ->redact(
            {sample.clock().now(), "retention", "time is over", {subject_of(code)}, {}, {}, {}});
    sample.records().catch_up();
    const auto after = sample.show(code);
    CHECK(text_at(after, "state") == "departed");
    CHECK(at(after, "findings").kind() == JsonKind::null);
    CHECK(at(after, "plan").kind() == JsonKind::null);
}

TEST_CASE("A server that starts again knows what it knew, and nothing of her stands in the log") {
    const PrivateFolder folder;
    std::string code;
    std::string before;
    {
        RecordedSample sample{folder.path()};
        code = sample.open();
        CHECK(sample.tell(code, R"({"step": "informed"})").status == 200);
        before = sample.send("GET", "/v1/referrals/" + code).body;
        const std::string log = without_chance(sample.log_text());
        CHECK(log.find("event=request") != std::string::npos);
        CHECK(log.find(code) == std::string::npos);
        CHECK(log.find("165") == std::string::npos);
    }
    const RecordedSample again{folder.path()};
    CHECK(again.send("GET", "/v1/referrals/" + code).body == before);
}

TEST_CASE("A server without a journal says plainly that it takes no referrals") {
    const ServedSample sample;
    const Reply reply = post(sample.port(), "/v1/referrals", opening_body());
    CHECK(reply.status == 503);
    CHECK(reply.body.find("--journal") != std::string::npos);
}

}  // namespace waybourne::server::test
