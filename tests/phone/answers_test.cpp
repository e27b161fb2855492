#include "phone/answers.hpp"

#include <doctest/doctest.h>

#include "server/answer_json.hpp"
#include "server/json/request.hpp"
#include "server/load_district.hpp"
#include "server/program_files.hpp"

namespace waybourne::phone {

namespace {

const Instant now = parse_rfc3339("2026-03-04T09:40:00Z");

const server::Snapshot& sample() {
    static const auto snapshot = [] {
        server::LoadOptions options;
        options.folder = server::program_folder() / "maps-sample";
        options.now = now;
        return server::load_district(options);
    }();
    return *snapshot;
}

Answer ask(std::string_view method, std::string_view path, std::string_view body = "") {
    return answer(&sample(), {method, path, body}, now);
}

}  // namespace

TEST_CASE("The phone answers under the paths of the server, with its words") {
    const std::string woman = R"({"findings": {"status": "in_labour", "convulsions": "yes"}})";
    CHECK(ask("POST", "/v1/assessments", woman) ==
          Answer{200, server::assessment_json(sample(), woman, now, sample().catalogue)});
    const std::string request =
        R"({"findings": {"convulsions": "yes"}, "from": {"facility": "kezhiru-clinic"}})";
    CHECK(ask("POST", "/v1/recommendations", request) ==
          Answer{200, server::recommendation_json(sample(),
                                                  server::parse_recommendation_request(request),
                                                  now, sample().catalogue)});
    const std::string way =
        R"({"from": {"facility": "kezhiru-clinic"}, "to": {"facility": "sorvrith-hospital"}})";
    CHECK(ask("POST", "/v1/routes", way) == Answer{200, server::route_json(sample(), way, now)});
    CHECK(ask("GET", "/v1/protocol") ==
          Answer{200, server::protocol_json(sample(), sample().catalogue)});
    CHECK(ask("GET", "/v1/facilities") == Answer{200, server::facilities_json(sample())});
    const FacilityId clinic{"kezhiru-clinic"};
    CHECK(ask("GET", "/v1/facilities/kezhiru-clinic") ==
          Answer{200, server::facility_json(sample(), clinic)});
    CHECK(ask("GET", "/v1/facilities/kezhiru-clinic/readiness") ==
          Answer{200, server::readiness_json(sample(), clinic, now, sample().catalogue)});
}

TEST_CASE("The phone answers in the language of whoever holds it") {
    const std::string woman = R"({"findings": {"status": "in_labour", "convulsions": "yes"}})";
    const server::Snapshot& snapshot = sample();
    for (const Catalogue& catalogue : snapshot.other_languages) {
        CAPTURE(catalogue.language());
        const Answer told =
            answer(&snapshot, {"POST", "/v1/assessments", woman, catalogue.language()}, now);
        CHECK(told == Answer{200, server::assessment_json(snapshot, woman, now, catalogue)});
        CHECK_FALSE(told == ask("POST", "/v1/assessments", woman));
    }
}

TEST_CASE("What the phone refuses it refuses as a problem, in the server's words") {
    const Answer wrong = ask("POST", "/v1/assessments", R"({"findings": {"convulsoins": "yes"}})");
    CHECK(wrong.status == 400);
    CHECK(wrong.text.find("/problems/invalid-input") != std::string::npos);
    CHECK(wrong.text.find("convulsions") != std::string::npos);
    CHECK(ask("GET", "/v1/facilities/nowhere").status == 404);
}

TEST_CASE("What only a server can answer does not exist on the phone") {
    for (const char* path : {"/v1/referrals", "/v1/facilities/", "/v1/facilities/a/b",
                             "/v1/facilitiesx", "/v1/audit", ""}) {
        CAPTURE(path);
        CHECK(ask("GET", path).status == 404);
        CHECK(ask("POST", path).status == 404);
    }
    CHECK(ask("DELETE", "/v1/protocol").status == 404);
}

TEST_CASE("A phone without a pack says so") {
    const Answer none = answer(nullptr, {"GET", "/v1/protocol", ""}, now);
    CHECK(none.status == 503);
    CHECK(none.text.find("no district pack") != std::string::npos);
}

}  // namespace waybourne::phone
