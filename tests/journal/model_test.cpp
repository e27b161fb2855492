#include <map>
#include <random>
#include <set>

#include "journal/verify.hpp"
#include "tests/journal/stores.hpp"

// Random calls against the simplest thing that could keep the same promises: a list in memory.

namespace waybourne::journal::test {

namespace {

struct Stored {
    Append append;
    Entry entry;
    bool is_redacted = false;
};

/// The promises of journal.hpp, kept the slow way.
class Model {
public:
    /// The name of the error, or `first-last` and whether it was there.
    std::string append(const Append& append) {
        std::vector<std::size_t> before;
        for (std::size_t i = 0; i < all_.size(); ++i) {
            if (!append.idempotency_key.empty() && all_[i].append.who == append.who &&
                all_[i].append.idempotency_key == append.idempotency_key) {
                before.push_back(i);
            }
        }
        if (!before.empty()) {
            return is_same(append, before) ? told(before.front(), before.back(), true) : "reused";
        }
        for (const Expectation& expectation : append.expectations) {
            if (version(expectation.subject) != expectation.version) {
                return "conflict";
            }
        }
        for (const Entry& entry : append.entries) {
            all_.push_back({append, entry});
        }
        return told(all_.size() - append.entries.size(), all_.size() - 1, false);
    }

    Sequence redact(const Redaction& redaction) {
        Sequence count = 0;
        const std::set<std::string> subjects{redaction.subjects.begin(), redaction.subjects.end()};
        const std::set<std::string> holds{redaction.holds.begin(), redaction.holds.end()};
        for (Stored& stored : all_) {
            if (!stored.is_redacted && stored.entry.kind != redacted_kind &&
                holds.count(stored.entry.subject) == 0 &&
                (subjects.empty() || subjects.count(stored.entry.subject) != 0) &&
                (!redaction.older_than || stored.append.at < *redaction.older_than)) {
                stored.is_redacted = true;
                ++count;
            }
        }
        if (count > 0) {
            const Entry record{redacted_kind, journal_subject, ""};
            all_.push_back({{redaction.at, redaction.who, "", {record}}, record});
        }
        return count;
    }

    Sequence version(const std::string& subject) const {
        Sequence last = 0;
        for (std::size_t i = 0; i < all_.size(); ++i) {
            last = all_[i].entry.subject == subject ? static_cast<Sequence>(i) + 1 : last;
        }
        return last;
    }

    const std::vector<Stored>& all() const { return all_; }

private:
    static std::string told(std::size_t first, std::size_t last, bool was_there) {
        return std::to_string(first + 1) + "-" + std::to_string(last + 1) +
               (was_there ? " again" : "");
    }

    bool is_same(const Append& append, const std::vector<std::size_t>& before) const {
        if (append.entries.size() != before.size()) {
            return false;
        }
        for (std::size_t i = 0; i < before.size(); ++i) {
            const Stored& stored = all_[before[i]];
            if (stored.entry.kind != append.entries[i].kind ||
                stored.entry.subject != append.entries[i].subject ||
                (!stored.is_redacted && stored.entry.body != append.entries[i].body)) {
                return false;
            }
        }
        return true;
    }

    std::vector<Stored> all_;
};

std::string append_to(Journal& journal, const Append& append) {
    try {
        const Appended appended = journal.append(append);
        return std::to_string(appended.first) + "-" + std::to_string(appended.last) +
               (appended.was_there ? " again" : "");
    } catch (const KeyReused&) {
        return "reused";
    } catch (const VersionConflict&) {
        return "conflict";
    }
}

class RandomCalls {
public:
    explicit RandomCalls(std::uint64_t seed) : random_(seed) {}

    std::size_t below(std::size_t limit) { return random_() % limit; }
    std::string subject() { return "referral/" + std::to_string(below(4)); }

    Append append(const Model& model) {
        Append append;
        append.at = noon + Seconds{static_cast<long>(below(100))};
        append.who = below(2) == 0 ? "clinic-7" : "clinic-8";
        if (below(3) != 0) {
            append.idempotency_key = "k" + std::to_string(below(30));
        }
        const std::size_t count = below(5) == 0 ? 3 : 1;
        for (std::size_t i = 0; i < count; ++i) {
            append.entries.push_back(
                {"referral.noted", subject(), "{\"n\":" + std::to_string(below(2)) + "}"});
        }
        if (below(3) == 0) {
            const std::string expected = subject();
            const Sequence off = below(4) == 0 ? 1 : 0;
            append.expectations = {{expected, model.version(expected) + off}};
        }
        return append;
    }

    Redaction redaction() {
        Redaction redaction{noon, "administrator-1", "model"};
        if (below(2) == 0) {
            redaction.subjects = {subject(), subject()};
        } else {
            redaction.older_than = noon + Seconds{static_cast<long>(below(100))};
        }
        if (below(2) == 0) {
            redaction.holds = {subject()};
        }
        return redaction;
    }

private:
    std::mt19937_64 random_;
};

void compare(const Journal& journal, const Model& model) {
    const auto all = all_of(journal);
    REQUIRE(all.size() == model.all().size());
    for (std::size_t i = 0; i < all.size(); ++i) {
        const Stored& stored = model.all()[i];
        CHECK(all[i].sequence == static_cast<Sequence>(i) + 1);
        CHECK(all[i].who == stored.append.who);
        CHECK(all[i].at == stored.append.at);
        CHECK(all[i].subject == stored.entry.subject);
        CHECK(all[i].is_redacted() == stored.is_redacted);
        if (!stored.is_redacted && stored.entry.kind != redacted_kind) {
            CHECK(all[i].body == stored.entry.body);
        }
    }
    CHECK(verify(journal).passed());
}

}  // namespace

TEST_CASE("Whatever is asked in whatever order, the journal answers as a plain list would") {
    on_each_store([](Store& store) {
        constexpr int calls = 400;
        constexpr std::uint64_t seed = 8;
        CAPTURE(seed);
        RandomCalls random{seed};
        Model model;
        auto journal = store.open();
        int again = 0;
        int refused = 0;
        Sequence redacted = 0;
        for (int call = 0; call < calls; ++call) {
            CAPTURE(call);
            const std::size_t kind = random.below(40);
            if (kind == 0) {
                const Redaction redaction = random.redaction();
                const Sequence count = model.redact(redaction);
                CHECK(journal->redact(redaction).count == count);
                redacted += count;
            } else if (kind == 1) {
                journal = store.open();
            } else if (kind < 6) {
                const std::string subject = random.subject();
                CHECK(journal->version(subject) == model.version(subject));
                const auto last = journal->read_subject(subject, model.version(subject) - 1, 5);
                CHECK(last.size() == (model.version(subject) == 0 ? 0 : 1));
            } else {
                const Append append = random.append(model);
                const std::string expected = model.append(append);
                CHECK(append_to(*journal, append) == expected);
                again += expected.find("again") != std::string::npos ? 1 : 0;
                refused += expected == "reused" || expected == "conflict" ? 1 : 0;
            }
        }
        compare(*journal, model);
        MESSAGE(store.name() << ": " << calls << " calls, " << model.all().size() << " events, "
                             << again << " retries, " << refused << " refused, " << redacted
                             << " redacted");
        CHECK(again > 5);
        CHECK(refused > 50);
        CHECK(redacted > 20);
    });
}

}  // namespace waybourne::journal::test
