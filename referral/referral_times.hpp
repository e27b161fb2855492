#pragma once
/// The thirteen moments of a referral, and what lies between them: from the danger sign to the
/// outcome known to the sender. The view is that of the three delays (to decide, to reach, to
/// receive: Thaddeus and Maine, Social Science & Medicine 38, 1994, 1091-1110).

#include <optional>

#include "referral/life.hpp"

namespace waybourne::referral {

/// None: not recorded, which is itself worth counting. Where a step was taken more than once (asked
/// again, sent onward) t3 and t5 to t8 are the first, t4 and t9 to t13 the last: from when she
/// left the first place until she was where she was to be.
struct ReferralTimes {
    std::optional<Instant> danger_sign_recognised;  ///< t1
    std::optional<Instant> decided;                 ///< t2
    std::optional<Instant> sent;                    ///< t3
    std::optional<Instant> answered;                ///< t4: accepted or declined
    std::optional<Instant> vehicle_assigned;        ///< t5
    std::optional<Instant> left_base;               ///< t6
    std::optional<Instant> reached_the_woman;       ///< t7
    std::optional<Instant> left_with_her;           ///< t8
    std::optional<Instant> reached_the_place;       ///< t9
    std::optional<Instant> received;                ///< t10
    std::optional<Instant> care_begun;              ///< t11
    std::optional<Instant> outcome;                 ///< t12: closed, or died before arrival
    std::optional<Instant> outcome_returned;        ///< t13
    bool operator==(const ReferralTimes&) const = default;
};

ReferralTimes referral_times(const Life& life);

/// None: one of the two moments is not recorded, or they are in the wrong order, so that a clock
/// was wrong.
struct ReferralDurations {
    std::optional<Seconds> recognition_to_decision;  ///< t2 - t1
    std::optional<Seconds> answer;                   ///< t4 - t3
    std::optional<Seconds> dispatch;                 ///< t5 - t3
    std::optional<Seconds> mobilisation;             ///< t6 - t5
    std::optional<Seconds> response;                 ///< t7 - t3
    std::optional<Seconds> on_scene;                 ///< t8 - t7
    std::optional<Seconds> transport;                ///< t9 - t8
    std::optional<Seconds> sent_to_arrival;          ///< t9 - t3
    std::optional<Seconds> handover;                 ///< t10 - t9
    std::optional<Seconds> arrival_to_care;          ///< t11 - t9
    std::optional<Seconds> decision_to_care;         ///< t11 - t2
    std::optional<Seconds> outcome_to_sender;        ///< t13 - t12
    bool operator==(const ReferralDurations&) const = default;
};

ReferralDurations durations_of(const ReferralTimes& times);

}  // namespace waybourne::referral
