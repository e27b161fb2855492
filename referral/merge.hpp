#pragma once
/// One woman, reported more than once: by the page, by text, by telephone. Two referrals are never
/// made one silently: it is offered, a person decides, and the decision can be turned round.
///
/// A decision is an event, `merged` or `unmerged`, of either referral about the other. No event
/// ever moves from one referral to another: merging only reads them together, so that unmerging
/// gives back exactly what was.

#include <span>
#include <string_view>
#include <utility>
#include <vector>

#include "referral/life.hpp"
#include "triage/findings.hpp"
#include "vocabulary/message.hpp"

namespace waybourne::referral {

/// By what way a referral came.
enum class Channel { page, text, telephone };

std::string_view wire_name(Channel channel);

struct ReportedCase {
    ReferralId referral;
    Channel channel = Channel::page;
    FacilityId sender;
    Instant at{};
    triage::Findings findings = {};
};

/// A referral with all its events.
struct ReferralEvents {
    ReferralId referral;
    std::vector<Event> events;
};

/// Two referrals in the order of their ids.
using Pair = std::pair<ReferralId, ReferralId>;

/// Whether such an event says of two referrals that they are the same woman, or that they are not.
constexpr bool decides_about_two(EventKind kind) {
    return kind == EventKind::merged || kind == EventKind::unmerged;
}

Pair pair_of(const ReferralId& one, const ReferralId& other);

/// What has been decided about which referrals are one.
struct Cases {
    /// Every referral stands in one of them, by itself or with others: the one opened first leads,
    /// then in the order of ids. In the order of their leaders' ids.
    std::vector<std::vector<ReferralId>> cases;
    /// Said to be two women. Not asked again.
    std::vector<Pair> told_apart;
    /// Told apart, yet in one case because each was merged with a third: to be looked at.
    std::vector<Pair> contradictory;

    bool are_one(const ReferralId& one, const ReferralId& other) const;
};

/// Of several decisions about one pair the last one counts, in the order of standing.hpp.
/// O(n log n) in the number of events.
Cases cases_of(std::span<const ReferralEvents> referrals);

/// The life of one case: all events of its referrals as one, opened by the first of them. Places
/// and times that the others gave on opening are not used.
/// @param members in the order of `Cases`
Life life_of_case(std::span<const ReferralEvents> members);

/// What makes two reports look like one woman. Proposals without a published source.
struct MergeSettings {
    Seconds within = 2h;
    /// Weeks of pregnancy are often estimated.
    double weeks_may_differ = 2;
    double years_may_differ = 5;
    double days_after_birth_may_differ = 1;
    bool operator==(const MergeSettings&) const = default;
};

/// A question to a person: are these one woman?
struct MergeOffer {
    ReferralId first;  ///< the one reported first
    ReferralId second;
    Seconds apart{};
    std::vector<Message> reasons = {};
    bool operator==(const MergeOffer&) const = default;
};

/// Whether the same place reported both, at most `within` apart: only then are they asked about.
bool are_reported_together(const ReportedCase& one, const ReportedCase& other,
                           const MergeSettings& settings = {});

/// Whether nothing that both say rules out that it is the same woman. What only one of them says is
/// unknown in the other, which contradicts nothing. Signs and measurements may change meanwhile; a
/// birth cannot be undone.
bool are_compatible(const ReportedCase& earlier, const ReportedCase& later,
                    const MergeSettings& settings = {});

/// Pairs that are reported together and compatible, about which nothing has been
/// decided; the closest in time first, then by ids. O(n log n + pairs within).
std::vector<MergeOffer> merge_offers(std::span<const ReportedCase> reported, const Cases& cases,
                                     const MergeSettings& settings = {});

}  // namespace waybourne::referral
