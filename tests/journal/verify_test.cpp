#include "journal/verify.hpp"

#include "tests/journal/stores.hpp"

// What `journal verify` finds. Each case changes the store behind the journal's back.

namespace waybourne::journal::test {

namespace {

void fill(Journal& journal) {
    for (int i = 1; i <= 5; ++i) {
        journal.append(event("referral/A", "step " + std::to_string(i)));
    }
    journal.append({noon,
                    "dispatcher-1",
                    "",
                    {{"transport.sent", "referral/A", "{}"}, {"vehicle.sent", "vehicle/V", "{}"}}});
}

/// The first fault after a statement that no journal would have run.
Fault after(const std::string& sql) {
    Fault found;
    on_each_store([&](Store& store) {
        fill(*store.open());
        store.tamper(sql);
        const auto journal = store.open();
        const Verdict verdict = verify(*journal);
        CHECK_FALSE(verdict.passed());
        CHECK((found == Fault{} || verdict.fault == found));  // every store says the same
        found = verdict.fault.value_or(Fault{});
    });
    return found;
}

bool says(const Fault& fault, const std::string& words) {
    return fault.reason.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("A journal that nobody touched is found whole") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        CHECK(verify(*journal).checked == 0);
        fill(*journal);
        const Verdict verdict = verify(*journal);
        CHECK(verdict.passed());
        CHECK(verdict.checked == 7);
        CHECK(verdict.redacted == 0);
        CHECK(verdict.head == journal->head());
        CHECK(journal->store_damage().empty());
    });
}

TEST_CASE("A changed body, a lost body and a lost salt are each found where they are") {
    const Fault changed =
        after("UPDATE envelope SET body = '{\"text\": \"else\"}' WHERE sequence = 3");
    CHECK(changed.sequence == 3);
    CHECK(says(changed, "not the one that was stored"));
    const Fault lost = after("UPDATE envelope SET body = NULL, salt = NULL WHERE sequence = 4");
    CHECK(lost.sequence == 4);
    CHECK(says(lost, "no redaction accounts for it"));
    const Fault half = after("UPDATE envelope SET salt = NULL WHERE sequence = 2");
    CHECK(half.sequence == 2);
}

TEST_CASE("An envelope without its neighbour is found, whatever was taken out") {
    // The journal itself refuses to open when the end of the chain is broken, so these are read by
    // the verifier alone.
    on_each_store([](Store& store) {
        const auto journal = store.open();
        fill(*journal);
        const auto whole = all_of(*journal);
        const auto first_fault = [](const std::vector<Envelope>& envelopes) {
            ChainVerifier chain;
            for (const Envelope& envelope : envelopes) {
                if (auto fault = chain.add(envelope)) {
                    return *fault;
                }
            }
            return chain.finish().value_or(Fault{});
        };
        CHECK(first_fault(whole) == Fault{});
        auto gap = whole;
        gap.erase(gap.begin() + 2);
        CHECK(first_fault(gap).sequence == 4);
        CHECK(says(first_fault(gap), "missing"));
        auto swapped = whole;
        std::swap(swapped[1], swapped[2]);
        CHECK(first_fault(swapped).sequence == 3);
        auto renamed = whole;
        renamed[4].who = "clinic-8";
        CHECK(first_fault(renamed).sequence == 5);
        auto later = whole;
        later[4].at += 1s;
        CHECK(first_fault(later).sequence == 5);
        auto half = whole;
        half.pop_back();
        CHECK(first_fault(half).sequence == 6);
        CHECK(says(first_fault(half), "the rest"));
    });
}

TEST_CASE("A head that was written down elsewhere proves that the end was not cut off") {
    on_each_store([](Store& store) {
        const auto journal = store.open();
        fill(*journal);
        const Head noted = journal->head();
        journal->append(event("referral/B", "opened"));
        CHECK(verify(*journal, noted).passed());
        const Verdict cut = verify(*journal, Head{9, noted.hash});
        REQUIRE_FALSE(cut.passed());
        CHECK(cut.fault->sequence == 9);
        const Verdict other = verify(*journal, Head{5, noted.hash});
        REQUIRE_FALSE(other.passed());
        CHECK(other.fault->sequence == 5);
    });
}

TEST_CASE("The chain is hashed as its description says, so that other programs can check it") {
    // Computed once by Python's hashlib from the description in envelope.hpp.
    Envelope envelope;
    envelope.sequence = 1;
    envelope.at = noon;
    envelope.who = "clinic-7";
    envelope.kind = "referral.opened";
    envelope.subject = "referral/A";
    envelope.idempotency_key = "k";
    envelope.content_hash = content_hash("0123456789abcdef", "{}");
    CHECK(to_hex(envelope.content_hash) ==
          "3601f574200e4788f443bfeee30e4188fae7330554764a6388d31c0e497943cc");
    CHECK(to_hex(chain_hash(Digest{}, envelope)) ==
          "7078efca26dc5c1f8f899b9056022e45ba725ff95d5ee9060fb2a07957d56cd9");
}

}  // namespace waybourne::journal::test
