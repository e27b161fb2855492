#include "journal/fold.hpp"

#include <atomic>
#include <thread>

#include "tests/journal/stores.hpp"

// State worked out from the journal.

namespace waybourne::journal::test {

namespace {

/// How many events there are, and the words of the last; counts what it had to read.
struct Tally {
    int events = 0;
    int erased = 0;
    std::string last;
};

Fold<Tally> tally(int& applied, int version = 1) {
    Fold<Tally> fold;
    fold.name = "tally";
    fold.version = version;
    fold.apply = [&applied](Tally& state, const Envelope& envelope) {
        ++applied;
        ++state.events;
        state.erased += envelope.is_redacted() ? 1 : 0;
        state.last = envelope.body.value_or("");
    };
    fold.write = [](const Tally& state) {
        return std::to_string(state.events) + " " + std::to_string(state.erased) + " " + state.last;
    };
    fold.read = [](const std::string& text) {
        if (text.empty() || text == "unreadable") {
            throw InputError("not a tally");
        }
        std::size_t end = 0;
        const int events = std::stoi(text, &end);
        return Tally{events, std::stoi(text.substr(end)), text.substr(text.find(' ', end + 1) + 1)};
    };
    return fold;
}

void add(Journal& journal, int count) {
    for (int i = 0; i < count; ++i) {
        journal.append(event("referral/A", std::to_string(i)));
    }
}

}  // namespace

TEST_CASE("After a restart only what came after the last snapshot is read again") {
    on_each_store([](Store& store) {
        int applied = 0;
        const auto fold = tally(applied);
        {
            const auto journal = store.open();
            add(*journal, 10);
            const auto folded = load(*journal, fold);
            CHECK(folded.state.events == 10);
            CHECK(applied == 10);
            CHECK(save(*journal, fold, folded));
            add(*journal, 3);
        }
        applied = 0;
        const auto journal = store.open();
        auto folded = load(*journal, fold);
        CHECK(folded.state.events == 13);
        CHECK(folded.state.last == R"({"text": "2"})");
        CHECK(applied == 3);
        add(*journal, 2);
        catch_up(*journal, fold, folded);
        CHECK(folded.state.events == 15);
        CHECK(applied == 5);
        CHECK(folded.head == journal->head());
    });
}

TEST_CASE("A snapshot by other rules, or one that cannot be read, only costs time") {
    on_each_store([](Store& store) {
        int applied = 0;
        const auto journal = store.open();
        add(*journal, 10);
        const auto fold = tally(applied);
        CHECK(save(*journal, fold, load(*journal, fold)));
        applied = 0;
        CHECK(load(*journal, tally(applied, 2)).state.events == 10);
        CHECK(applied == 10);
        CHECK(journal->save_snapshot({"tally", 1, journal->head(), "unreadable"}));
        applied = 0;
        CHECK(load(*journal, fold).state.events == 10);
        CHECK(applied == 10);
    });
}

TEST_CASE("A snapshot of another journal is not kept and not used") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        add(*journal, 2);
        Head foreign = journal->head();
        foreign.hash.bytes[0] ^= 1;
        CHECK_FALSE(journal->save_snapshot({"tally", 1, foreign, "2 0 x"}));
        CHECK_FALSE(journal->save_snapshot({"tally", 1, {7, foreign.hash}, "7 0 x"}));
        CHECK_FALSE(journal->load_snapshot("tally", 1).has_value());
    });
}

TEST_CASE("What has been erased is in no state and in no snapshot") {
    on_each_store([](Store& store) {
        int applied = 0;
        const auto fold = tally(applied);
        const auto journal = store.open();
        add(*journal, 4);
        auto folded = load(*journal, fold);
        CHECK(save(*journal, fold, folded));
        Redaction redaction{noon, "administrator-1", "asked for"};
        redaction.subjects = {"referral/A"};
        journal->redact(redaction);
        CHECK_FALSE(journal->load_snapshot("tally", 1).has_value());
        CHECK_FALSE(save(*journal, fold, folded));  // it still holds the words
        applied = 0;
        catch_up(*journal, fold, folded);
        CHECK(applied == 5);  // from the beginning, and the record
        CHECK(folded.state.events == 5);
        CHECK(folded.state.erased == 4);
        CHECK(save(*journal, fold, folded));
        CHECK(load(*journal, fold).state.erased == 4);
        catch_up(*journal, fold, folded);  // the record is settled: nothing is read twice
        CHECK(applied == 5);
    });
}

TEST_CASE("Whoever follows sees each event once, in order, those before and those to come") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        add(*journal, 3);
        std::vector<Sequence> seen;
        std::atomic<Sequence> last = 0;
        std::jthread follower{[&](const std::stop_token& stop) {
            follow(*journal, 1, stop, [&](const Envelope& envelope) {
                seen.push_back(envelope.sequence);
                last = envelope.sequence;
                last.notify_all();
            });
        }};
        const auto wait_for = [&](Sequence sequence) {
            for (Sequence now = last; now < sequence; now = last) {
                last.wait(now);
            }
        };
        wait_for(3);
        add(*journal, 2);
        wait_for(5);
        // Another connection to the same store, as another process would have.
        add(*store.open(), 2);
        wait_for(7);
        follower.request_stop();
        follower.join();
        CHECK(seen == std::vector<Sequence>{2, 3, 4, 5, 6, 7});
    });
}

TEST_CASE("A wait in vain ends when its time is over") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        add(*journal, 1);
        CHECK(journal->wait_beyond(0, 0ms, {}) == 1);
        CHECK(journal->wait_beyond(1, 20ms, {}) == 1);
    });
}

}  // namespace waybourne::journal::test
