#pragma once
/// What both stores do alike: lining up appends, waiting for news, erasing in small steps.

#include <chrono>
#include <condition_variable>
#include <mutex>
#include <span>

#include "journal/internal/append_plan.hpp"
#include "journal/internal/group_commit.hpp"
#include "journal/internal/json.hpp"
#include "journal/journal.hpp"

namespace waybourne::journal::internal {

/// A store fills in how it is read and written.
class SharedJournal : public Journal {
public:
    Appended append(const Append& append) final;
    Sequence wait_beyond(Sequence seen, std::chrono::milliseconds at_most,
                         const std::stop_token& stop) const final;
    Redacted redact(const Redaction& redaction) final;

protected:
    /// @param poll_every how long news of other processes may stay unnoticed
    explicit SharedJournal(std::chrono::milliseconds poll_every)
        : group_([this](std::span<Request* const> requests) { commit(requests); }),
          poll_every_(poll_every) {}

    /// Plans and stores a batch; alone among the writers of this process.
    virtual void commit(std::span<Request* const> requests) = 0;

    /// One transaction: erases the bodies of these envelopes (those that still have one), drops all
    /// fold snapshots and writes the record. Alone among the writers of this process.
    /// @return how many were erased, and the record's sequence; 0 when none was
    virtual Redacted erase(const Redaction& redaction, std::span<const Sequence> sequences) = 0;

    /// The envelopes that have a body and may be meant; a superset is fine as long as `is_meant`
    /// of Candidate decides.
    struct Candidate {
        Sequence sequence;
        Instant at;
        std::string kind;
        std::string subject;
    };
    virtual void each_candidate(const Redaction& redaction,
                                const std::function<void(const Candidate&)>& visit) const = 0;

    /// Removes what the erased bodies left in the store's files.
    /// @return false when something may linger
    virtual bool remove_remains() = 0;

    /// Called before the first wait and each one after it.
    virtual void prepare_to_wait() const {}

    GroupCommit& group() { return group_; }
    void announce(Sequence last) const;

private:
    GroupCommit group_;
    std::chrono::milliseconds poll_every_;
    mutable std::mutex news_;
    mutable std::condition_variable_any has_news_;
    mutable Sequence latest_ = 0;
    mutable std::chrono::steady_clock::time_point polled_{};
};

/// Runs of neighbours in an ascending list.
std::vector<Range> ranges_of(std::span<const Sequence> sequences);

/// The record of a redaction, not yet sealed.
Envelope redaction_record(const Redaction& redaction, std::span<const Sequence> sequences);

}  // namespace waybourne::journal::internal
