#pragma once
/// How plans are compared: every weight and tolerance, and the order of the criteria.
///
/// A plan is one place, or two places in order. Plans are compared like this; at each step every
/// plan that is as good as the best one remaining, within the tolerance, stays in:
///
///   0. the fewest critical needs left without any place (exact): late care is better than none;
///   1. lateness: the sum over the needs of weight × time late ÷ time allowed
///   (`lateness_tolerance`);
///   2. the time until the last critical need is met, then until the last need (`time_tolerance`);
///      then, among those still equal, the plan whose last place can continue most of what the
///      clinic itself has begun (exact);
///   3. the number of stops (exact);
///   4. the number of changes of vehicle (exact);
///   5. the ids of the places, as text, in order of the stops.
///
/// Beforehand a second stop must earn its place: a plan of two stops takes part only if it leaves
/// fewer critical needs unmet than the best single place, or saves at least `second_stop_saves` of
/// its lateness. "In time" is judged by `allow`, the 90th percentile of the way, throughout.
///
/// How a need counts:
/// - met at the place: from the moment care begins (care_begins.hpp), compared with its deadline;
///   not yet confirmed counts as if all is well: what is unconfirmed decides what is said, not who
///   is considered;
/// - without a deadline: never late, but it still counts in criterion 2;
/// - left unmet, or begun later than `unmet_after`: as if it began at `unmet_after` from now, which
///   is later than any way within `search_limit` allows. So meeting a need always beats not meeting
///   it, and a missing need of a day weighs less than a missing need of an hour;
/// - available at the clinic itself: met, no part of the sum.
///
/// The figures are proposals that a clinical lead must sign; none has
/// a published source unless one is named.

#include <cstddef>
#include <optional>
#include <string_view>
#include <vector>

#include "vocabulary/identifier.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::referral {

/// Every figure the choice rests on. Pass a changed copy to try others.
struct ChoiceSettings {
    /// A critical need weighs this much, any other need one. Proposal.
    double critical_weight = 3;
    /// Plans this close in lateness count as equal. Proposal.
    double lateness_tolerance = 0.02;
    /// Plans this close in time count as equal. Proposal.
    Seconds time_tolerance = 5min;
    /// What a second stop must save in lateness. Proposal.
    double second_stop_saves = 0.10;
    /// How long an unconfirmed place is given to answer the phone. Proposal.
    Seconds call_wait = 5min;
    /// From the decision until she leaves, when nothing better is known. Proposals of the
    /// clinical specification, section g.
    Seconds departure_delay_when_now = 15min;
    Seconds departure_delay = 30min;
    /// From arrival until the receiving team has taken over. Mean of 13.84 min over transfers
    /// between hospitals (Jana et al., Scientific Reports 13, 2023,
    /// doi 10.1038/s41598-023-48713-1), rounded.
    Seconds handover = 14min;
    /// From care begun at a first stop until she leaves it. Proposal: time on the scene when she is
    /// stabilised first.
    Seconds first_stop_stay = 20min;
    /// No way longer than this (typical, per stage) is looked for. Proposal.
    Seconds search_limit = 24h;
    /// When a need that no place of the plan meets is taken to begin. Proposal.
    Seconds unmet_after = 7 * 24h;
    /// How many alternatives are shown. Proposal; design.md asks for two at least.
    std::size_t alternatives = 2;

    bool operator==(const ChoiceSettings&) const = default;
};

/// One figure of the table, for documentation and for the screen of an administrator.
struct ChoiceFigure {
    std::string_view name;
    /// In `unit`: `weight`, `share`, `min` or `count`.
    double value = 0;
    std::string_view unit;
    /// False: a proposal without a published source.
    bool has_source = false;
};

/// All figures, in the order of the struct.
std::vector<ChoiceFigure> figures(const ChoiceSettings& settings);

/// @throws InputError naming every figure that is negative, not finite or out of order
///         (`unmet_after` must lie beyond two stages of `search_limit`)
void check(const ChoiceSettings& settings);

/// What the criteria look at, for one plan.
struct Merits {
    std::size_t unmet_critical = 0;
    double lateness = 0;
    /// From now, by `allow`; zero when there is no such need.
    Seconds last_critical_after{};
    Seconds last_need_after{};
    /// How many of the needs the clinic itself meets the last place can continue.
    std::size_t continues = 0;
    /// The places in order: one or two.
    std::vector<FacilityId> places;

    bool operator==(const Merits&) const = default;
};

/// Weight × time late ÷ time allowed of one need; not negative. A `within` of less than a minute
/// counts as one minute.
double lateness_of(bool critical, Seconds late, Seconds within, const ChoiceSettings& settings);

}  // namespace waybourne::referral
