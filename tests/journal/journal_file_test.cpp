#include "journal/journal_file.hpp"

#include <sstream>

#include "tests/journal/stores.hpp"

// The exported file: our own form, described in journal_file.hpp.

namespace waybourne::journal::test {

namespace {

/// Four envelopes, one of them redacted.
std::string exported() {
    const auto store = sqlite_store();
    const auto journal = store->open();
    journal->append(event("referral/A", "her words", "k1"));
    journal->append(event("referral/B", "line\\nbreak — é"));
    journal->append(event("referral/B", "more"));
    Redaction redaction{noon, "administrator-1", "asked for"};
    redaction.subjects = {"referral/A"};
    journal->redact(redaction);
    std::ostringstream out;
    CHECK(export_journal(*journal, out) == journal->head());
    return out.str();
}

/// What the reader says of a file, `line 3: …`; empty when it takes it.
std::string refusal_of(const std::string& text) {
    std::istringstream in{text};
    JournalFileReader reader{in};
    try {
        while (reader.next()) {
        }
        return "";
    } catch (const InputError& error) {
        REQUIRE(error.fields().size() == 1);
        return error.fields()[0].pointer + ": " + error.fields()[0].detail;
    }
}

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    std::istringstream in{text};
    for (std::string line; std::getline(in, line);) {
        lines.push_back(line);
    }
    return lines;
}

std::string join(const std::vector<std::string>& lines) {
    std::string text;
    for (const std::string& line : lines) {
        text += line + '\n';
    }
    return text;
}

bool begins(const std::string& text, const std::string& with) {
    return text.rfind(with, 0) == 0;
}

std::string replaced(std::string text, const std::string& what, const std::string& by) {
    const std::size_t place = text.find(what);
    REQUIRE(place != std::string::npos);
    return text.replace(place, what.size(), by);
}

}  // namespace

TEST_CASE("An exported journal restored elsewhere is the same journal") {
    const std::string file = exported();
    on_each_store([&](Store& store) {
        const auto journal = store.open();
        std::istringstream in{file};
        const Head head = restore_journal(in, *journal);
        CHECK(head == journal->head());
        CHECK(head.sequence == 4);
        CHECK(verify(*journal).passed());
        std::ostringstream again;
        export_journal(*journal, again);
        CHECK(again.str() == file);
        // It goes on from there, and still knows which reports it has.
        CHECK(journal->append(event("referral/A", "?", "k1")).was_there);
        CHECK(journal->append(event("referral/B", "new")).last == 5);
        CHECK(verify(*journal).passed());
        std::istringstream twice{file};
        CHECK_THROWS_AS(restore_journal(twice, *journal), Conflict);
    });
}

TEST_CASE("An empty journal can be exported and restored, too") {
    const auto store = sqlite_store();
    std::ostringstream out;
    export_journal(*store->open(), out);
    CHECK(lines_of(out.str()).size() == 2);
    CHECK(refusal_of(out.str()).empty());
}

TEST_CASE("A file that is cut off or changed restores nothing and says which line is wrong") {
    const std::string file = exported();
    const auto lines = lines_of(file);
    REQUIRE(lines.size() == 6);  // header, four envelopes, end
    CHECK(refusal_of(file).empty());
    for (std::size_t kept = 0; kept < lines.size(); ++kept) {
        const auto some = std::vector(lines.begin(), lines.begin() + static_cast<long>(kept));
        CHECK(begins(refusal_of(join(some)), "line " + std::to_string(kept + 1) + ": "));
    }
    CHECK(begins(refusal_of(file.substr(0, file.size() - 1)), "line 6: the file is cut off"));
    CHECK(begins(refusal_of(replaced(file, "more", "less")), "line 4: the body is not"));
    CHECK(begins(refusal_of(replaced(file, "referral/B", "referral/C")), "line 3: the hash"));
    CHECK(begins(refusal_of(replaced(file, "\"part\":1", "\"part\":2")), "line 2: "));
    for (const char* bad : {"1e99", "-1", "1.5", "4294967297", "true"}) {
        CAPTURE(bad);
        CHECK(begins(refusal_of(replaced(file, "\"part\":1", "\"part\":" + std::string(bad))),
                     "line 2: a number is negative, not whole or too large"));
    }
    CHECK(begins(refusal_of(replaced(file, "\"who\"", "\"whose\"")),
                 "line 2: an envelope has no \"whose\""));
    CHECK(begins(refusal_of(replaced(file, "2026-03-04T12", "yesterday")), "line 2: "));
    CHECK(begins(refusal_of(replaced(file, "\"version\":1", "\"version\":2")),
                 "line 1: is of another version"));
    CHECK(begins(refusal_of(file + "{}\n"), "line 6: should be the last line"));
    CHECK(begins(refusal_of("[]\n"), "line 1: "));
    CHECK(begins(refusal_of(lines[0] + "\n[]\n"), "line 2: "));
    CHECK(begins(refusal_of(lines[0] + "\n" + std::string(7 << 20, ' ')), "line 2: has more than"));
    on_each_store([&](Store& store) {
        const auto journal = store.open();
        std::istringstream in{join(std::vector(lines.begin(), lines.end() - 1))};
        CHECK_THROWS_AS(restore_journal(in, *journal), InputError);
        CHECK(journal->head() == Head{});
        std::istringstream whole{file};
        CHECK(restore_journal(whole, *journal).sequence == 4);
    });
}

TEST_CASE("A body that was taken out without a record is noticed in the file, too") {
    const std::string file = exported();
    auto lines = lines_of(file);
    const std::size_t salt = lines[2].find("\"salt\"");
    const std::size_t end = lines[2].find("\"content_hash\"");
    lines[2].erase(salt, end - salt);
    CHECK(begins(refusal_of(join(lines)), "line 6: envelope 2: the body is missing"));
}

TEST_CASE("An export that does not fit the disk says so") {
    const auto store = sqlite_store();
    std::ostringstream out;
    out.setstate(std::ios::badbit);
    CHECK_THROWS_AS(export_journal(*store->open(), out), StorageFailed);
}

}  // namespace waybourne::journal::test
