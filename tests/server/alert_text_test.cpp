#include <doctest/doctest.h>

#include "referral/text_message.hpp"
#include "server/messages/alert_messages.hpp"
#include "server/referrals/standing_alerts.hpp"
#include "tests/server/has.hpp"
#include "tests/server/texting_sample.hpp"

// An alert that nobody takes on goes to a second person after three minutes
// (docs/referral-life.md), by text where there is a number. Who comes after whom:
// tests/referral/watch_test.cpp.

namespace waybourne::server::test {

namespace {

constexpr const char* desk_number = "+99955500007";

/// The sample's numbers and that of the dispatcher's desk.
Keys with_desk(const std::string& language = "") {
    auto numbers = sample_numbers().numbers();
    Number desk;
    desk.number = desk_number;
    desk.caller = {"desk", Role::dispatcher, {}, false};
    desk.added_at = parse_rfc3339(sample_now);
    desk.language = language;
    numbers.push_back(desk);
    return Keys{{}, std::move(numbers)};
}

/// What the service does in a moment.
void look(TextingSample& texting) {
    texting.sample().watch().look();
    texting.outbox().work();
}

void pass(TextingSample& texting, Seconds time) {
    texting.clock().pass(time);
    look(texting);
}

std::vector<std::string> alerts_to(TextingSample& texting, const std::string& number) {
    std::vector<std::string> alerts;
    for (const std::string& text : texting.gateway().texts_to(number)) {
        if (text.starts_with("ALERT") || text.starts_with("ONYO")) {
            alerts.push_back(text);
        }
    }
    return alerts;
}

/// Opens a referral that nobody answers; its alert is raised after five minutes and a second.
std::string open_unanswered(TextingSample& texting) {
    const std::string code = texting.sample().open();
    CHECK(texting.sample().tell(code, R"({"step": "informed"})").status == 200);
    look(texting);
    pass(texting, 5min + 1s);
    return code;
}

}  // namespace

TEST_CASE("An alert that nobody takes on is texted to a second person after three minutes, once") {
    TextingSample texting{{}, {}, with_desk()};
    const std::string code = open_unanswered(texting);
    pass(texting, 3min - 1s);
    CHECK(alerts_to(texting, desk_number).empty());  // the first three minutes are the ward's
    pass(texting, 1s);
    const auto alerts = alerts_to(texting, desk_number);
    REQUIRE(alerts.size() == 1);
    const std::string& text = alerts[0];
    CAPTURE(text);
    CHECK(has(text, "ALERT, case " + code + ": nobody has taken it on."));
    CHECK(has(text, "The asked place has not answered."));
    const auto& hospital =
        texting.sample().snapshot().get()->facilities.facility(FacilityId{"sorvrith-hospital"});
    CHECK(has(text, "Phone " + hospital.name + ": " + hospital.phones.at(0)));
    CHECK(has(text, "Reply 7 " + code));
    CHECK(referral::text_message_characters(text).value() <= referral::two_text_messages_length);
    // nothing of what was found
    for (const char* found : {"165", "112", "34", "headache", "BP"}) {
        CHECK_FALSE(has(text.substr(text.find("nobody")), std::string{found} + " "));
    }
    // nobody else is texted about it, and it is not told again
    CHECK(alerts_to(texting, hospital_number).empty());
    CHECK(alerts_to(texting, clinic_number).empty());
    for (int minute = 0; minute < 10; ++minute) {
        pass(texting, 1min);
    }
    const auto about_reply = [&] {
        std::size_t count = 0;
        for (const std::string& one : alerts_to(texting, desk_number)) {
            count += has(one, "has not answered") ? 1 : 0;
        }
        return count;
    };
    CHECK(about_reply() == 1);
}

TEST_CASE("Who takes it on within three minutes keeps it: nobody is texted") {
    TextingSample texting{{}, {}, with_desk()};
    const std::string code = open_unanswered(texting);
    const auto acknowledge = [&] {
        const JsonValue shown = texting.sample().show(code);
        for (const JsonValue& alert : at(shown, "overdue").items()) {
            if (text_at(alert, "step") == "reply") {
                const Reply told =
                    texting.sample().tell(code, R"({"step": "alert_acknowledged", "alert": ")" +
                                                    text_at(alert, "alert") + "\"}");
                REQUIRE_MESSAGE(told.status == 200, told.body);
            }
        }
    };
    SUBCASE("acknowledged") {
        acknowledge();
        pass(texting, 4min);
        CHECK(alerts_to(texting, desk_number).empty());
    }
    SUBCASE("done: the place has answered") {
        CHECK(texting.sample().tell(code, R"({"step": "accepted"})").status == 200);
        pass(texting, 4min);
        CHECK(alerts_to(texting, desk_number).empty());
    }
    SUBCASE("taken on while the gateway was down: what is no longer true is not sent") {
        texting.gateway().answer_always({Taken::Answer::not_now, "http_500"});
        pass(texting, 3min);
        const std::size_t tried = alerts_to(texting, desk_number).size();
        CHECK(tried == 1);
        acknowledge();
        texting.gateway().answer_always({Taken::Answer::taken, {}});
        pass(texting, 1min);
        CHECK(alerts_to(texting, desk_number).size() == tried);
    }
}

TEST_CASE("The second person takes it on with a digit, and it goes no further") {
    TextingSample texting{{}, {}, with_desk()};
    const std::string code = texting.open_with_vehicle();
    texting.outbox().work();
    pass(texting, 3min);  // the driver is silent: an alert, the dispatcher's
    SUBCASE("the dispatcher is the first: the screen has it, the sender's number is the second") {
        CHECK(alerts_to(texting, desk_number).empty());
        pass(texting, 3min);
        const auto alerts = alerts_to(texting, clinic_number);
        REQUIRE(alerts.size() == 1);
        CHECK(has(alerts[0], "The driver has not answered the order."));
        CHECK(has(texting.text(clinic_number, "7", "text-1"), "Noted"));
        const JsonValue shown = texting.sample().show(code);
        for (const JsonValue& alert : at(shown, "overdue").items()) {
            if (text_at(alert, "step") == "order") {
                CHECK_FALSE(text_at(alert, "acknowledged_at") == "null");
            }
        }
        CHECK(has(texting.text(clinic_number, "7", "text-1"), "Noted"));  // brought twice
        CHECK(has(texting.text(clinic_number, "7"), "Not noted"));        // once is enough
    }
    SUBCASE("a dispatcher who was told nothing has nothing to take on") {
        CHECK(has(texting.text(desk_number, "7"), "Not noted"));
        CHECK(has(texting.text(desk_number, "5"), "Send one digit: 7 I take it on."));
    }
}

TEST_CASE("A text about an alert that does not get through raises no alert of its own") {
    TextingSample texting{{}, {}, with_desk()};
    const std::string code = open_unanswered(texting);
    texting.gateway().answer_always({Taken::Answer::refused, "http_422"});
    pass(texting, 3min);
    CHECK(alerts_to(texting, desk_number).size() == 1);
    for (int minute = 0; minute < 8; ++minute) {
        pass(texting, 1min);
    }
    for (const auto& message : texting.sample().records().find(code)->messages) {
        if (message.purpose == Purpose::alert) {
            CHECK(texting.sample().records().find(code)->life.alerts.count("message-" +
                                                                           message.id) == 0);
        }
    }
}

TEST_CASE("Two servers, and a restart, text the second person once") {
    const PrivateFolder folder;
    std::string code;
    {
        TextingSample texting{folder.path(), {}, with_desk()};
        code = open_unanswered(texting);
        pass(texting, 3min);
        CHECK(alerts_to(texting, desk_number).size() == 1);
    }
    TextingSample again{folder.path(), {}, with_desk()};
    again.clock().pass(8min + 2s);
    look(again);
    CHECK(alerts_to(again, desk_number).empty());
    const auto record = again.sample().records().find(code);
    const auto count =
        std::count_if(record->messages.begin(), record->messages.end(),
                      [](const OutgoingMessage& one) { return one.purpose == Purpose::alert; });
    CHECK(count == 1);
}

TEST_CASE("Texting that begins on an old journal does not text about alerts of long ago") {
    const PrivateFolder folder;
    {
        TextingSample texting{folder.path()};
        open_unanswered(texting);
    }
    TextingSample later{folder.path(), {}, with_desk()};
    later.clock().pass(2h);
    look(later);
    for (const std::string& text : alerts_to(later, desk_number)) {
        CHECK_FALSE(has(text, "has not answered"));
    }
}

TEST_CASE("A practice case alerts nobody by text") {
    TextingSample texting{{}, {}, with_desk()};
    auto record = std::make_shared<ReferralRecord>();
    {
        const std::string code = open_unanswered(texting);
        *record = *texting.sample().records().find(code);
    }
    const auto snapshot = texting.sample().snapshot().get();
    const Instant now = texting.clock().now() + 3min;
    CHECK(alert_messages(*record, *snapshot, with_desk(), 30min, now).size() == 1);
    record->is_practice = true;
    CHECK(alert_messages(*record, *snapshot, with_desk(), 30min, now).empty());
}

TEST_CASE("Every alert fits two messages in every language, and says the code and whom to phone") {
    const TextingSample texting;
    const auto snapshot = sample_snapshot();
    const std::string hidden(60, 'x');
    for (const char* language : {"en", "fr", "sw"}) {
        const Keys keys = with_desk(language);
        for (const char* what :
             {"order", "message", "way", "vehicle", "cannot_go", "worse", "inform", "reply",
              "ask_another_place", "set_out", "reach_her", "leave", "arrive", "hand_over",
              "begin_care", "ask_again", "close", "return_outcome"}) {
            CAPTURE(language);
            CAPTURE(what);
            const std::string text = alert_text(
                *snapshot, language, {"34F7K9CA", what, parse_rfc3339("2026-02-28T09:40:00Z")},
                PhoneEntry{"Sorvrith district hospital, labour ward and theatre",
                           {"+99900002101", "+999000021012345"}},
                parse_rfc3339(sample_now));
            CAPTURE(text);
            CHECK(referral::text_message_characters(text).value() <=
                  referral::two_text_messages_length);
            CHECK(has(text, "34F7K9CA"));
            CHECK(has(text, "+99900002101"));
            CHECK(has(text, "7 34F7K9CA"));
        }
    }
}

}  // namespace waybourne::server::test
