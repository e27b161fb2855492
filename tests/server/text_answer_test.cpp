#include <doctest/doctest.h>

#include "referral/referral_code.hpp"
#include "referral/text_message.hpp"
#include "server/problem.hpp"
#include "tests/server/has.hpp"
#include "tests/server/texting_sample.hpp"

// Texts of plain phones: who may change what with a digit, and what is answered. Digits 1 to 4:
// clinical.md, i.1.

namespace waybourne::server::test {

namespace {}  // namespace

TEST_CASE("A driver on a plain phone takes a journey from its base to the hospital with digits") {
    TextingSample texting;
    const std::string code = texting.open_with_vehicle();
    const std::pair<const char*, const char*> journey[] = {
        {"5", "transport_sent"}, {"6", "with_the_woman"}, {"1", "departed"}, {" 2.", "arrived"}};
    for (const auto& step : journey) {
        const std::string sent = step.first;
        CAPTURE(sent);
        const std::string answer = texting.text(driver_number, sent);
        CHECK(has(answer, "Noted "));
        CHECK(has(answer, code));
        CHECK(texting.state(code) == step.second);
        CHECK(referral::text_message_characters(answer).value() <=
              referral::two_text_messages_length);
    }
    const JsonValue shown = texting.sample().show(code);
    const JsonValue& last = at(shown, "history").items().back();
    CHECK(text_at(last, "by.role") == "driver");
}

TEST_CASE("A digit out of order changes nothing and is answered with what can be said now") {
    TextingSample texting;
    const std::string code = texting.open_with_vehicle();
    CHECK(has(texting.text(driver_number, "1"), "on the way"));
    const std::string twice = texting.text(driver_number, "1");  // sent twice by a nervous thumb
    CHECK(has(twice, "Not noted: case " + code + " is on the way"));
    CHECK(has(twice, "2 arrived"));
    CHECK_FALSE(has(twice, "1 left"));
    CHECK(has(texting.text(driver_number, "5"), "Not noted"));
    CHECK(texting.state(code) == "departed");
}

TEST_CASE(
    "A wrong digit or other words change nothing and are answered with the digits there are") {
    TextingSample texting;
    const std::string code = texting.open_with_vehicle();
    const auto before = texting.sample().records().sequence();
    for (const char* words : {"8", "0", "12", "on my way", "", "1 1", "\xff\xff"}) {
        CAPTURE(words);
        const std::string answer = texting.text(driver_number, words);
        CHECK(has(answer, "Not understood, nothing was changed."));
        CHECK(has(answer, "5 set out"));
    }
    CHECK(texting.sample().records().sequence() == before);
    CHECK(texting.state(code) == "opened");
}

TEST_CASE("A number that is not registered changes nothing and is answered politely, three times") {
    TextingSample texting;
    const std::string code = texting.open_with_vehicle();
    const auto before = texting.sample().records().sequence();
    for (const char* words : {"1", "READY surgeon", "NOT READY surgeon"}) {
        const std::string answer = texting.text(stranger_number, words);
        CHECK(has(answer, "not registered"));
        CHECK_FALSE(has(answer, code));
    }
    CHECK(texting.text(stranger_number, "1 " + code) == "(none)");
    CHECK(has(texting.text("Airtime", "win"), "not registered"));
    CHECK(texting.sample().records().sequence() == before);
    CHECK(texting.state(code) == "opened");
}

TEST_CASE("A driver moves the journeys of the own vehicle only") {
    TextingSample texting;
    const std::string code = texting.open_with_vehicle();
    CHECK(has(texting.text(other_driver_number, "5"), "no open case for this phone"));
    CHECK(has(texting.text(other_driver_number, "5 " + code), "no open case " + code));
    CHECK(texting.state(code) == "opened");
}

TEST_CASE("With two women on board the digit needs the code") {
    TextingSample texting;
    const std::string one = texting.open_with_vehicle();
    const std::string other = texting.open_with_vehicle();
    const std::string which = texting.text(driver_number, "1");
    CHECK(has(which, "Which case?"));
    CHECK(has(which, one));
    CHECK(has(which, other));
    CHECK(texting.state(one) == "opened");
    CHECK(has(texting.text(driver_number, "1 " + other), "on the way"));
    CHECK(texting.state(one) == "opened");
    CHECK(texting.state(other) == "departed");
}

TEST_CASE("Cannot go, or she is worse: an alert on the case, and the journey stays as it was") {
    TextingSample texting;
    const std::string code = texting.open_with_vehicle();
    CHECK(has(texting.text(driver_number, "3"), "you cannot go"));
    CHECK(has(texting.text(driver_number, "4"), "she is worse"));
    const JsonValue shown = texting.sample().show(code);
    REQUIRE(at(shown, "alerts").items().size() == 2);
    CHECK(text_at(at(shown, "alerts").items()[0], "alert").starts_with("cannot_go-"));
    CHECK(text_at(at(shown, "alerts").items()[1], "alert").starts_with("worse-"));
    CHECK(texting.state(code) == "opened");
    // the dispatcher has it first; nobody takes it on: three minutes later the clinic has it too
    for (const auto& [passed, owner] : {std::pair{0min, "dispatcher"}, std::pair{3min, "sender"}}) {
        texting.clock().pass(passed);
        const JsonValue now = texting.sample().show(code);
        const JsonValue& alert = at(now, "overdue").items().at(0);
        CHECK(text_at(alert, "step") == "cannot_go");
        CHECK(text_at(alert, "owner") == owner);
        CHECK(has(text_at(alert, "text"), "cannot go"));
    }
    const std::string id = text_at(at(shown, "alerts").items()[0], "alert");
    CHECK(texting.sample()
              .tell(code, R"({"step": "alert_acknowledged", "alert": ")" + id + "\"}")
              .status == 200);
    texting.clock().pass(1h);
    const JsonValue later = texting.sample().show(code);
    for (const JsonValue& alert : at(later, "overdue").items()) {
        if (text_at(alert, "alert") == id) {
            CHECK(text_at(alert, "owner") == "sender");  // who had it when it was taken on
            CHECK(at(alert, "next_owner_at").kind() == JsonKind::null);
        }
    }
}

TEST_CASE("A ward accepts and declines with a digit") {
    TextingSample texting;
    const std::string code = texting.sample().open();
    CHECK(has(texting.text(hospital_number, "1"), "accepted"));
    CHECK(texting.state(code) == "accepted");
    CHECK(has(texting.text(hospital_number, "3"), "declined"));
    CHECK(texting.state(code) == "declined");
    CHECK(has(texting.text(other_hospital_number, "1"), "no open case"));
}

TEST_CASE("A ward says by text what it can give, and the next recommendation knows it") {
    TextingSample texting;
    const auto before = texting.sample().snapshot().get()->report_count;
    const std::string unknown = texting.text(hospital_number, "NOT READY miracles");
    CHECK(has(unknown, "miracles is not known here"));
    CHECK(has(unknown, "surgeon"));
    CHECK(has(texting.text(hospital_number, "Not ready surgeon until 18:00"), "surgeon not ready"));
    CHECK(has(texting.text(hospital_number, "READY uterotonics"), "uterotonics ready"));
    const auto snapshot = texting.sample().snapshot().get();
    CHECK(snapshot->version > 1);
    const auto readiness =
        texting.sample().send("GET", "/v1/facilities/sorvrith-hospital/readiness");
    CHECK(has(readiness.body, "surgeon"));
    CHECK(has(readiness.body, "18:00"));
    CHECK(snapshot->report_count >= before);
}

TEST_CASE("A text that the gateway brings twice counts once and is answered as before") {
    TextingSample texting;
    const std::string code = texting.open_with_vehicle();
    const std::string first = texting.text(driver_number, "2", "gw-1");
    CHECK(texting.state(code) == "arrived");
    const auto before = texting.sample().records().sequence();
    CHECK(texting.text(driver_number, "2", "gw-1") == first);
    CHECK(texting.sample().records().sequence() == before);
    // the same id with other words is a fault of the gateway
    CHECK_THROWS_AS(texting.text(driver_number, "1", "gw-1"), HttpRefusal);
}

TEST_CASE("A health worker at the clinic tells that she left") {
    TextingSample texting;
    const std::string code = texting.sample().open();
    CHECK(has(texting.text(clinic_number, "1"), "on the way"));
    CHECK(texting.state(code) == "departed");
}

}  // namespace waybourne::server::test
