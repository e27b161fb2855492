#include "server/journal_counts.hpp"

#include <algorithm>
#include <chrono>
#include <map>

#include "referral/referral_times.hpp"
#include "server/referrals/all_records.hpp"
#include "triage/assess.hpp"
#include "vocabulary/local_date.hpp"

namespace waybourne::server {

namespace {

/// When a place of the register received her; none: it has not, as far as is recorded.
std::optional<Instant> received_at(const Snapshot& snapshot, const ReferralRecord& record) {
    const referral::ReferralTimes times = referral::referral_times(record.life);
    if (!record.life.at || snapshot.facilities.find_facility(*record.life.at) == nullptr) {
        return std::nullopt;
    }
    return times.received ? times.received : times.care_begun;
}

enum class Suspected { direct, other, not_known };

Suspected suspected_of(const Snapshot& snapshot, const coverage::IndicatorProfile& profile,
                       const ReferralRecord& record) {
    if (record.opening == nullptr) {
        return Suspected::not_known;
    }
    try {
        const triage::Assessment assessment =
            triage::assess(snapshot.protocol, record.opening->request.findings,
                           record.opening->opened_at, triage::Questions::leave_out);
        const auto& direct = profile.direct_conditions;
        const bool is_direct = std::any_of(
            assessment.suspected.begin(), assessment.suspected.end(), [&](const auto& one) {
                return std::find(direct.begin(), direct.end(), one.condition) != direct.end();
            });
        return is_direct ? Suspected::direct : Suspected::other;
    } catch (const InputError&) {
        return Suspected::not_known;  // a field that today's protocol does not know
    }
}

/// Of the woman herself; none: nobody has told it.
std::optional<referral::PersonOutcome> outcome_of_mother(const ReferralRecord& record) {
    const auto found = record.life.persons.find(referral::Person{});
    return found == record.life.persons.end() ? std::nullopt : found->second;
}

}  // namespace

coverage::Month month_of(const TimeZone& zone, Instant at) {
    const std::chrono::year_month_day date{day_of(zone.local(at))};
    return {static_cast<int>(date.year()) * 12 +
            static_cast<int>(static_cast<unsigned>(date.month())) - 1};
}

JournalCounts journal_counts(const Snapshot& snapshot, const journal::Journal& journal,
                             const coverage::IndicatorProfile& profile,
                             std::span<const coverage::MonthlyCount> months, coverage::Month first,
                             coverage::Month last) {
    JournalCounts made;
    double complications = 0;
    double deaths = 0;
    std::map<std::pair<FacilityId, coverage::Month>, double> by_place;
    for_each_referral(journal, [&](const ReferralRecord& record) {
        const auto at = received_at(snapshot, record);
        const coverage::Month month = at ? month_of(snapshot.zone, *at) : coverage::Month{};
        if (!at || month < first || last < month) {
            return;
        }
        ++made.received;
        const Suspected suspected = suspected_of(snapshot, profile, record);
        if (suspected != Suspected::direct) {
            ++(suspected == Suspected::other ? made.other_conditions : made.without_findings);
            return;
        }
        ++complications;
        ++by_place[{*record.life.at, month}];
        const auto outcome = outcome_of_mother(record);
        made.without_outcome += !outcome || *outcome == referral::PersonOutcome::not_known ? 1 : 0;
        deaths += outcome == referral::PersonOutcome::died ? 1 : 0;
    });
    if (!profile.direct_conditions.empty()) {
        made.counts.complications = complications;
        made.counts.direct_deaths = deaths;
    }
    for (const coverage::MonthlyCount& row : months) {
        const auto found = by_place.find({row.facility, row.month});
        if (found != by_place.end() && row.counts.complications &&
            *row.counts.complications < found->second) {
            made.above_monthly.push_back(row.facility.value() + " " + coverage::to_text(row.month));
        }
    }
    return made;
}

}  // namespace waybourne::server
