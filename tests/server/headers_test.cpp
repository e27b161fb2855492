#include <doctest/doctest.h>

#include "tests/server/guarded_sample.hpp"

// Headers: OWASP HTTP Headers Cheat Sheet; Cache-Control: RFC 9111 section 5.2.

namespace waybourne::server::test {

TEST_CASE("Every answer, also a refusal, carries the headers that keep browsers careful") {
    GuardedSample sample;
    const std::string bearer = "Bearer " + sample.token(Role::health_worker);
    const std::vector<Ask> asks{
        {"GET", "/livez", ""},
        {"GET", "/v1/protocol", bearer},
        {"GET", "/v1/protocol", ""},
        {"GET", "/metrics", bearer},
        {"GET", "/nothing", bearer},
        {"POST", "/v1/tokens", "Waybourne-Key x", "{}"},
        {"POST", "/v1/assessments", bearer, R"({"findings": {}})"},
        {"POST", "/v1/assessments", bearer, R"({"findings": )"},
        {"BREW", "/v1/protocol", bearer},
    };
    for (const Ask& ask : asks) {
        const Reply reply = sample.send(ask);
        CAPTURE(ask.path);
        CAPTURE(reply.status);
        CHECK(reply.field("X-Content-Type-Options") == "nosniff");
        CHECK(reply.field("Referrer-Policy") == "no-referrer");
        CHECK(reply.field("Content-Security-Policy").starts_with("default-src 'none'"));
        CHECK(reply.field("Access-Control-Allow-Origin").empty());
        CHECK(reply.field("Strict-Transport-Security").empty());  // means nothing without TLS
        CHECK(reply.field("Server").empty());
        const bool is_open = reply.status == 200 && ask.method == "GET";
        CHECK(reply.field("Cache-Control") == (is_open ? "no-cache" : "no-store"));
    }
}

}  // namespace waybourne::server::test
