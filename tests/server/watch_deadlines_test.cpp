#include <doctest/doctest.h>

#include <thread>

#include "tests/server/recorded_sample.hpp"

// Deadlines: docs/referral-life.md, "What is overdue". Server-sent events: the HTML standard,
// section 9.2.

namespace waybourne::server::test {

namespace {

/// Reads a stream until `wanted` is in it, or three seconds have passed.
std::string hear(RawClient& client, const std::string& wanted) {
    std::string heard;
    for (int i = 0; i < 30 && heard.find(wanted) == std::string::npos; ++i) {
        heard += client.receive(std::chrono::milliseconds{100});
    }
    return heard;
}

std::string live_request(const std::string& last) {
    return "GET /v1/live HTTP/1.1\r\nHost: localhost\r\n" +
           (last.empty() ? "" : "Last-Event-ID: " + last + "\r\n") + "\r\n";
}

std::size_t count_of(const std::string& text, const std::string& what) {
    std::size_t count = 0;
    for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) {
        ++count;
    }
    return count;
}

}  // namespace

TEST_CASE("An overdue step raises one alert, however often one looks and whoever starts again") {
    const PrivateFolder folder;
    std::string code;
    {
        RecordedSample sample{folder.path()};
        code = sample.open();
        CHECK(sample.watch().look() == 0);
        sample.clock().pass(6min);  // the hospital should have been told within five minutes
        CHECK(sample.watch().look() == 1);
        CHECK(sample.watch().look() == 0);
        const JsonValue now = sample.show(code);
        REQUIRE(at(now, "overdue").items().size() == 1);
        CHECK(text_at(at(now, "overdue").items()[0], "step") == "inform");
        CHECK(text_at(at(now, "overdue").items()[0], "owner") == "sender");
    }
    RecordedSample again{folder.path()};
    again.clock().pass(7min);
    CHECK(again.watch().look() == 0);
    const JsonValue later = again.show(code);
    CHECK(at(later, "alerts").items().size() == 1);
    // nobody took it on: three minutes later the next one has it
    again.clock().pass(4min);
    CHECK(text_at(at(again.show(code), "overdue").items()[0], "owner") == "dispatcher");
}

TEST_CASE("Two servers on one journal raise an alert once") {
    const PrivateFolder folder;
    RecordedSample one{folder.path()};
    RecordedSample other{folder.path()};
    const std::string code = one.open();
    one.clock().pass(6min);
    other.clock().pass(6min + 1s);
    CHECK(one.watch().look() == 1);
    CHECK(other.watch().look() == 0);  // has not heard of the referral yet
    other.records().catch_up();
    CHECK(other.watch().look() == 0);
    CHECK(other.send("GET", "/v1/referrals/" + code).status == 200);
}

TEST_CASE("An alert does not make others' sight of the referral out of date") {
    RecordedSample sample;
    const std::string code = sample.open();
    const std::string seen =
        "If-Match: " + sample.send("GET", "/v1/referrals/" + code).field("ETag") + "\r\n";
    sample.clock().pass(6min);
    CHECK(sample.watch().look() == 1);
    CHECK(sample.send("POST", "/v1/referrals/" + code + "/events", R"({"step": "informed"})", seen)
              .status == 200);
}

TEST_CASE("Who does not arrive is lost from sight, until somebody hears of her") {
    RecordedSample sample;
    const std::string code = sample.open();
    CHECK(sample.tell(code, R"({"step": "departed"})").status == 200);
    sample.clock().pass(6h);
    CHECK(sample.watch().look() > 0);
    CHECK(text_at(sample.show(code), "state") == "lost_contact");
    CHECK(sample.tell(code, R"({"step": "contact_regained"})").status == 200);
    CHECK(text_at(sample.show(code), "state") == "departed");
}

TEST_CASE("The watch goes by itself") {
    RecordedSample sample;
    const std::string code = sample.open();
    sample.clock().pass(6min);
    sample.watch().start(std::chrono::milliseconds{20});
    bool is_raised = false;
    for (int i = 0; i < 100 && !is_raised; ++i) {
        std::this_thread::sleep_for(std::chrono::milliseconds{20});
        is_raised = !at(sample.show(code), "alerts").items().empty();
    }
    CHECK(is_raised);
}

TEST_CASE("A dispatcher's view follows, and goes on where it was cut off") {
    RecordedSample sample;
    const std::string code = sample.open();
    RawClient first{sample.port()};
    first.send(live_request(""));
    CHECK(hear(first, ": following").find("text/event-stream") != std::string::npos);
    CHECK(sample.tell(code, R"({"step": "informed"})").status == 200);
    CHECK(hear(first, "\"informed\"").find("id: 2\n") != std::string::npos);
    CHECK(sample.tell(code, R"({"step": "accepted"})").status == 200);
    RawClient second{sample.port()};
    second.send(live_request("1"));
    const std::string heard = hear(second, "\"accepted\",\"state\"");
    CHECK(count_of(heard, "event: referral") == 2);
    CHECK(heard.find("\"what\":\"informed\"") != std::string::npos);
    CHECK(heard.find("165") == std::string::npos);  // nothing of what was found
}

TEST_CASE("Only so many follow at once, and the place of one who has gone is free again") {
    HttpSettings settings;
    settings.followers = 2;
    RecordedSample sample{{}, settings};
    auto one = std::make_unique<RawClient>(sample.port());
    one->send(live_request(""));
    hear(*one, ": following");
    RawClient two{sample.port()};
    two.send(live_request(""));
    hear(two, ": following");
    CHECK(sample.send("GET", "/v1/live").status == 503);
    CHECK(sample.send("GET", "/livez").status == 200);
    one.reset();
    bool is_free = false;
    for (int i = 0; i < 40 && !is_free; ++i) {
        std::this_thread::sleep_for(std::chrono::milliseconds{50});
        RawClient next{sample.port()};
        next.send(live_request(""));
        is_free = hear(next, ": following").find("200 OK") != std::string::npos;
    }
    CHECK(is_free);
}

}  // namespace waybourne::server::test
