#include <doctest/doctest.h>

#include <algorithm>

#include "tests/server/recorded_sample.hpp"

// What hits an accepted transport before she is in it: a road on the way to her, a report that
// holds her vehicle. Rules and words are our own (docs/referral-life.md, "What is overdue"). The
// clock stands at 2026-03-04T09:40:00Z.

namespace waybourne::server::test {

namespace {

/// With severe headache at a hill post, asked for at Venzhoth; nothing is at hand to carry her.
std::string open_at(const RecordedSample& sample, const std::string& post) {
    const Reply reply = sample.send("POST", "/v1/referrals",
                                    R"({"request": {"findings": {"status": "pregnant",
  "gestation_weeks": 34, "severe_headache": "yes"}, "readings": [{"taken_at":
  "2026-03-04T09:35:00Z", "systolic_mmhg": 165, "diastolic_mmhg": 112, "pulse_per_minute": 96}],
  "from": {"facility": ")" + post + R"("}}, "sender": ")" +
                                        post + R"(", "to": "venzhoth-hospital"})");
    REQUIRE_MESSAGE(reply.status == 201, reply.body);
    return text_at(parse_json(reply.body), "code");
}

/// A dispatcher accepts these vehicles for her, whatever the plan would say.
void accept(RecordedSample& sample, const std::string& code, const std::string& vehicles) {
    const Reply seen = sample.send("GET", "/v1/transport-plans");
    const Reply reply = sample.send(
        "POST", "/v1/transport-plans/accepted",
        R"({"carried": [{"referral": ")" + code + R"(", "vehicles": [)" + vehicles + "]}]}",
        "If-Match: " + seen.field("ETag") + "\r\n");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    sample.clock().pass(1min);
}

/// A flood around a place; gives the id of the change.
std::string close_around(const RecordedSample& sample, const std::string& place) {
    const Reply reply = sample.send("POST", "/v1/road-conditions",
                                    R"({"kind": "closed", "until": "2026-03-04T20:00:00Z",
  "reason": "flood", "near": {"place": ")" +
                                        place + R"(", "within_m": 800}})");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    return text_at(at(parse_json(reply.body), "reported").items().back(), "id");
}

void report(const RecordedSample& sample, const std::string& vehicle, const std::string& body) {
    const Reply reply = sample.send("POST", "/v1/vehicles/" + vehicle + "/reports", body);
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
}

/// The steps of the alerts that stand, of this kind alone.
std::vector<JsonValue> standing(const RecordedSample& sample, const std::string& code,
                                const std::string& step) {
    std::vector<JsonValue> found;
    const JsonValue shown = sample.show(code);
    for (const JsonValue& alert : at(shown, "overdue").items()) {
        if (text_at(alert, "step") == step) {
            found.push_back(alert);
        }
    }
    return found;
}

}  // namespace

TEST_CASE("A road that is closed on the vehicle's way to her raises an alert, until it is there") {
    RecordedSample sample;
    const std::string code = open_at(sample, "thezhanna-health-post");
    accept(sample, code, "\"sorvrith-2\"");
    // From Sorvrith she is fetched; Venzhoth, where she goes, lies elsewhere.
    SUBCASE("while the vehicle comes") {
        REQUIRE(sample.tell(code, R"({"step": "transport_sent"})").status == 200);
        close_around(sample, "sorvrith-hospital");
        const auto alerts = standing(sample, code, "way");
        REQUIRE(alerts.size() == 1);
        CHECK(text_at(alerts[0], "owner") == "dispatcher");
        CHECK(text_at(alerts[0], "text").find("the way to her") != std::string::npos);
        CHECK(sample.watch().look() == 0);
        sample.clock().pass(4min);  // nobody took it on
        CHECK(text_at(standing(sample, code, "way").at(0), "owner") == "sender");
    }
    SUBCASE("not once it is with her") {
        REQUIRE(sample.tell(code, R"({"step": "transport_sent"})").status == 200);
        REQUIRE(sample.tell(code, R"({"step": "with_the_woman"})").status == 200);
        close_around(sample, "sorvrith-hospital");
        CHECK(standing(sample, code, "way").empty());
    }
    SUBCASE("not once another vehicle comes another way") {
        accept(sample, code, "\"venzhoth-1\"");
        close_around(sample, "sorvrith-hospital");
        CHECK(standing(sample, code, "way").empty());
    }
    SUBCASE("not where it was closed before the plan was made") {
        close_around(sample, "sorvrith-hospital");
        sample.clock().pass(1min);
        const std::string other = open_at(sample, "luzhenni-clinic");
        accept(sample, other, "\"venzhoth-1\"");
        sample.watch().look();
        CHECK(standing(sample, other, "way").empty());
    }
    SUBCASE("and what was planned stands after a restart: it is read from the journal alone") {
        const auto record =
            read_record(sample.records().journal(), code, sample.records().sequence());
        REQUIRE(record->transport->before.size() == 1);
        CHECK(*record->transport == *sample.records().find(code)->transport);
    }
}

TEST_CASE("A report that holds the vehicle of a woman who waits for it raises an alert") {
    RecordedSample sample;
    const std::string code = open_at(sample, "thezhanna-health-post");
    accept(sample, code, "\"sorvrith-2\"");
    REQUIRE(sample.tell(code, R"({"step": "transport_sent"})").status == 200);
    SUBCASE("it broke down, has no fuel, is taken, or nobody drives it") {
        for (const char* state : {"breakdown", "no_fuel", "repair", "taken", "off_duty"}) {
            CAPTURE(state);
            RecordedSample own;
            const std::string her = open_at(own, "thezhanna-health-post");
            accept(own, her, "\"sorvrith-2\"");
            report(own, "sorvrith-2", R"({"state": ")" + std::string{state} + "\"}");
            const auto alerts = standing(own, her, "vehicle");
            REQUIRE(alerts.size() == 1);
            CHECK(text_at(alerts[0], "owner") == "dispatcher");
            CHECK(text_at(alerts[0], "text").find("phone its driver") != std::string::npos);
        }
    }
    SUBCASE("once for each report, taken on by a person or passed on, as the others are") {
        report(sample, "sorvrith-2", R"({"state": "breakdown"})");
        CHECK(sample.watch().look() == 0);
        sample.clock().pass(4min);
        const auto alerts = standing(sample, code, "vehicle");
        REQUIRE(alerts.size() == 1);
        CHECK(text_at(alerts[0], "owner") == "sender");
        REQUIRE(sample
                    .tell(code, R"({"step": "alert_acknowledged", "alert": ")" +
                                    text_at(alerts[0], "alert") + "\"}")
                    .status == 200);
        CHECK(text_at(standing(sample, code, "vehicle").at(0), "acknowledged_at") != "null");
        sample.clock().pass(1min);
        report(sample, "sorvrith-2", R"({"state": "free"})");
        sample.clock().pass(1min);
        report(sample, "sorvrith-2", R"({"state": "no_fuel"})");
        CHECK(standing(sample, code, "vehicle").size() == 2);
    }
    SUBCASE("another vehicle comes: it has ended") {
        report(sample, "sorvrith-2", R"({"state": "breakdown"})");
        REQUIRE(standing(sample, code, "vehicle").size() == 1);
        accept(sample, code, "\"venzhoth-1\"");
        CHECK(standing(sample, code, "vehicle").empty());
    }
    SUBCASE("with her aboard too, and no more once she is there") {
        for (const char* step : {"with_the_woman", "departed"}) {
            REQUIRE(sample.tell(code, R"({"step": ")" + std::string{step} + "\"}").status == 200);
        }
        report(sample, "sorvrith-2", R"({"state": "breakdown"})");
        CHECK(standing(sample, code, "vehicle").size() == 1);
        REQUIRE(sample.tell(code, R"({"step": "arrived"})").status == 200);
        CHECK(standing(sample, code, "vehicle").empty());
    }
    SUBCASE("that it is on a trip says nothing: it may be hers") {
        report(sample, "sorvrith-2", R"({"state": "mission"})");
        CHECK(standing(sample, code, "vehicle").empty());
    }
}

TEST_CASE(
    "A rest that was known when the vehicle was given to her raises no alert; a later one does") {
    RecordedSample sample;
    const std::string code = open_at(sample, "thezhanna-health-post");
    report(sample, "sorvrith-2", R"({"state": "rest", "until": "2026-03-04T10:00:00Z"})");
    sample.clock().pass(1min);
    accept(sample, code, "\"sorvrith-2\"");
    sample.watch().look();
    CHECK(standing(sample, code, "vehicle").empty());
    report(sample, "sorvrith-2", R"({"state": "rest", "until": "2026-03-04T11:00:00Z"})");
    CHECK(standing(sample, code, "vehicle").size() == 1);
}

TEST_CASE("The vehicle that is to take her over is watched as well, until she is in it") {
    RecordedSample sample;
    const std::string code = open_at(sample, "kezhiru-clinic");
    const auto snapshot = sample.snapshot().get();
    const GeoPoint& clinic = snapshot->facilities.facility(FacilityId{"kezhiru-clinic"}).point;
    report(sample, "ammovreth-1",
           R"({"position": {"latitude": )" + std::to_string(clinic.latitude().degrees) +
               R"(, "longitude": )" + std::to_string(clinic.longitude().degrees) + "}}");
    const Reply seen = sample.send(
        "GET", "/v1/transport-plans?referral=" + code + "&vehicles=ammovreth-1,venzhoth-1");
    REQUIRE_MESSAGE(seen.status == 200, seen.body);
    accept(sample, code, R"("ammovreth-1", "venzhoth-1")");
    const auto record = sample.records().find(code);
    REQUIRE(record->transport->before.size() == 2);  // the motorcycle stands with her
    CHECK(record->transport->before[0].leads_to_meeting);
    CHECK(record->transport->before[1].leads_to_meeting);
    report(sample, "venzhoth-1", R"({"state": "breakdown"})");
    CHECK(standing(sample, code, "vehicle").size() == 1);
    // the first one has done its part once she is in the second
    report(sample, "venzhoth-1", R"({"state": "free"})");
    REQUIRE(sample.tell(code, R"({"step": "with_the_woman", "vehicle": "ammovreth-1"})").status ==
            200);
    REQUIRE(sample.tell(code, R"({"step": "departed", "vehicle": "ammovreth-1"})").status == 200);
    REQUIRE(sample.tell(code, R"({"step": "with_the_woman", "vehicle": "venzhoth-1"})").status ==
            200);
    REQUIRE(sample.tell(code, R"({"step": "departed", "vehicle": "venzhoth-1"})").status == 200);
    sample.clock().pass(1min);
    const std::size_t before = standing(sample, code, "vehicle").size();
    report(sample, "ammovreth-1", R"({"state": "repair"})");
    CHECK(standing(sample, code, "vehicle").size() == before);
}

}  // namespace waybourne::server::test
