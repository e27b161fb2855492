#include "server/security/access.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "tests/server/guarded_sample.hpp"

// Who may ask what. The table of operations and roles is read from docs/openapi.yaml, so that a
// route nobody has decided about fails here. Roles: our own (docs/security.md).

namespace waybourne::server::test {

namespace {

std::string name_of(const Described& operation) {
    return operation.method + " " + operation.pattern;
}

bool may(const Described& operation, std::string_view role) {
    return std::find(operation.roles.begin(), operation.roles.end(), role) != operation.roles.end();
}

std::string filled(std::string pattern) {
    if (pattern.starts_with("/v1/map/")) {
        return "/v1/map/12/2048/2048";
    }
    if (pattern.starts_with("/page/")) {
        return pattern == "/page/{file}" ? "/page/app.js" : "/page/texts/en.json";
    }
    for (std::size_t at = pattern.find('{'); at != std::string::npos; at = pattern.find('{')) {
        pattern.replace(at, pattern.find('}') - at + 1, "kezhiru-clinic");
    }
    return pattern;
}

Ask ask_for(const Described& operation, const std::string& authorization) {
    return {operation.method, filled(operation.pattern), authorization,
            operation.method == "GET" ? "" : "{}"};
}

}  // namespace

TEST_CASE("Every route says who may use it, in the API reference and in the server alike") {
    std::set<std::string> described;
    for (const Described& operation : described_operations()) {
        CAPTURE(name_of(operation));
        described.insert(name_of(operation));
        CHECK_FALSE(operation.roles.empty());
        const Access* access = find_access(operation.method, operation.pattern);
        REQUIRE_MESSAGE(
            access != nullptr,
            "nobody has decided who may use it: add a row in server/security/access.cpp");
        CHECK(access->audience.is_anyone() == may(operation, "anyone"));
        for (const Role role : all_roles) {
            CAPTURE(to_name(role));
            CHECK(access->audience.has(role) ==
                  (may(operation, to_name(role)) || may(operation, "anyone")));
        }
    }
    for (const Access& row : access_table()) {
        CHECK_MESSAGE(
            described.count(std::string{row.method} + " " + std::string{row.pattern}) == 1,
            row.method << " " << row.pattern << " stands in the table and nowhere else");
    }
}

TEST_CASE("Each role gets what its row says and nothing else, on every route") {
    GuardedSample sample;
    std::size_t tried = 0;
    for (const Role role : all_roles) {
        const std::string bearer = "Bearer " + sample.token(role);
        for (const Described& operation : described_operations()) {
            CAPTURE(to_name(role));
            CAPTURE(name_of(operation));
            const bool is_allowed = may(operation, to_name(role)) || may(operation, "anyone");
            const int status = sample.send(ask_for(operation, bearer)).status;
            if (operation.pattern == "/v1/tokens") {
                CHECK(status == 401);  // it takes keys, and a token is none
            } else if (is_allowed) {
                CHECK_MESSAGE((status != 401 && status != 403 && status != 0), status);
            } else {
                CHECK(status == 403);
            }
            ++tried;
        }
    }
    MESSAGE(tried << " pairs of role and route tried");
}

TEST_CASE("Without a token only what is open to everybody is answered, and nothing else is told") {
    const GuardedSample sample;
    std::set<std::string> refusals;
    for (const Described& operation : described_operations()) {
        CAPTURE(name_of(operation));
        const Reply reply = sample.send(ask_for(operation, ""));
        if (operation.pattern == "/v1/tokens") {
            CHECK(reply.status == 401);
        } else if (operation.pattern == "/v1/texts" || operation.pattern == "/v1/receipts") {
            CHECK(reply.status ==
                  503);  // no gateway here; gateway_test.cpp has one with its secret
        } else if (may(operation, "anyone")) {
            CHECK(reply.status == 200);
        } else {
            CHECK(reply.status == 401);
            CHECK(reply.field("WWW-Authenticate") == "Bearer realm=\"waybourne\"");
            refusals.insert(reply.body);
        }
    }
    CHECK(refusals.size() == 1);  // the same words whatever lies behind
}

TEST_CASE("A planner is shown no person: no route that shows one is open to planners") {
    for (const Access& row : access_table()) {
        CAPTURE(row.pattern);
        if (row.shows_a_person) {
            CHECK_FALSE(row.audience.has(Role::planner));
            CHECK_FALSE(row.audience.has(Role::administrator));
            CHECK_FALSE(row.audience.is_anyone());
        }
    }
    CHECK_FALSE(find_access("POST", "/v1/assessments")->audience.has(Role::planner));
    CHECK_FALSE(find_access("POST", "/v1/recommendations")->audience.has(Role::planner));
}

TEST_CASE("What stands in no row is open to nobody") {
    CHECK(find_access("GET", "/v1/something-new") == nullptr);
    CHECK(find_access("POST", "/v1/facilities") == nullptr);
    CHECK(find_access("HEAD", "/v1/facilities") == find_access("GET", "/v1/facilities"));
}

}  // namespace waybourne::server::test
