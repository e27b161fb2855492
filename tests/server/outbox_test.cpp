#include <doctest/doctest.h>

#include "referral/text_message.hpp"
#include "server/json/referral_body.hpp"
#include "tests/server/has.hpp"
#include "tests/server/texting_sample.hpp"

// Text messages out: who is told what, and what happens when the gateway does not take them.
// Pauses and limits: server/messages/outgoing_message.hpp, our own.

namespace waybourne::server::test {

namespace {

const Taken not_now{Taken::Answer::not_now, "http_500"};
const Taken refused{Taken::Answer::refused, "http_422"};

/// The member of the only message, or of the one with this purpose.
std::string of_message(TextingSample& texting, const std::string& code, const std::string& purpose,
                       const std::string& member) {
    const JsonValue shown = texting.sample().show(code);
    for (const JsonValue& message : at(shown, "messages").items()) {
        if (text_at(message, "purpose") == purpose) {
            return text_at(message, member);
        }
    }
    return "no such message";
}

std::size_t alerts(TextingSample& texting, const std::string& code) {
    const JsonValue shown = texting.sample().show(code);
    std::size_t count = 0;
    for (const JsonValue& alert : at(shown, "alerts").items()) {
        count += text_at(alert, "alert").starts_with("message-") ? 1 : 0;
    }
    return count;
}

}  // namespace

TEST_CASE("The hospital is texted when a woman is sent to it, once, and no one else is") {
    TextingSample texting;
    const std::string code = texting.sample().open();
    CHECK(texting.outbox().work() == 1);
    CHECK(texting.outbox().work() == 0);
    REQUIRE(texting.gateway().sent().size() == 1);
    const TextToSend sent = texting.gateway().sent()[0];
    CHECK(sent.number == hospital_number);
    CHECK(has(sent.text, "Case " + code + " arriving"));
    CHECK(has(sent.text, "34 wk"));
    CHECK(has(sent.text, "BP 165/112"));
    CHECK(has(sent.text, "Reply 1 ready / 3 cannot."));
    CHECK(referral::text_message_characters(sent.text).value() <= 160);
    CHECK(of_message(texting, code, "expected", "state") == "sent");
    // neither words nor numbers are shown to who looks at the referral
    const std::string shown = texting.sample().send("GET", "/v1/referrals/" + code).body;
    CHECK_FALSE(has(shown, "arriving"));
    CHECK_FALSE(has(shown, hospital_number));
    // texting is nobody's word: who has seen the referral before may act on it
    CHECK(text_at(texting.sample().show(code), "state") == "opened");
}

TEST_CASE("The driver gets his order with the digits to send, in two messages at most") {
    TextingSample texting;
    const std::string code = texting.open_with_vehicle();
    texting.outbox().work();
    const auto texts = texting.gateway().texts_to(driver_number);
    REQUIRE(texts.size() == 1);
    CHECK(has(texts[0], "ORDER. Case " + code));
    CHECK(has(texts[0], "fetch woman at Kezhiru"));
    CHECK(has(texts[0], "5 set out, 6 with her, 1 left with her, 2 arrived"));
    CHECK(referral::text_message_characters(texts[0]).value() <=
          referral::two_text_messages_length);
    // nothing that was found: his phone is shared (clinical.md, i.1)
    CHECK_FALSE(has(texts[0], "165"));
    CHECK(texting.gateway().texts_to(other_driver_number).empty());
}

TEST_CASE("When she is sent elsewhere both places and the driver are told") {
    TextingSample texting;
    const std::string code = texting.open_with_vehicle();
    texting.outbox().work();
    CHECK(texting.sample()
              .tell(code, R"({"step": "diverted", "place": "venzhoth-hospital"})")
              .status == 200);
    texting.outbox().work();
    CHECK(has(texting.gateway().texts_to(hospital_number).back(), "not coming"));
    CHECK(has(texting.gateway().texts_to(other_hospital_number).back(), "arriving"));
    CHECK(has(texting.gateway().texts_to(driver_number).back(), "CHANGED ORDER."));
    // and back again: news once more
    CHECK(texting.sample()
              .tell(code, R"({"step": "diverted", "place": "sorvrith-hospital"})")
              .status == 200);
    texting.outbox().work();
    CHECK(has(texting.gateway().texts_to(hospital_number).back(), "arriving"));
    CHECK(has(texting.gateway().texts_to(other_hospital_number).back(), "not coming"));
}

namespace {

/// Sends the first of two vehicles for her and the other one to meet them half way.
std::string open_with_rendezvous(TextingSample& texting) {
    const std::string code = texting.sample().open();
    const Reply reply = texting.sample().tell(
        code, R"({"step": "vehicle_assigned", "vehicle": "vehicle-3", "takes_over": "vehicle-4"})");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    Records& records = texting.sample().records();
    const auto record = records.find(code);
    const auto& at =
        texting.sample().snapshot().get()->facilities.facility(FacilityId{"luzhenni-clinic"}).point;
    StoredBody body;
    AcceptedTransport transport;
    transport.kind = dispatch::WayKind::rendezvous;
    transport.vehicles = {VehicleId{"vehicle-3"}, VehicleId{"vehicle-4"}};
    transport.meets_at = at;
    transport.meets = referral::Expected{parse_rfc3339("2026-03-04T10:25:00Z"),
                                         parse_rfc3339("2026-03-04T10:40:00Z")};
    transport.accepted_at = texting.clock().now();
    body.transport = transport;
    journal::Append append = entry_about(code, transport_planned_kind, body, record->version);
    append.at = texting.clock().now();
    append.who = "dispatcher";
    records.append(append);
    return code;
}

std::size_t alerts_about_orders(TextingSample& texting, const std::string& code) {
    const JsonValue shown = texting.sample().show(code);
    std::size_t count = 0;
    for (const JsonValue& alert : at(shown, "overdue").items()) {
        count += text_at(alert, "step") == "order" ? 1 : 0;
    }
    return count;
}

}  // namespace

TEST_CASE("The driver who takes her over on the way is told where, when and where to, at once") {
    TextingSample texting;
    const std::string code = open_with_rendezvous(texting);
    texting.outbox().work();
    const auto first = texting.gateway().texts_to(driver_number);
    REQUIRE(first.size() == 1);
    CHECK(has(first[0], "ORDER. Case " + code +
                            ": fetch woman at Kezhiru clinic, bring her to "
                            "Luzhenni clinic. Another vehicle takes her over "
                            "there at 10:25."));
    CHECK_FALSE(has(first[0], "2 arrived"));
    const auto second = texting.gateway().texts_to(other_driver_number);
    REQUIRE(second.size() == 1);
    CHECK(has(second[0], "ORDER. Case " + code + ": be at Luzhenni clinic by 10:25"));
    CHECK(has(second[0], "take woman over there"));
    CHECK(has(second[0], "Reply 7 got it, 5 set out, 6 with her, 1 left with her"));
    CHECK(referral::text_message_characters(second[0]).value() <=
          referral::two_text_messages_length);
    CHECK_FALSE(has(second[0], "165"));
    CHECK(texting.outbox().work() == 0);  // once
    SUBCASE("his digits are the steps of his vehicle, and he brings her") {
        CHECK(has(texting.text(other_driver_number, "5"), "Noted"));
        CHECK(texting.state(code) == "opened");
        CHECK(has(texting.text(driver_number, "1"), "Noted"));
        CHECK(texting.state(code) == "departed");
        CHECK(has(texting.text(other_driver_number, "6"), "Noted"));
        CHECK(text_at(texting.sample().show(code), "vehicle") == "vehicle-4");
        CHECK(has(texting.text(other_driver_number, "1"), "2 arrived"));
        CHECK(has(texting.text(other_driver_number, "2"), "Noted"));
        CHECK(texting.state(code) == "arrived");
        texting.outbox().work();
        // the first one has handed her over: his order has ended
        REQUIRE(texting.gateway().texts_to(driver_number).size() == 2);
        CHECK(has(texting.gateway().texts_to(driver_number)[1], "has ended"));
        CHECK(texting.gateway().texts_to(other_driver_number).size() == 1);
    }
    SUBCASE("when the plan does without him he is told so") {
        CHECK(texting.sample()
                  .tell(code, R"({"step": "vehicle_assigned", "vehicle": "vehicle-3"})")
                  .status == 200);
        texting.outbox().work();
        REQUIRE(texting.gateway().texts_to(other_driver_number).size() == 2);
        CHECK(has(texting.gateway().texts_to(other_driver_number)[1], "has ended"));
    }
}

TEST_CASE("Broken down with her aboard: the new driver is sent to the roadside, and may set out") {
    TextingSample texting;
    const std::string code = texting.open_with_vehicle("vehicle-3");
    CHECK(has(texting.text(driver_number, "1"), "Noted"));
    CHECK(texting.sample()
              .tell(code, R"({"step": "vehicle_assigned", "vehicle": "vehicle-4"})")
              .status == 200);
    texting.outbox().work();
    REQUIRE(texting.gateway().texts_to(other_driver_number).size() == 1);
    CHECK(has(texting.gateway().texts_to(other_driver_number)[0], "ORDER. Case " + code));
    for (const char* digit : {"5", "6", "1"}) {
        CAPTURE(digit);
        CHECK(has(texting.text(other_driver_number, digit), "Noted"));
        CHECK(has(texting.text(other_driver_number, digit), "Not noted"));  // once is enough
        CHECK(texting.state(code) == "departed");
    }
    CHECK(has(texting.text(other_driver_number, "2"), "Noted"));
    CHECK(texting.state(code) == "arrived");
}

TEST_CASE("An order that nobody answers for three minutes raises one alert; silence is no answer") {
    TextingSample texting;
    const std::string code = texting.open_with_vehicle();
    texting.outbox().work();
    texting.clock().pass(3min - 1s);
    texting.outbox().work();
    CHECK(alerts_about_orders(texting, code) == 0);
    SUBCASE("nobody answers: three minutes later it goes to a second person") {
        texting.clock().pass(1s);
        texting.outbox().work();
        texting.outbox().work();
        CHECK(alerts_about_orders(texting, code) == 1);
        const auto owner = [&] {
            const JsonValue shown = texting.sample().show(code);
            for (const JsonValue& alert : at(shown, "overdue").items()) {
                if (text_at(alert, "step") == "order") {
                    return text_at(alert, "owner");
                }
            }
            return std::string{"none"};
        };
        CHECK(owner() == "dispatcher");
        texting.clock().pass(3min);
        CHECK(owner() == "sender");
        // whatever he sends then ends it
        CHECK(has(texting.text(driver_number, "7"), "Noted"));
        CHECK(owner() == "none");
    }
    SUBCASE("he has it") {
        CHECK(has(texting.text(driver_number, "7"), "5 set out"));
        CHECK_FALSE(has(texting.text(driver_number, "7"), "7 got it"));
        CHECK(texting.state(code) == "opened");  // to have it is not to have set out
        texting.clock().pass(1h);
        texting.outbox().work();
        CHECK(alerts_about_orders(texting, code) == 0);
        CHECK_FALSE(text_at(at(texting.sample().show(code), "messages").items().back(),
                            "answered_at") == "null");
    }
    SUBCASE("he sets out") {
        CHECK(has(texting.text(driver_number, "5"), "Noted"));
        texting.clock().pass(1h);
        texting.outbox().work();
        CHECK(alerts_about_orders(texting, code) == 0);
    }
    SUBCASE("the dispatcher hears it by telephone and enters the time for him") {
        CHECK(
            texting.sample()
                .tell(code, R"({"step": "transport_sent", "occurred_at": "2026-03-04T09:41:00Z"})")
                .status == 200);
        texting.clock().pass(1h);
        texting.outbox().work();
        CHECK(alerts_about_orders(texting, code) == 0);
    }
    SUBCASE("the order is taken back") {
        CHECK(texting.sample().tell(code, R"({"step": "cancelled", "reason": "other"})").status ==
              200);
        texting.clock().pass(1h);
        texting.outbox().work();
        CHECK(alerts_about_orders(texting, code) == 0);
    }
}

TEST_CASE("A driver without an order has nothing to say that he has") {
    TextingSample texting;
    texting.open_with_vehicle();
    CHECK(has(texting.text(driver_number, "7"), "Not noted"));
}

TEST_CASE("A cancelled journey is called off, also when nothing else is to come of the case") {
    TextingSample texting;
    const std::string code = texting.open_with_vehicle();
    texting.outbox().work();
    CHECK(texting.sample().tell(code, R"({"step": "cancelled", "reason": "well"})").status == 200);
    texting.gateway().answer_next({not_now, not_now});
    texting.outbox().work();
    texting.clock().pass(10s);
    texting.outbox().work();
    CHECK(has(texting.gateway().texts_to(driver_number).back(), "order has ended"));
    CHECK(has(texting.gateway().texts_to(hospital_number).back(), "not coming"));
    CHECK(of_message(texting, code, "order_off", "state") == "sent");
}

TEST_CASE("What is no longer true before it was sent is not sent") {
    TextingSample texting;
    texting.gateway().answer_always(not_now);
    const std::string code = texting.sample().open();
    CHECK(texting.sample()
              .tell(code, R"({"step": "diverted", "place": "venzhoth-hospital"})")
              .status == 200);
    texting.outbox().work();
    CHECK(texting.gateway().texts_to(hospital_number).empty());
    CHECK(texting.gateway().texts_to(other_hospital_number).size() == 1);
}

namespace {

/// Nobody at the clinic can be texted about an alert: only what is meant for the ward goes out.
Keys without_clinic() {
    auto numbers = sample_numbers().numbers();
    std::erase_if(numbers, [](const Number& one) { return one.number == clinic_number; });
    return Keys{{}, std::move(numbers)};
}

}  // namespace

TEST_CASE("A gateway that is down is tried again after growing pauses, with the same id") {
    TextingSample texting{{}, {}, without_clinic()};
    texting.gateway().answer_always(not_now);
    const std::string code = texting.sample().open();
    // 5, 10, 20, 40, 80 and 160 seconds, then 300 each: ten attempts in 20 min 15 s
    const Seconds pauses[] = {5s, 10s, 20s, 40s, 80s, 160s, 300s, 300s, 300s};
    CHECK(texting.outbox().work() == 1);
    for (const Seconds pause : pauses) {
        CAPTURE(pause.count());
        texting.clock().pass(pause - 1s);
        CHECK(texting.outbox().work() == 0);
        texting.clock().pass(1s);
        CHECK(texting.outbox().work() == 1);
    }
    texting.clock().pass(5min);
    CHECK(texting.outbox().work() == 0);
    CHECK(of_message(texting, code, "expected", "state") == "undelivered");
    CHECK(of_message(texting, code, "expected", "trouble") == "http_500");
    const auto sent = texting.gateway().sent();
    REQUIRE(sent.size() == 10);
    for (const TextToSend& one : sent) {
        CHECK(one.id == sent[0].id);
    }
    CHECK(alerts(texting, code) == 1);
}

TEST_CASE("What has not gone out after two minutes raises one alert, while the attempts go on") {
    TextingSample texting{{}, {}, without_clinic()};
    texting.gateway().answer_always(not_now);
    const std::string code = texting.sample().open();
    texting.outbox().work();
    texting.clock().pass(119s);
    texting.outbox().work();
    CHECK(alerts(texting, code) == 0);
    texting.clock().pass(1s);
    texting.outbox().work();
    texting.outbox().work();
    CHECK(alerts(texting, code) == 1);
    texting.gateway().answer_always({Taken::Answer::taken, {}});
    texting.clock().pass(5min);
    CHECK(texting.outbox().work() == 1);
    CHECK(of_message(texting, code, "expected", "state") == "sent");
    CHECK(alerts(texting, code) == 1);
    // an alert is an event of the case: whoever follows it live sees it
    CHECK(at(texting.sample().show(code), "history").items().size() == 2);
}

TEST_CASE("A message that the gateway refuses for good is not tried again, and people are told") {
    TextingSample texting{{}, {}, without_clinic()};
    texting.gateway().answer_next({refused});
    const std::string code = texting.sample().open();
    texting.outbox().work();
    texting.clock().pass(10min);
    CHECK(texting.outbox().work() == 0);
    CHECK(of_message(texting, code, "expected", "trouble") == "http_422");
    CHECK(alerts(texting, code) == 1);
}

TEST_CASE("A receipt is believed once, in whatever order and however often it comes") {
    TextingSample texting;
    const std::string code = texting.sample().open();
    texting.outbox().work();
    const std::string id = texting.gateway().sent()[0].id;
    CHECK(texting.outbox().take_receipt(id, true, "").state == MessageState::delivered);
    const auto before = texting.sample().records().sequence();
    CHECK(texting.outbox().take_receipt(id, true, "").state == MessageState::delivered);
    CHECK(texting.outbox().take_receipt(id, false, "late").state == MessageState::delivered);
    CHECK(texting.sample().records().sequence() == before);
    CHECK_THROWS_AS(texting.outbox().take_receipt("K-unknown", true, ""), NotFound);
    CHECK_THROWS_AS(texting.outbox().take_receipt(code + "-unknown", true, ""), NotFound);
    CHECK(alerts(texting, code) == 0);
}

TEST_CASE("A receipt that says no, or that does not come where one is expected, raises an alert") {
    SendingSettings settings;
    settings.receipt_within = 10min;
    TextingSample texting{{}, settings};
    const std::string one = texting.sample().open();
    const std::string other = texting.sample().open();
    texting.outbox().work();
    const auto sent = texting.gateway().sent();
    REQUIRE(sent.size() == 2);
    const std::string first = sent[0].id.starts_with(one) ? sent[0].id : sent[1].id;
    CHECK(texting.outbox().take_receipt(first, false, "phone_off").state ==
          MessageState::undelivered);
    CHECK(alerts(texting, one) == 1);
    CHECK(alerts(texting, other) == 0);
    texting.clock().pass(10min);
    texting.outbox().work();
    CHECK(alerts(texting, other) == 1);
    // good news is welcome at any time
    CHECK(texting.outbox().take_receipt(first, true, "").state == MessageState::delivered);
}

TEST_CASE("A restart between attempts goes on where it was, and nothing is sent twice knowingly") {
    const PrivateFolder folder;
    std::string code;
    std::string id;
    {
        TextingSample texting{folder.path()};
        texting.gateway().answer_next({not_now});
        code = texting.sample().open();
        texting.outbox().work();
        id = texting.gateway().sent()[0].id;
    }
    {
        TextingSample again{folder.path()};
        CHECK(again.outbox().work() == 0);  // the pause is not over
        again.clock().pass(5s);
        CHECK(again.outbox().work() == 1);
        CHECK(again.gateway().sent()[0].id == id);
    }
    TextingSample third{folder.path()};
    third.clock().pass(1min);
    CHECK(third.outbox().work() == 0);
    CHECK(third.gateway().sent().empty());
    CHECK(of_message(third, code, "expected", "state") == "sent");
}

TEST_CASE("An attempt that a dying server left open is made again after a minute, not before") {
    const PrivateFolder folder;
    std::string code;
    {
        TextingSample texting{folder.path()};
        code = texting.sample().open();
        // the server dies while the gateway has the message: what it answered is never written
        class Dying final : public MessageSender {
            Taken send(const TextToSend&) override { throw std::runtime_error("power cut"); }
        } dying;
        Log log{std::make_shared<std::string>()};
        Outbox outbox{texting.sample().records(),
                      texting.sample().snapshot(),
                      [] { return std::make_shared<const Keys>(sample_numbers()); },
                      dying,
                      texting.clock(),
                      log,
                      {}};
        CHECK_THROWS_AS(outbox.work(), std::runtime_error);
    }
    TextingSample again{folder.path()};
    again.clock().pass(59s);
    CHECK(again.outbox().work() == 0);
    again.clock().pass(1s);
    CHECK(again.outbox().work() == 1);
    CHECK(of_message(again, code, "expected", "state") == "sent");
}

TEST_CASE("Two servers on one journal send each message once") {
    const PrivateFolder folder;
    TextingSample one{folder.path()};
    TextingSample other{folder.path()};
    one.sample().open();
    other.sample().records().catch_up();
    one.outbox().work();
    other.sample().records().catch_up();
    other.outbox().work();
    CHECK(one.gateway().sent().size() + other.gateway().sent().size() == 1);
}

TEST_CASE("Texting that begins on an old journal does not text about what is long past") {
    const PrivateFolder folder;
    {
        const RecordedSample before{folder.path()};
        before.open();
    }
    TextingSample texting{folder.path()};
    texting.clock().pass(31min);
    CHECK(texting.outbox().work() == 0);
    texting.sample().open();
    CHECK(texting.outbox().work() == 1);
}

TEST_CASE("A slip cannot run up a bill: so many messages in an hour and no more") {
    SendingSettings settings;
    settings.most_per_hour = 2;
    TextingSample texting{{}, settings};
    for (int i = 0; i < 4; ++i) {
        texting.sample().open();
    }
    texting.outbox().work();
    CHECK(texting.gateway().sent().size() == 2);
    texting.clock().pass(20min);
    texting.outbox().work();
    CHECK(texting.gateway().sent().size() == 2);
}

TEST_CASE("Running by itself it texts within a second of the opening") {
    TextingSample texting;
    texting.outbox().start(2);
    texting.sample().open();
    for (int i = 0; i < 100 && texting.gateway().sent().empty(); ++i) {
        std::this_thread::sleep_for(std::chrono::milliseconds{50});
    }
    CHECK(texting.gateway().sent().size() == 1);
}

}  // namespace waybourne::server::test
