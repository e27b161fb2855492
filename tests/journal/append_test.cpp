#include <algorithm>
#include <atomic>
#include <thread>

#include "journal/verify.hpp"
#include "tests/journal/stores.hpp"

// What the journal promises to whoever writes. Expected values: our own rules, journal.hpp.

namespace waybourne::journal::test {

TEST_CASE("What is reported stands in the journal in the order in which it was accepted") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        CHECK(journal->head() == Head{});
        CHECK(journal->append(event("referral/A", "opened")) == Appended{1, 1, false});
        CHECK(journal->append(event("referral/B", "opened")) == Appended{2, 2, false});
        CHECK(journal->append(event("referral/A", "accepted")) == Appended{3, 3, false});
        const auto all = journal->read(0, 10);
        REQUIRE(all.size() == 3);
        CHECK(all[2].sequence == 3);
        CHECK(all[2].at == noon);
        CHECK(all[2].who == "clinic-7");
        CHECK(all[2].kind == "referral.noted");
        CHECK(all[2].subject == "referral/A");
        CHECK(all[2].body == R"({"text": "accepted"})");  // byte for byte
        CHECK(journal->head() == Head{3, all[2].hash});
        CHECK(journal->read(1, 1).front().sequence == 2);
        CHECK(journal->read(3, 10).empty());
        const auto about_a = journal->read_subject("referral/A", 0, 10);
        REQUIRE(about_a.size() == 2);
        CHECK(about_a[1] == all[2]);
        CHECK(journal->read_subject("referral/A", 1, 10).size() == 1);
        CHECK(journal->version("referral/A") == 3);
        CHECK(journal->version("referral/none") == 0);
    });
}

TEST_CASE("The journal is the same after the server has been stopped and started") {
    on_each_store([](Store& store) {
        store.open()->append(event("referral/A", "opened", "k1"));
        const auto before = all_of(*store.open());
        const auto journal = store.open();
        CHECK(all_of(*journal) == before);
        CHECK(journal->append(event("referral/A", "accepted")) == Appended{2, 2, false});
        CHECK(verify(*journal).passed());
    });
}

TEST_CASE("A report that is sent again because no answer came is stored once") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        const Appended first = journal->append(event("referral/A", "opened", "phone-1"));
        CHECK(journal->append(event("referral/A", "opened", "phone-1")) == Appended{1, 1, true});
        Append later = event("referral/A", "opened", "phone-1");
        later.at += 3h;  // the phone had no connection; the time is no part of what it says
        CHECK(journal->append(later).first == first.first);
        CHECK(journal->head().sequence == 1);
        REQUIRE(journal->read_key("clinic-7", "phone-1").size() == 1);
        CHECK(journal->read_key("clinic-7", "phone-1").front() == journal->read(0, 1).front());
        CHECK(journal->read_key("clinic-8", "phone-1").empty());
        // The same key for something else is refused, and nothing is stored.
        CHECK_THROWS_AS(journal->append(event("referral/A", "closed", "phone-1")), KeyReused);
        CHECK_THROWS_AS(journal->append(event("referral/B", "opened", "phone-1")), KeyReused);
        Append more = event("referral/A", "opened", "phone-1");
        more.entries.push_back({"referral.noted", "referral/A", "{}"});
        CHECK_THROWS_AS(journal->append(more), KeyReused);
        CHECK(journal->head().sequence == 1);
        // Another account may use the same key for something of its own.
        Append other = event("referral/B", "opened", "phone-1");
        other.who = "clinic-8";
        CHECK(journal->append(other) == Appended{2, 2, false});
        // Without a key each is a report of its own.
        journal->append(event("referral/A", "opened"));
        CHECK(journal->append(event("referral/A", "opened")).last == 4);
    });
}

TEST_CASE("Events that belong together are stored together or not at all") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        Append both{noon,
                    "dispatcher-1",
                    "plan-9",
                    {{"transport.sent", "referral/A", "{}"}, {"vehicle.sent", "vehicle/V", "{}"}}};
        CHECK(journal->append(both) == Appended{1, 2, false});
        CHECK(journal->append(both) == Appended{1, 2, true});
        const auto all = journal->read(0, 10);
        CHECK(all[0].part == 1);
        CHECK(all[1].part == 2);
        CHECK(all[1].parts == 2);
        both.idempotency_key = "plan-10";
        both.expectations = {{"referral/A", 1}, {"vehicle/V", 1}};  // the vehicle is at 2
        CHECK_THROWS_AS(journal->append(both), VersionConflict);
        CHECK(journal->head().sequence == 2);
        both.expectations = {{"referral/A", 1}, {"vehicle/V", 2}};
        CHECK(journal->append(both) == Appended{3, 4, false});
    });
}

TEST_CASE("Of two health workers who act on the same state one is told that the other was faster") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        Append opened = event("referral/A", "opened");
        opened.expectations = {{"referral/A", 0}};  // nobody has opened it
        journal->append(opened);
        Append mine = event("referral/A", "accepted", "mine");
        Append hers = event("referral/A", "declined", "hers");
        mine.expectations = hers.expectations = {{"referral/A", 1}};
        journal->append(mine);
        try {
            journal->append(hers);
            FAIL("the second was stored, too");
        } catch (const VersionConflict& conflict) {
            CHECK(conflict.subject() == "referral/A");
            CHECK(conflict.expected() == 1);
            CHECK(conflict.actual() == 2);
        }
        // A retry of what was stored is no conflict, although the state has moved on.
        CHECK(journal->append(mine) == Appended{2, 2, true});
        CHECK(journal->head().sequence == 2);
    });
}

TEST_CASE("A clock that steps back changes no order") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        Append late = event("referral/A", "opened");
        late.at = noon + 2h;
        journal->append(late);
        journal->append(event("referral/A", "accepted"));  // two hours earlier, by the clock
        const auto all = journal->read(0, 10);
        CHECK(all[0].at == noon + 2h);
        CHECK(all[1].at == noon);
        CHECK(all[1].sequence == 2);
        CHECK(verify(*journal).passed());
    });
}

TEST_CASE("What cannot be an event is refused, with all that is wrong with it") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        Append wrong = event("", "text");
        wrong.who = std::string(201, 'x');
        wrong.at = Instant{Seconds{253402300800}};  // the year 10000
        wrong.entries.push_back({"journal.redacted", "referral/A", "{"});
        wrong.entries.push_back({"referral.noted", "journal", "\"\xff\""});
        wrong.expectations = {{"referral/A", 0}, {"referral/A", 1}};
        try {
            journal->append(wrong);
            FAIL("it was stored");
        } catch (const InputError& error) {
            std::vector<std::string> places;
            for (const FieldError& field : error.fields()) {
                places.push_back(field.pointer);
            }
            CHECK(places == std::vector<std::string>{"#/who", "#/at", "#/entries/0/subject",
                                                     "#/entries/1/kind", "#/entries/1/body",
                                                     "#/entries/2/subject", "#/entries/2/body",
                                                     "#/expectations"});
        }
        Append none = event("referral/A", "x");
        none.entries.clear();
        CHECK_THROWS_AS(journal->append(none), InputError);
        // To the limit and one beyond.
        Append large = event("referral/A", "");
        large.entries[0].body = '"' + std::string(max_body_bytes - 2, 'x') + '"';
        CHECK(journal->append(large).last == 1);
        CHECK(journal->read(0, 1).front().body == large.entries[0].body);
        large.entries[0].body = '"' + std::string(max_body_bytes - 1, 'x') + '"';
        CHECK_THROWS_AS(journal->append(large), InputError);
        std::string deep = std::string(65, '[') + std::string(65, ']');
        large.entries[0].body = deep;
        CHECK_THROWS_AS(journal->append(large), InputError);
        large.entries[0].body = deep.substr(1, 128);
        CHECK(journal->append(large).last == 2);
        CHECK(journal->head().sequence == 2);
    });
}

TEST_CASE("Text in any language comes back as it was written") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        Append told = event("referral/A", "");
        told.entries[0].body =
            "{\"text\": \"Mama amejifungua \\\"salama\\\" — أم بخير, \\\\ {,} '\\u0000'\"}";
        told.entries[0].subject = "referral/{\"a\\b\",NULL}";
        journal->append(told);
        CHECK(journal->read(0, 1).front().body == told.entries[0].body);
        CHECK(journal->version(told.entries[0].subject) == 1);
        CHECK(verify(*journal).passed());
    });
}

TEST_CASE("Many who write at once get a sequence each, and nobody sees a gap meanwhile") {
    on_each_store([](Store& store) {
        constexpr int writers = 8;
        constexpr int each = 20;
        const auto journal = store.open();
        std::vector<std::vector<Sequence>> given(writers);
        std::vector<Sequence> seen;
        {
            std::jthread reader{[&](const std::stop_token& stop) {
                while (seen.size() < writers * each && !stop.stop_requested()) {
                    const Sequence after = seen.empty() ? 0 : seen.back();
                    for (const Envelope& envelope : journal->read(after, 50)) {
                        seen.push_back(envelope.sequence);
                    }
                }
            }};
            std::vector<std::jthread> threads;
            for (int writer = 0; writer < writers; ++writer) {
                threads.emplace_back([&, writer] {
                    for (int i = 0; i < each; ++i) {
                        const std::string key = std::to_string(writer) + "/" + std::to_string(i);
                        given[static_cast<std::size_t>(writer)].push_back(
                            journal->append(event("referral/" + key, "x", key)).first);
                    }
                });
            }
            threads.clear();
            reader.join();
        }
        std::vector<Sequence> all;
        for (const auto& mine : given) {
            CHECK(std::is_sorted(mine.begin(), mine.end()));
            all.insert(all.end(), mine.begin(), mine.end());
        }
        std::sort(all.begin(), all.end());
        std::vector<Sequence> expected;
        for (Sequence i = 1; i <= writers * each; ++i) {
            expected.push_back(i);
        }
        CHECK(all == expected);
        CHECK(seen == expected);
        CHECK(verify(*journal).passed());
    });
}

TEST_CASE("Of many who act on one state at once exactly one succeeds each time") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        std::atomic<int> stored = 0;
        std::vector<std::jthread> threads;
        for (int i = 0; i < 8; ++i) {
            threads.emplace_back([&] {
                Append next = event("referral/A", "opened");
                next.expectations = {{"referral/A", 0}};
                try {
                    journal->append(next);
                    ++stored;
                } catch (const VersionConflict&) {
                    // somebody else was faster
                }
            });
        }
        threads.clear();
        CHECK(stored == 1);
        CHECK(journal->head().sequence == 1);
    });
}

}  // namespace waybourne::journal::test
