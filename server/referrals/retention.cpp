#include "server/referrals/retention.hpp"

#include <algorithm>

#include "server/referrals/recorded.hpp"
#include "server/security/audit.hpp"

namespace waybourne::server {

namespace {

constexpr const char* retention_account = "retention";

/// When it ended; none when it goes on after all.
std::optional<Instant> ended_at(const referral::Life& life) {
    std::optional<Instant> latest;
    if (life.is_open()) {
        return latest;
    }
    for (const auto kind : {referral::EventKind::closed, referral::EventKind::cancelled,
                            referral::EventKind::died_before_arrival}) {
        const auto at = life.last(kind);
        if (at && (!latest || *at > *latest)) {
            latest = at;
        }
    }
    return latest;
}

std::string days(Seconds span) {
    return std::to_string(std::chrono::floor<std::chrono::days>(span).count());
}

/// What happened before `older_than`, of this kind.
journal::Redacted redact_kind(journal::Journal& journal, const char* kind, Instant older_than,
                              const std::string& reason, Instant now) {
    journal::Redaction redaction;
    redaction.at = now;
    redaction.who = retention_account;
    redaction.reason = reason;
    redaction.kinds = {kind};
    redaction.older_than = older_than;
    return journal.redact(redaction);
}

}  // namespace

RetentionPlan plan_retention(const journal::Journal& journal, const RetentionSettings& settings,
                             Instant now) {
    auto folded = journal::load(journal, recorded_fold());
    read_unread(folded.state, journal, folded.head.sequence);
    RetentionPlan plan;
    for (const auto& [code, summary] : folded.state.summaries) {
        if (summary.is_held) {
            plan.held.push_back(subject_of(code));
            continue;
        }
        const auto record =
            summary.is_open ? nullptr : read_record(journal, code, folded.head.sequence);
        const auto ended = record ? ended_at(record->life) : std::nullopt;
        if (!ended) {
            ++plan.open;
        } else if (*ended + settings.cases_for <= now) {
            plan.due.push_back(subject_of(code));
        } else {
            ++plan.not_yet;
        }
    }
    return plan;
}

RetentionDone run_retention(journal::Journal& journal, const RetentionSettings& settings,
                            Instant now) {
    RetentionDone done;
    done.plan = plan_retention(journal, settings, now);
    if (!done.plan.due.empty()) {
        journal::Redaction cases;
        cases.at = now;
        cases.who = retention_account;
        cases.reason = days(settings.cases_for) + " days after the end of the case";
        cases.subjects = done.plan.due;
        cases.holds = done.plan.held;
        const auto redacted = journal.redact(cases);
        done.of_cases = redacted.count;
        done.may_linger = redacted.may_linger;
    }
    const auto reads = redact_kind(journal, read_kind, now - settings.reads_for,
                                   days(settings.reads_for) + " days after the reading", now);
    const auto shifts =
        redact_kind(journal, shift_left_kind, now - settings.cases_for,
                    days(settings.cases_for) + " days after the shift was handed over", now);
    done.of_reads = reads.count;
    done.of_shifts = shifts.count;
    done.may_linger = done.may_linger || reads.may_linger || shifts.may_linger;
    return done;
}

}  // namespace waybourne::server
