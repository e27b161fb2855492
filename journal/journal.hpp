#pragma once
/// What happened, in order, never lost: the one durable state besides imported files.
///
/// Two stores keep this promise, and the same tests hold both to it: SQLite in one file, and
/// PostgreSQL where several servers share a journal. `open_journal.hpp` chooses by the address.
///
/// The promise. An event whose append has returned survives the end of the process at any instant
/// and, on a disk that tells the truth, a power cut. Envelopes become visible in the order of their
/// sequence, without a gap, to every reader. A failed append stores nothing that was acknowledged;
/// whoever does not learn the outcome sends it again with the same idempotency key.

#include <chrono>
#include <cstddef>
#include <functional>
#include <memory>
#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "journal/envelope.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::journal {

/// A subject is not where the caller believed it to be: read it again, then decide again.
class VersionConflict : public Conflict {
public:
    VersionConflict(std::string subject, Sequence expected, Sequence actual);
    const std::string& subject() const { return subject_; }
    Sequence expected() const { return expected_; }
    Sequence actual() const { return actual_; }

private:
    std::string subject_;
    Sequence expected_;
    Sequence actual_;
};

/// The idempotency key was used before, for something else.
class KeyReused : public Conflict {
public:
    explicit KeyReused(Sequence first);
    /// Of what was stored under it.
    Sequence first() const { return first_; }

private:
    Sequence first_;
};

/// The disk, or the quota, is full. Nothing was stored.
class StorageFull : public Unavailable {
public:
    using Unavailable::Unavailable;
};

/// The store can be read but not written. Nothing was stored.
class StorageReadOnly : public Unavailable {
public:
    using Unavailable::Unavailable;
};

/// Another process holds the store longer than we wait. Nothing was stored.
class StorageBusy : public Unavailable {
public:
    using Unavailable::Unavailable;
};

/// The disk or the connection failed. Whether the events are stored is not known: send them again
/// with the same idempotency key.
class StorageFailed : public Unavailable {
public:
    using Unavailable::Unavailable;
};

/// Where the events of one append are.
struct Appended {
    Sequence first = 0;
    Sequence last = 0;
    bool was_there = false;  ///< a retry: stored before, under the same key
    bool operator==(const Appended&) const = default;
};

/// Which bodies to erase. A filter that is empty lets everything pass; not all three may be empty.
struct Redaction {
    Instant at;
    std::string who;
    std::string reason;                      ///< stays in the journal: nothing personal
    std::vector<std::string> subjects = {};  ///< only these
    std::vector<std::string> kinds = {};     ///< only these
    std::optional<Instant> older_than = {};  ///< only what happened before
    std::vector<std::string> holds = {};     ///< never these subjects: under review
};

struct Redacted {
    Sequence count = 0;  ///< bodies erased
    Sequence record =
        0;  ///< the last `journal.redacted` envelope; 0 when there was nothing to erase
    /// The old bytes may still lie in files of the store: with SQLite when somebody reads an old
    /// version just now (the next redaction or start removes them), with PostgreSQL in free space
    /// and in its log (docs/journal.md says how to remove them).
    bool may_linger = false;
};

/// The kind and subject under which the journal records what it erased.
inline constexpr const char* redacted_kind = "journal.redacted";
inline constexpr const char* journal_subject = "journal";

/// What a fold has worked out up to a sequence. See fold.hpp.
struct FoldSnapshot {
    std::string name;
    int version = 0;  ///< of the fold's rules and of the state's form
    Head head;        ///< up to and with this envelope
    std::string state;
    bool operator==(const FoldSnapshot&) const = default;
};

/// All functions may be called from any thread.
class Journal {
public:
    Journal() = default;
    virtual ~Journal() = default;
    Journal(const Journal&) = delete;
    Journal& operator=(const Journal&) = delete;

    /// Stores the events and returns when they are durable. Callers that come at the same time
    /// share one sync of the disk (group commit), so many callers at once cost little more than
    /// one.
    ///
    /// A key that its sender used before is a retry: the same kinds, subjects and bodies give the
    /// sequences stored then, whatever is expected now; what has been redacted since is compared
    /// by kinds and subjects alone.
    /// @throws InputError as `check` does; VersionConflict; KeyReused; StorageFull;
    ///         StorageReadOnly; StorageBusy; StorageFailed; DataError
    virtual Appended append(const Append& append) = 0;

    /// The envelopes after a sequence, in order, at most `limit` of them.
    /// @throws DataError naming the envelope that cannot be read
    virtual std::vector<Envelope> read(Sequence after, std::size_t limit) const = 0;

    /// The same, of one subject.
    virtual std::vector<Envelope> read_subject(const std::string& subject, Sequence after,
                                               std::size_t limit) const = 0;

    /// What was stored under a sender's idempotency key, in order of its parts; empty when the key
    /// is new.
    virtual std::vector<Envelope> read_key(const std::string& who,
                                           const std::string& idempotency_key) const = 0;

    /// The last sequence of a subject; 0 when there is none. What an `Expectation` compares.
    virtual Sequence version(const std::string& subject) const = 0;

    virtual Head head() const = 0;

    /// Waits until there is something after `seen`, the time is over, or a stop is requested.
    /// Events of other processes are noticed too (SQLite: within 0.2 s; PostgreSQL: at once).
    /// @return the last sequence known; not beyond `seen` when the wait was in vain
    virtual Sequence wait_beyond(Sequence seen, std::chrono::milliseconds at_most,
                                 const std::stop_token& stop) const = 0;

    /// Erases salt and body of what the filters choose, and every fold snapshot, since its state
    /// may hold what was erased; records that as an envelope of the journal. The chain stays whole.
    /// @throws InputError when nothing is filtered; as `append` does
    virtual Redacted redact(const Redaction& redaction) = 0;

    /// Replaces the snapshot of the same fold and version. Not kept when its head is not in this
    /// journal or something has been redacted after it.
    /// @return whether it was kept
    virtual bool save_snapshot(const FoldSnapshot& snapshot) = 0;

    /// None when there is none of this version that fits this journal.
    virtual std::optional<FoldSnapshot> load_snapshot(const std::string& name,
                                                      int version) const = 0;

    /// Stores envelopes that another journal sealed: all that `next` gives until it gives none, or,
    /// when it throws, nothing.
    /// @throws Conflict unless this journal is empty
    virtual Head restore(const std::function<std::optional<Envelope>()>& next) = 0;

    /// What the store itself finds wrong with its files; empty when nothing. Reads everything.
    virtual std::string store_damage() const = 0;
};

}  // namespace waybourne::journal
