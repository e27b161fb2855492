#pragma once
/// Who has seen what of whom, and when.

#include <cstdint>
#include <deque>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "journal/journal.hpp"
#include "server/caller.hpp"
#include "server/http/endpoint.hpp"
#include "server/log.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::server {

/// One reading of stored personal data: ids only, nothing of what was shown.
struct Read {
    Instant at{};
    std::string who;                      ///< the account
    std::string path;                     ///< what was asked for, e.g. `/v1/referrals/7K3M9QXA`
    std::vector<std::string> shown = {};  ///< codes of cases that the path does not name
    bool operator==(const Read&) const = default;
};

/// The journal's kind of such an entry; its subject is `audit/` and the day in UTC.
inline constexpr const char* read_kind = "audit.read";

/// Writes before the answer leaves. When the journal takes nothing (full disk), the answer is given
/// all the same, since a woman may be on the way: up to `most_kept_back` entries wait in memory for
/// the next that can be written, each time with a line in the log; beyond that nothing is shown.
/// May be used from several threads.
class AuditTrail {
public:
    static constexpr std::size_t most_kept_back = 10'000;
    using Store = std::function<void(const journal::Append&)>;

    /// @param store appends to the journal that `journal` reads
    AuditTrail(Store store, const journal::Journal& journal, Log& log)
        : store_(std::move(store)), journal_(journal), log_(log) {}

    /// @throws Unavailable when too many are kept back
    void note(const Read& read);
    std::size_t kept_back() const;
    const journal::Journal& journal() const { return journal_; }

private:
    Store store_;
    const journal::Journal& journal_;
    Log& log_;
    mutable std::mutex mutex_;
    std::deque<Read> kept_back_;
};

/// `read` as the journal keeps it.
journal::Append to_append(const Read& read);

struct ReadPage {
    std::vector<std::pair<journal::Sequence, Read>> reads;
    /// After which sequence the next page begins; none: this was the last.
    std::optional<journal::Sequence> next;
};

/// The reads of one day (`2026-03-04`), in order; those that retention has erased are left out.
ReadPage reads_of_day(const journal::Journal& journal, const std::string& day,
                      journal::Sequence after, std::size_t most);

/// The endpoint, noting each answer that shows a person, where the access table says that it does;
/// also a refusal that tells of a case ("somebody was quicker: it now stands so").
Endpoint audited(Endpoint endpoint, AuditTrail& trail, const Clock& clock);

}  // namespace waybourne::server
