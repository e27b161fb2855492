#pragma once
/// A referral as answers show it.

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "server/caller.hpp"
#include "server/json/writer.hpp"
#include "server/referrals/records.hpp"
#include "server/snapshot.hpp"
#include "server/words.hpp"
#include "triage/assessment.hpp"

namespace waybourne::server {

/// What one answer about a referral is made from.
struct ReferralView {
    const ReferralRecord& record;
    const Snapshot& snapshot;
    const Caller& caller;
    Instant now{};
    /// Of one woman, as somebody decided; this referral not among them.
    std::vector<std::string> merged_with = {};
    /// Other referrals that may be of the same woman: a question to a person.
    std::vector<referral::MergeOffer> offers = {};
};

/// The whole referral: state, both tracks, plan, times, needs, what is possible and what is
/// overdue, history. Findings are shown to those who give her care, not to drivers and dispatchers.
std::string render_referral(const ReferralView& view);

/// What she needs, by the protocol in force; none when the findings are no longer kept or no longer
/// fit it.
std::optional<triage::Assessment> assessment_of(const ReferralView& view);

/// The same, of a record alone.
std::optional<triage::Assessment> assessment_of(const ReferralRecord& record,
                                                const Snapshot& snapshot, Instant now);

/// `overdue`: the steps past their time, with who is to act.
void write_overdue(JsonWriter& json, const ReferralRecord& record, const Words& words);

/// One line of a list.
void write_summary(JsonWriter& json, const ReferralSummary& summary);

/// One expected arrival: when, and what to prepare.
void write_arrival(JsonWriter& json, const ReferralView& view);

/// The steps that the caller may tell now, as a JSON list.
std::string possible_steps(const referral::Life& life, const Caller& caller);

}  // namespace waybourne::server
