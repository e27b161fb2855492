#include "journal/internal/shared_journal.hpp"

#include <algorithm>
#include <set>

namespace waybourne::journal::internal {

namespace {

// So many bodies are erased in one transaction: others write in between.
constexpr std::size_t redaction_step = 2000;

void check(const Redaction& redaction) {
    std::vector<FieldError> errors;
    if (redaction.who.empty()) {
        errors.push_back({"#/who", "is empty"});
    }
    if (redaction.reason.empty() || redaction.reason.size() > max_header_text_bytes ||
        !is_utf8(redaction.reason)) {
        errors.push_back({"#/reason", "is empty, too long or not UTF-8"});
    }
    if (redaction.subjects.empty() && redaction.kinds.empty() && !redaction.older_than) {
        errors.push_back({"#", "would erase everything: give subjects, kinds or an age"});
    }
    if (!errors.empty()) {
        throw InputError("this redaction is refused", std::move(errors));
    }
}

}  // namespace

Appended SharedJournal::append(const Append& append) {
    journal::check(append);
    const Appended appended = group_.run(append);
    announce(appended.last);
    return appended;
}

void SharedJournal::announce(Sequence last) const {
    const std::lock_guard lock{news_};
    if (last > latest_) {
        latest_ = last;
        has_news_.notify_all();
    }
}

Sequence SharedJournal::wait_beyond(Sequence seen, std::chrono::milliseconds at_most,
                                    const std::stop_token& stop) const {
    using Clock = std::chrono::steady_clock;
    prepare_to_wait();
    const auto deadline = Clock::now() + at_most;
    std::unique_lock lock{news_};
    while (latest_ <= seen && !stop.stop_requested()) {
        const auto now = Clock::now();
        if (now - polled_ >= poll_every_) {  // one waiter asks for all
            polled_ = now;
            lock.unlock();
            announce(head().sequence);
            lock.lock();
            continue;
        }
        if (now >= deadline) {
            break;
        }
        has_news_.wait_until(lock, stop, std::min(deadline, polled_ + poll_every_),
                             [&] { return latest_ > seen; });
    }
    return latest_;
}

Redacted SharedJournal::redact(const Redaction& redaction) {
    check(redaction);
    const std::set<std::string> subjects{redaction.subjects.begin(), redaction.subjects.end()};
    const std::set<std::string> kinds{redaction.kinds.begin(), redaction.kinds.end()};
    const std::set<std::string> holds{redaction.holds.begin(), redaction.holds.end()};
    std::vector<Sequence> chosen;
    each_candidate(redaction, [&](const Candidate& candidate) {
        if ((subjects.empty() || subjects.count(candidate.subject) != 0) &&
            (kinds.empty() || kinds.count(candidate.kind) != 0) &&
            (!redaction.older_than || candidate.at < *redaction.older_than) &&
            holds.count(candidate.subject) == 0 && candidate.kind.rfind("journal.", 0) != 0) {
            chosen.push_back(candidate.sequence);
        }
    });
    std::sort(chosen.begin(), chosen.end());
    Redacted total;
    for (std::size_t begin = 0; begin < chosen.size(); begin += redaction_step) {
        const auto step =
            std::span{chosen}.subspan(begin, std::min(redaction_step, chosen.size() - begin));
        const auto alone = group_.exclusive();
        const Redacted done = erase(redaction, step);
        total.count += done.count;
        total.record = std::max(total.record, done.record);
    }
    if (total.count > 0) {
        announce(total.record);
        total.may_linger = !remove_remains();
    }
    return total;
}

std::vector<Range> ranges_of(std::span<const Sequence> sequences) {
    std::vector<Range> ranges;
    for (const Sequence sequence : sequences) {
        if (!ranges.empty() && ranges.back().second + 1 == sequence) {
            ranges.back().second = sequence;
        } else {
            ranges.emplace_back(sequence, sequence);
        }
    }
    return ranges;
}

Envelope redaction_record(const Redaction& redaction, std::span<const Sequence> sequences) {
    Envelope record;
    record.at = redaction.at;
    record.who = redaction.who;
    record.kind = redacted_kind;
    record.subject = journal_subject;
    record.body = redaction_body(redaction.reason, ranges_of(sequences));
    return record;
}

}  // namespace waybourne::journal::internal
