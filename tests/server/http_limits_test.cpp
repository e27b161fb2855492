#include <doctest/doctest.h>

#include "server/json/value.hpp"
#include "tests/server/served_sample.hpp"

// What a server must survive. Statuses: RFC 9110; problem details: RFC 9457; the limits are our
// own.

namespace waybourne::server::test {

namespace {

std::string problem_type(const Reply& reply) {
    const JsonValue body = parse_json(reply.body);
    const JsonValue* type = body.find("type");
    return type == nullptr ? "" : type->text();
}

struct BadRequest {
    const char* what;
    std::string bytes;
    int status;
    const char* type;
};

std::string head(const std::string& lines) {
    return lines + "\r\nHost: 127.0.0.1\r\n\r\n";
}

}  // namespace

TEST_CASE("One address cannot take every connection: others are still answered") {
    HttpSettings settings;
    settings.connections_of_one_address = 3;
    const ServedSample sample{settings};
    std::vector<std::unique_ptr<RawClient>> held;
    for (int i = 0; i < 3; ++i) {
        held.push_back(std::make_unique<RawClient>(sample.port(), "127.0.0.2"));
        held.back()->send("GET /livez HTTP/1.1\r\nHost: localhost\r\n\r\n");
        CHECK(parse_reply(held.back()->receive()).status == 200);
    }
    RawClient one_more{sample.port(), "127.0.0.2"};
    one_more.send("GET /livez HTTP/1.1\r\nHost: localhost\r\n\r\n");
    CHECK(parse_reply(one_more.receive()).status == 503);
    CHECK(get(sample.port(), "/livez").status == 200);  // from 127.0.0.1
    held.pop_back();
    bool is_answered = false;
    for (int i = 0; i < 100 && !is_answered; ++i) {
        RawClient again{sample.port(), "127.0.0.2"};
        again.send("GET /livez HTTP/1.1\r\nHost: localhost\r\n\r\n");
        is_answered = parse_reply(again.receive()).status == 200;
    }
    CHECK(is_answered);
}

TEST_CASE("Whatever is wrong with a request, the answer is a problem that says so") {
    const ServedSample sample;
    const std::string json_head = "\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n";
    const std::vector<BadRequest> requests{
        {"a path nobody serves", head("GET /v2/nothing HTTP/1.1"), 404, "/problems/not-found"},
        {"a facility nobody knows", head("GET /v1/facilities/nowhere HTTP/1.1"), 404,
         "/problems/not-found"},
        {"a zero byte in a path", head("GET /v1/referrals/%00 HTTP/1.1"), 404,
         "/problems/not-found"},
        {"a method the path does not take", head("GET /v1/assessments HTTP/1.1"), 405,
         "/problems/method-not-allowed"},
        {"deleting", head("DELETE /v1/facilities HTTP/1.1"), 405, "/problems/method-not-allowed"},
        {"a query", head("GET /v1/facilities?name=x HTTP/1.1"), 400, "/problems/malformed-request"},
        {"a path over 256 characters", head("GET /" + std::string(256, 'a') + " HTTP/1.1"), 414,
         "/problems/path-too-long"},
        {"a path over the library's own limit",
         head("GET /" + std::string(9000, 'a') + " HTTP/1.1"), 414, "/problems/path-too-long"},
        {"a line that is no request", head("HELLO"), 400, "/problems/malformed-request"},
        {"a host of somewhere else", "GET /livez HTTP/1.1\r\nHost: example.org\r\n\r\n", 421,
         "/problems/misdirected-request"},
        {"header fields over 16 KiB",
         "GET /livez HTTP/1.1\r\nHost: localhost\r\nA: " + std::string(6000, 'a') +
             "\r\nB: " + std::string(6000, 'b') + "\r\nC: " + std::string(6000, 'c') + "\r\n\r\n",
         431, "/problems/headers-too-large"},
        {"a body that is no JSON by its type", post_bytes("/v1/assessments", "{}", "text/plain"),
         415, "/problems/unsupported-media-type"},
        {"a packed body",
         "POST /v1/assessments HTTP/1.1" + json_head +
             "Content-Encoding: gzip\r\nContent-Length: 2\r\n\r\n{}",
         415, "/problems/unsupported-media-type"},
        {"a body without a length", "POST /v1/assessments HTTP/1.1" + json_head + "\r\n", 411,
         "/problems/length-required"},
        {"two lengths",
         "POST /v1/assessments HTTP/1.1" + json_head +
             "Content-Length: 2\r\nContent-Length: 3\r\n\r\n{}",
         400, "/problems/malformed-request"},
        {"a length and pieces",
         "POST /v1/assessments HTTP/1.1" + json_head +
             "Content-Length: 2\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
         400, "/problems/malformed-request"},
        {"a length that is no number",
         "POST /v1/assessments HTTP/1.1" + json_head + "Content-Length: -2\r\n\r\n{}", 400,
         "/problems/malformed-request"},
        {"a body over 64 KiB, announced",
         "POST /v1/assessments HTTP/1.1" + json_head + "Content-Length: 65537\r\n\r\n", 413,
         "/problems/body-too-large"},
        {"a body of a terabyte, announced",
         "POST /v1/assessments HTTP/1.1" + json_head + "Content-Length: 999999999999\r\n\r\n", 413,
         "/problems/body-too-large"},
        {"a body where none belongs",
         "GET /livez HTTP/1.1\r\nHost: localhost\r\nContent-Length: 2\r\n\r\n{}", 400,
         "/problems/malformed-request"},
        {"half a JSON", post_bytes("/v1/assessments", R"({"findings": )"), 400,
         "/problems/invalid-input"},
        {"lists in lists without end", post_bytes("/v1/assessments", std::string(60000, '[')), 400,
         "/problems/invalid-input"},
    };
    for (const BadRequest& request : requests) {
        CAPTURE(request.what);
        RawClient client{sample.port()};
        client.send(request.bytes);
        const Reply reply = parse_reply(client.receive());
        CHECK(reply.status == request.status);
        REQUIRE_MESSAGE(!reply.body.empty(), request.what);
        CHECK(reply.field("Content-Type") == "application/problem+json");
        CHECK(reply.field("Cache-Control") == "no-store");
        CHECK(problem_type(reply) == request.type);
    }
    CHECK(get(sample.port(), "/livez").status == 200);
    const JsonValue zero_byte = parse_json(get(sample.port(), "/v1/facilities/a%00b").body);
    CHECK(zero_byte.find("detail")->text() == "nothing is served under this path");
}

TEST_CASE("A body in pieces that grows past the limit is refused") {
    const ServedSample sample;
    RawClient client{sample.port()};
    client.send(
        "POST /v1/assessments HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
        "Transfer-Encoding: chunked\r\n\r\n");
    for (int i = 0; i < 10; ++i) {
        client.send("4000\r\n" + std::string(0x4000, ' ') + "\r\n");
    }
    CHECK(parse_reply(client.receive()).status == 413);
}

TEST_CASE("A request that drips byte by byte is cut off as a whole, not byte by byte") {
    HttpSettings settings;
    settings.receive_limit = std::chrono::milliseconds{400};
    const ServedSample sample{settings};
    RawClient client{sample.port()};
    const auto began = std::chrono::steady_clock::now();
    bool is_taken = client.send("GET /livez HTTP/1.1\r\nHost: localhost\r\nX: ");
    for (int i = 0; i < 100 && is_taken; ++i) {
        std::this_thread::sleep_for(std::chrono::milliseconds{50});
        is_taken = client.send("a") && !client.is_closed(std::chrono::milliseconds{0});
    }
    CHECK_FALSE(is_taken);
    CHECK(std::chrono::steady_clock::now() - began < std::chrono::seconds{4});
}

TEST_CASE("While slow clients hold every thread, others wait no longer than the limit") {
    HttpSettings settings;
    settings.connections = 4;
    settings.receive_limit = std::chrono::milliseconds{500};
    const ServedSample sample{settings};
    std::vector<std::unique_ptr<RawClient>> slow;
    for (int i = 0; i < 8; ++i) {
        slow.push_back(std::make_unique<RawClient>(sample.port()));
        slow.back()->send("POST /v1/assessments HTTP/1.1\r\nHost: local");
    }
    CHECK(get(sample.port(), "/livez").status == 200);
}

TEST_CASE("Whatever parts are asked for, one whole answer comes: no request makes it longer") {
    // A server may ignore Range: RFC 9110 section 14.2.
    const ServedSample sample;
    const Reply whole = get(sample.port(), "/openapi.yaml");
    std::string same_part = "bytes=0-";
    for (int i = 0; i < 1'000; ++i) {
        same_part += ",0-";
    }
    for (const std::string& range : {std::string{"bytes=0-10"}, std::string{"bytes=0-10,20-30"},
                                     std::string{"bytes=999999999-"}, same_part}) {
        CAPTURE(range.substr(0, 20));
        RawClient client{sample.port()};
        client.send("GET /openapi.yaml HTTP/1.1\r\nHost: localhost\r\nRange: " + range +
                    "\r\n\r\n");
        const Reply reply = parse_reply(client.receive());
        CHECK(reply.status == 200);
        CHECK(reply.body.size() == whole.body.size());
        CHECK(reply.body == whole.body);
        CHECK(reply.field("Content-Type") == whole.field("Content-Type"));
        CHECK(reply.field("Content-Range").empty());
    }
}

TEST_CASE("Several requests go over one connection") {
    const ServedSample sample;
    RawClient client{sample.port()};
    for (int i = 0; i < 3; ++i) {
        client.send("GET /livez HTTP/1.1\r\nHost: localhost\r\n\r\n");
        CHECK(parse_reply(client.receive()).status == 200);
    }
}

TEST_CASE("Stopping lets the request that has begun finish") {
    ServedSample sample;
    RawClient client{sample.port()};
    // "100 Continue" says that the request has begun (RFC 9110 section 10.1.1)
    client.send(
        "POST /v1/assessments HTTP/1.1\r\nHost: localhost\r\n"
        "Content-Type: application/json\r\nContent-Length: 16\r\n"
        "Expect: 100-continue\r\n\r\n");
    REQUIRE(parse_reply(client.receive()).status == 100);
    std::thread stopping{[&] { sample.stop(); }};
    std::this_thread::sleep_for(std::chrono::milliseconds{100});
    client.send(R"({"findings": {}})");
    CHECK(parse_reply(client.receive()).status == 200);
    stopping.join();
    CHECK_THROWS(RawClient{sample.port()});
}

TEST_CASE("Only this machine's own names count as this machine") {
    // 127.0.0.0/8 and ::1: RFC 1122 section 3.2.1.3, RFC 4291 section 2.5.3.
    CHECK(is_loopback("127.0.0.1"));
    CHECK(is_loopback("127.8.9.10"));
    CHECK(is_loopback("localhost"));
    CHECK(is_loopback("::1"));
    CHECK_FALSE(is_loopback("0.0.0.0"));
    CHECK_FALSE(is_loopback("127.0.0.1.example.org"));
    CHECK_FALSE(is_loopback("192.168.1.4"));
}

}  // namespace waybourne::server::test
