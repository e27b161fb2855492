#include <fstream>
#include <sstream>

#include "journal/journal_file.hpp"
#include "journal/verify.hpp"
#include "tests/journal/stores.hpp"

// Personal data goes when its time is over or when a person asks for it; what happened stays.

namespace waybourne::journal::test {

namespace {

Redaction of_subject(const std::string& subject) {
    Redaction redaction{noon + 24h, "administrator-1", "asked for"};
    redaction.subjects = {subject};
    return redaction;
}

std::vector<Sequence> redacted_in(const Journal& journal) {
    std::vector<Sequence> found;
    for (const Envelope& envelope : all_of(journal)) {
        if (envelope.is_redacted()) {
            CHECK_FALSE(envelope.salt.has_value());
            found.push_back(envelope.sequence);
        }
    }
    return found;
}

}  // namespace

TEST_CASE("What one woman's referral says can be erased, and the journal stays whole") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        journal->append(event("referral/A", "her words"));
        journal->append(event("referral/B", "other words"));
        journal->append(event("referral/A", "more words"));
        const Head before = journal->head();
        const Redacted done = journal->redact(of_subject("referral/A"));
        CHECK(done.count == 2);
        CHECK(done.record == 4);
        CHECK(done.may_linger == (store.name() == "PostgreSQL"));  // its log keeps old pages
        CHECK(redacted_in(*journal) == std::vector<Sequence>{1, 3});
        const Verdict verdict = verify(*journal, before);
        CHECK_MESSAGE(verdict.passed(), verdict.fault.value_or(Fault{}).reason);
        CHECK(verdict.redacted == 2);
        // The journal says who erased what, and why.
        const Envelope record = journal->read(3, 1).front();
        CHECK(record.kind == redacted_kind);
        CHECK(record.who == "administrator-1");
        CHECK(record.body == R"({"reason":"asked for","redacted":[[1,1],[3,3]]})");
        // A second time there is nothing to do, and nothing is written.
        CHECK(journal->redact(of_subject("referral/A")).count == 0);
        CHECK(journal->head().sequence == 4);
        CHECK(verify(*store.open()).passed());
    });
}

TEST_CASE("Only what is old enough and of the named kinds is erased, and never a case on hold") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        const auto add = [&](const std::string& kind, const std::string& subject, Instant at) {
            journal->append({at, "clinic-7", "", {{kind, subject, "{}"}}});
        };
        add("referral.opened", "referral/A", noon);
        add("referral.opened", "referral/B", noon);  // on hold
        add("readiness.reported", "facility/F", noon);
        add("referral.opened", "referral/C", noon + 1s);
        Redaction old{noon + 24h, "administrator-1", "a year is over"};
        old.older_than = noon + 1s;  // 1 s older, and just not
        old.kinds = {"referral.opened", "referral.closed"};
        old.holds = {"referral/B"};
        CHECK(journal->redact(old).count == 1);
        CHECK(redacted_in(*journal) == std::vector<Sequence>{1});
        old.holds.clear();
        CHECK(journal->redact(old).count == 1);
        CHECK(redacted_in(*journal) == std::vector<Sequence>{1, 2});
        old.kinds.clear();
        old.older_than = noon + 48h;  // everything but the journal's own records
        CHECK(journal->redact(old).count == 2);
        CHECK(redacted_in(*journal) == std::vector<Sequence>{1, 2, 3, 4});
        CHECK(verify(*journal).passed());
    });
}

TEST_CASE("A redaction that names nothing, nobody or no reason is refused") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        CHECK_THROWS_AS(journal->redact({noon, "administrator-1", "all"}), InputError);
        Redaction nameless = of_subject("referral/A");
        nameless.who.clear();
        CHECK_THROWS_AS(journal->redact(nameless), InputError);
        Redaction silent = of_subject("referral/A");
        silent.reason.clear();
        CHECK_THROWS_AS(journal->redact(silent), InputError);
    });
}

TEST_CASE("A late retry of what has been erased since is known, and brings nothing back") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        journal->append(event("referral/A", "her words", "phone-1"));
        journal->redact(of_subject("referral/A"));
        CHECK(journal->append(event("referral/A", "her words", "phone-1")) == Appended{1, 1, true});
        CHECK_THROWS_AS(journal->append(event("referral/B", "her words", "phone-1")), KeyReused);
        CHECK(redacted_in(*journal) == std::vector<Sequence>{1});
    });
}

TEST_CASE("Erased words are in no file of the store") {
    const auto store = sqlite_store();
    const auto journal = store->open();
    const std::string words = "unmistakable-words-of-hers";
    for (int i = 0; i < 20; ++i) {
        journal->append(event("referral/A", words));
        journal->append(event("referral/B", std::string(3000, 'b')));
    }
    const auto found = [&] {
        int files = 0;
        const auto folder = std::filesystem::path{store->address()}.parent_path();
        for (const auto& entry : std::filesystem::directory_iterator{folder}) {
            std::ostringstream content;
            content << std::ifstream{entry.path(), std::ios::binary}.rdbuf();
            files += content.str().find(words) != std::string::npos ? 1 : 0;
        }
        return files;
    };
    CHECK(found() > 0);  // the search itself works
    const Redacted done = journal->redact(of_subject("referral/A"));
    CHECK(done.count == 20);
    CHECK_FALSE(done.may_linger);
    CHECK(found() == 0);
}

TEST_CASE("Thousands of bodies are erased in steps, each with its record") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        Append many = event("referral/A", "x");
        many.entries.resize(1000, many.entries.front());
        for (int i = 0; i < 5; ++i) {
            journal->append(many);
        }
        CHECK(journal->redact(of_subject("referral/A")).count == 5000);
        CHECK(journal->head().sequence == 5003);  // 2000 at a time
        const Verdict verdict = verify(*journal);
        CHECK(verdict.passed());
        CHECK(verdict.redacted == 5000);
    });
}

}  // namespace waybourne::journal::test
