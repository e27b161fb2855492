#include "server/security/audit.hpp"

#include <doctest/doctest.h>

#include "journal/open_journal.hpp"
#include "referral/referral_code.hpp"
#include "server/http/resources.hpp"
#include "server/problem.hpp"
#include "tests/server/recorded_sample.hpp"
#include "vocabulary/error.hpp"

// Who has read what: our own rules (docs/security.md).

namespace waybourne::server::test {

namespace {

Read read_of(const std::string& path) {
    return {parse_rfc3339(sample_now), "kezhiru-phone-1", path, {"7K3M9QXA"}};
}

}  // namespace

TEST_CASE("Who reads about a woman stands in the journal: who, when and which case, nothing else") {
    const PrivateFolder folder;
    const auto journal = journal::open_journal((folder.path() / "journal.db").string());
    auto log_text = std::make_shared<std::string>();
    Log log{log_text};
    AuditTrail trail{[&](const journal::Append& one) { journal->append(one); }, *journal, log};
    trail.note(read_of("/v1/referrals"));
    trail.note(read_of("/v1/referrals/7K3M9QXA"));
    const auto envelopes = journal->read(0, 10);
    REQUIRE(envelopes.size() == 2);
    CHECK(envelopes[0].who == "kezhiru-phone-1");
    CHECK(envelopes[0].kind == "audit.read");
    CHECK(envelopes[0].body == R"({"path":"/v1/referrals","shown":["7K3M9QXA"]})");
    const ReadPage page = reads_of_day(*journal, "2026-03-04", 0, 1);
    REQUIRE(page.reads.size() == 1);
    CHECK(page.reads[0].second == read_of("/v1/referrals"));
    REQUIRE(page.next);
    CHECK(reads_of_day(*journal, "2026-03-04", *page.next, 10).reads.size() == 1);
    CHECK(reads_of_day(*journal, "2026-03-05", 0, 10).reads.empty());
    CHECK(log_text->empty());
}

TEST_CASE(
    "A full disk hides no woman from those who wait for her, and the reading is noted later") {
    const PrivateFolder folder;
    const auto journal = journal::open_journal((folder.path() / "journal.db").string());
    auto log_text = std::make_shared<std::string>();
    Log log{log_text};
    bool is_full = true;
    AuditTrail trail{[&](const journal::Append& one) {
                         if (is_full) {
                             throw journal::StorageFull("the disk is full");
                         }
                         journal->append(one);
                     },
                     *journal, log};
    trail.note(read_of("/v1/referrals/7K3M9QXA"));
    CHECK(trail.kept_back() == 1);
    CHECK(log_text->find("audit_not_written") != std::string::npos);
    CHECK(log_text->find("7K3M9QXA") == std::string::npos);
    is_full = false;
    trail.note(read_of("/v1/referrals"));
    CHECK(trail.kept_back() == 0);
    CHECK(journal->head().sequence == 2);
    CHECK(journal->read(0, 1).front().body->find("7K3M9QXA") != std::string::npos);
}

TEST_CASE("Who is refused because others were quicker has seen the case: that is noted, too") {
    RecordedSample sample;
    const std::string code = sample.open();
    Log log{std::make_shared<std::string>()};
    AuditTrail trail{[&](const journal::Append& one) { sample.records().append(one); },
                     sample.records().journal(), log};
    sample.application().audit = &trail;
    const EndpointTable table{all_endpoints(sample.application())};
    const auto send = [&](const std::string& method, const std::string& path,
                          const std::string& body, const std::string& tag) {
        const auto match = table.find_path(path);
        REQUIRE(match.has_value());
        HttpRequest request{"t", method, match->path_values, body};
        request.caller = {"ward-desk", Role::facility, {FacilityId{"sorvrith-hospital"}}, false};
        request.if_match = tag;
        try {
            return table.find(*match, method)->handle(request).status;
        } catch (...) {
            return to_problem(std::current_exception()).status;
        }
    };
    const auto noted = [&] {
        const auto page = reads_of_day(sample.records().journal(), "2026-03-04", 0, 100);
        return page.reads.empty() ? Read{} : page.reads.back().second;
    };
    const std::string one = "/v1/referrals/" + code;
    const std::string informed = R"({"step": "informed"})";
    // nothing shown, nothing noted
    CHECK(send("POST", one + "/events", informed, "") == 428);
    CHECK(send("GET", "/v1/referrals/" + referral::to_referral_code(777), "", "") == 404);
    CHECK(noted() == Read{});
    // the answer holds the case as it is now
    CHECK(send("POST", one + "/events", informed, "\"0\"") == 412);
    CHECK(noted() == Read{sample.clock().now(), "ward-desk", one + "/events", {code}});
    // that she has not arrived is told, also in FHIR's words
    const std::string tag = sample.send("GET", one).field("ETag");
    sample.clock().pass(1s);
    CHECK(send("POST", one + "/events", R"({"step": "received"})", tag) == 409);
    CHECK(noted() == Read{sample.clock().now(), "ward-desk", one + "/events", {code}});
    sample.clock().pass(1s);
    CHECK(send("PUT", one + "/fhir/task", R"({"resourceType": "Task", "status": "completed",
        "intent": "order"})",
               tag) == 409);
    CHECK(noted() == Read{sample.clock().now(), "ward-desk", one + "/fhir/task", {code}});
    // a path that names no case: the entry does
    const std::string readiness = "/v1/facilities/sorvrith-hospital/readiness";
    CHECK(send("POST", readiness, R"({"reply": {"code": ")" + code + R"(", "answer": "accepted"}})",
               tag) == 200);
    CHECK(noted() == Read{sample.clock().now(), "ward-desk", readiness, {code}});
    std::string sent = opening_body();
    sent.replace(sent.find(R"("sender": "kezhiru-clinic")"), 26,
                 R"("sender": "sorvrith-hospital")");
    CHECK(send("POST", "/v1/referrals", sent, "") == 201);
    CHECK(noted().path == "/v1/referrals");
    REQUIRE(noted().shown.size() == 1);
    CHECK(sample.send("GET", "/v1/referrals/" + noted().shown.front()).status == 200);
}

TEST_CASE("Every route that shows a stored person is noted, with its path and the caller") {
    const PrivateFolder folder;
    const auto journal = journal::open_journal((folder.path() / "journal.db").string());
    Log log{std::make_shared<std::string>()};
    SettableClock clock;
    AuditTrail trail{[&](const journal::Append& one) { journal->append(one); }, *journal, log};
    std::size_t noted = 0;
    for (const Access& row : access_table()) {
        CAPTURE(row.pattern);
        const Endpoint plain{std::string{row.method}, std::string{row.pattern}, Privacy::personal,
                             [](const HttpRequest&) { return HttpResponse{}; }};
        HttpRequest request;
        request.caller.who = "dispatch-desk";
        request.path_values = {"7K3M9QXA"};
        const bool has_value = row.pattern.find('{') != std::string_view::npos;
        if (!has_value) {
            request.path_values.clear();
        }
        audited(plain, trail, clock).handle(request);
        noted += row.shows_a_person ? 1 : 0;
        CHECK(journal->head().sequence == static_cast<journal::Sequence>(noted));
    }
    MESSAGE(noted << " routes show a stored person");
}

}  // namespace waybourne::server::test
