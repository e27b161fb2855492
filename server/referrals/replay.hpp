#pragma once
/// A recommendation of the past, made again from what the journal keeps of it, and compared.

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "journal/journal.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// Something the answer rests on that is no longer what it was.
struct ChangedSource {
    /// `map`, `protocol`, `facilities`, `reports`, `district`, `speeds`, `texts`, `program`,
    /// `erased_entry`, `lost_road_change`; with today's knowledge also `report` and `road_change`.
    std::string what;
    /// SHA-256, version, id or words; empty: there was none.
    std::string then = {};
    std::string now = {};
    bool operator==(const ChangedSource&) const = default;
};

/// One value that comes out otherwise.
struct Difference {
    /// RFC 6901: `/answer/stages/0/facility`, `/plan/leave_by`.
    std::string pointer;
    /// JSON; empty: not there.
    std::string then = {};
    std::string now = {};
    bool operator==(const Difference&) const = default;
};

/// One recommendation that was made again.
struct Replayed {
    /// Of the entry that keeps it.
    journal::Sequence sequence = 0;
    /// What happened then: `opened` or `diverted`.
    std::string step;
    /// The moment it was made for.
    Instant at{};
    /// False: an entry of an earlier program, which kept the plan alone.
    bool keeps_the_answer = true;
    std::vector<ChangedSource> changed = {};
    std::vector<Difference> differences = {};
    /// Beyond the hundred that are listed.
    std::size_t more_differences = 0;
    /// Why it can no longer be made at all; empty: it can.
    std::string failure = {};

    bool is_identical() const { return failure.empty() && differences.empty(); }
    /// It comes out otherwise although everything that it rests on is the same: the program has
    /// changed its mind.
    bool program_changed_its_mind() const;
};

/// Which knowledge the same question at the same moment is answered from.
enum class Knowledge {
    of_then,  ///< places and roads as they were known then
    of_today  ///< what has been reported since, as if it had been known then
};

struct ReplayQuestion {
    std::string code;
    /// The entry; none: every recommendation of the case.
    std::optional<journal::Sequence> sequence = {};
    Knowledge knowledge = Knowledge::of_then;
};

/// In the order of the journal. O(envelopes) for each.
/// @param base the district as its files alone have it; `today`: with all that the journal says
/// @throws NotFound when there is no such referral, or no recommendation in that entry; Conflict
///         when it has been redacted; DataError for an entry that cannot be read
std::vector<Replayed> replay(const journal::Journal& journal, const Snapshot& base,
                             const Snapshot& today, const ReplayQuestion& question);

}  // namespace waybourne::server
