#include "journal/internal/append_plan.hpp"

#include <map>

namespace waybourne::journal::internal {

namespace {

/// What is stored, and what this batch will add to it.
class Plan {
public:
    Plan(const Head& head, Stored& stored) : head_(head), stored_(stored) {}

    Appended add(const Append& append) {
        if (const std::vector<Envelope> before = under_key(append); !before.empty()) {
            if (!is_same(append, before)) {
                throw KeyReused(before.front().sequence);
            }
            return {before.front().sequence, before.back().sequence, true};
        }
        for (const Expectation& expectation : append.expectations) {
            const Sequence actual = version(expectation.subject);
            if (actual != expectation.version) {
                throw VersionConflict(expectation.subject, expectation.version, actual);
            }
        }
        write(append);
        const auto count = static_cast<Sequence>(append.entries.size());
        return {head_.sequence - count + 1, head_.sequence, false};
    }

    std::vector<Envelope> take() { return std::move(planned_); }

private:
    using Key = std::pair<std::string, std::string>;

    std::vector<Envelope> under_key(const Append& append) {
        if (append.idempotency_key.empty()) {
            return {};
        }
        const auto here = keys_.find(Key{append.who, append.idempotency_key});
        if (here == keys_.end()) {
            return stored_.under_key(append.who, append.idempotency_key);
        }
        const auto first = planned_.begin() + static_cast<std::ptrdiff_t>(here->second);
        return {first, first + first->parts};
    }

    static bool is_same(const Append& append, const std::vector<Envelope>& before) {
        if (append.entries.size() != before.size()) {
            return false;
        }
        for (std::size_t i = 0; i < before.size(); ++i) {
            const Entry& entry = append.entries[i];
            const Envelope& envelope = before[i];
            if (entry.kind != envelope.kind || entry.subject != envelope.subject ||
                (envelope.body && entry.body != *envelope.body)) {
                return false;
            }
        }
        return true;
    }

    Sequence version(const std::string& subject) {
        const auto here = versions_.find(subject);
        return here != versions_.end() ? here->second : stored_.version(subject);
    }

    void write(const Append& append) {
        if (!append.idempotency_key.empty()) {
            keys_.emplace(Key{append.who, append.idempotency_key}, planned_.size());
        }
        int part = 0;
        for (const Entry& entry : append.entries) {
            Envelope envelope;
            envelope.at = append.at;
            envelope.who = append.who;
            envelope.kind = entry.kind;
            envelope.subject = entry.subject;
            envelope.idempotency_key = append.idempotency_key;
            envelope.part = ++part;
            envelope.parts = static_cast<int>(append.entries.size());
            envelope.body = entry.body;
            planned_.push_back(seal(head_, std::move(envelope)));
            head_ = {planned_.back().sequence, planned_.back().hash};
            versions_[entry.subject] = head_.sequence;
        }
    }

    Head head_;
    Stored& stored_;
    std::vector<Envelope> planned_;
    std::map<Key, std::size_t> keys_;  // → place in planned_ of the first part
    std::map<std::string, Sequence> versions_;
};

}  // namespace

Envelope seal(const Head& before, Envelope envelope) {
    envelope.sequence = before.sequence + 1;
    envelope.salt = random_bytes(salt_bytes);
    envelope.content_hash = content_hash(*envelope.salt, *envelope.body);
    envelope.hash = chain_hash(before.hash, envelope);
    return envelope;
}

std::vector<Envelope> plan_appends(const Head& head, std::span<Request* const> requests,
                                   Stored& stored) {
    Plan plan{head, stored};
    for (Request* request : requests) {
        try {
            request->result = plan.add(*request->append);
        } catch (const Conflict&) {
            request->error = std::current_exception();
        }
    }
    return plan.take();
}

}  // namespace waybourne::journal::internal
