#include "server/referrals/retention.hpp"

#include <doctest/doctest.h>

#include "journal/open_journal.hpp"
#include "journal/verify.hpp"
#include "tests/server/program_run.hpp"
#include "tests/server/recorded_sample.hpp"

// Personal data goes when its time is over: 30 days after the end of a case, two years after a
// reading. Our own proposals (docs/security.md).

namespace waybourne::server::test {

namespace {

ProgramRun redact(std::vector<std::string> more) {
    more.insert(more.begin(), {"journal", "redact"});
    return run_program(std::move(more));
}

void end(const RecordedSample& sample, const std::string& code) {
    const Reply reply = sample.tell(code, R"({"step": "cancelled", "reason": "well again"})");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
}

}  // namespace

TEST_CASE("A month after its end a case loses what was found, unless it is held or still open") {
    const PrivateFolder folder;
    const std::string file = (folder.path() / "journal.db").string();
    RecordedSample sample{folder.path()};
    const std::string due = sample.open();
    const std::string held = sample.open();
    const std::string open = sample.open();
    end(sample, due);
    end(sample, held);
    CHECK(
        sample.send("POST", "/v1/referrals/" + held + "/hold", R"({"reason": "review"})").status ==
        200);
    sample.clock().pass(std::chrono::days{10});
    const std::string late = sample.open();
    end(sample, late);

    // 30 days and a second after the end of the first; a day before, nothing is due
    const std::string after = to_rfc3339(parse_rfc3339(sample_now) + std::chrono::days{30} + 60s);
    const std::string before = to_rfc3339(parse_rfc3339(sample_now) + std::chrono::days{29});
    CHECK(redact({file, "--now", before, "--only-plan"}).out.starts_with("0 cases are due"));
    const ProgramRun plan = redact({file, "--now", after, "--only-plan"});
    CHECK(plan.code == 0);
    CHECK(plan.out.find("1 cases are due, 1 on hold, 1 have ended too short a time ago, 1 open") !=
          std::string::npos);
    CHECK(at(sample.show(due), "findings").kind() == JsonKind::object);  // only planned so far

    const ProgramRun run = redact({file, "--now", after, "--json"});
    CHECK_MESSAGE(run.code == 0, run.err);
    const JsonValue said = parse_json(run.out);
    CHECK(at(said, "erased_of_cases").number() == 2);  // opened and cancelled
    sample.records().catch_up();
    CHECK(at(sample.show(due), "findings").kind() == JsonKind::null);
    CHECK(text_at(sample.show(due), "state") == "cancelled");
    for (const std::string& kept : {held, open, late}) {
        CHECK(at(sample.show(kept), "findings").kind() == JsonKind::object);
    }
    const auto journal = journal::open_journal(file, journal::Access::read);
    const auto verdict = journal::verify(*journal);
    CHECK(verdict.passed());
    CHECK(verdict.redacted == 2);
    // once more: nothing is left to erase
    CHECK(
        at(parse_json(redact({file, "--now", after, "--json"}).out), "erased_of_cases").number() ==
        0);
}

TEST_CASE("Who read what is forgotten after its own time, and what else is that old stays") {
    const PrivateFolder folder;
    const std::string file = (folder.path() / "journal.db").string();
    const Instant now = parse_rfc3339(sample_now);
    const auto journal = journal::open_journal(file);
    for (const int days_ago : {800, 700}) {
        journal::Append read = to_append({now - std::chrono::days{days_ago}, "desk", "/x", {}});
        journal->append(read);
    }
    journal->append({now - std::chrono::days{900}, "desk", "", {{"road.lifted", "road/1", "{}"}}});
    const RetentionDone done = run_retention(*journal, {}, now);
    CHECK(done.of_reads == 1);
    CHECK(done.of_cases == 0);
    CHECK(journal->read(0, 10)[0].is_redacted());
    CHECK_FALSE(journal->read(0, 10)[1].is_redacted());
    CHECK_FALSE(journal->read(0, 10)[2].is_redacted());
    CHECK(journal::verify(*journal).passed());
}

TEST_CASE("A wrong number of days or a journal that is not there is said and nothing happens") {
    const PrivateFolder folder;
    const std::string missing = (folder.path() / "none.db").string();
    CHECK(redact({missing, "--case-days", "-1"}).code == 2);
    CHECK(redact({missing, "--only-plan"}).code != 0);
}

}  // namespace waybourne::server::test
