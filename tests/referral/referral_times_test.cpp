#include "referral/referral_times.hpp"

#include <doctest/doctest.h>

#include "tests/referral/told.hpp"

using namespace waybourne;
using namespace waybourne::referral;
using K = EventKind;
using Kinds = std::vector<EventKind>;

namespace {

Instant after(Seconds span) {
    return opening_time + span;
}

}  // namespace

TEST_CASE("The thirteen moments of a referral, and what lies between them") {
    // Each step ten minutes after the one before. The three delays: Thaddeus and Maine 1994.
    const auto events =
        told(Kinds{K::danger_sign_recognised, K::decided, K::opened, K::accepted,
                   K::vehicle_assigned, K::transport_sent, K::with_the_woman, K::departed,
                   K::arrived, K::received, K::care_begun, K::closed, K::outcome_returned});
    const Life life = life_of(events);
    CHECK(life.flags.empty());
    const ReferralTimes times = referral_times(life);
    CHECK(times == ReferralTimes{after(0min), after(10min), after(20min), after(30min),
                                 after(40min), after(50min), after(60min), after(70min),
                                 after(80min), after(90min), after(100min), after(110min),
                                 after(120min)});
    const ReferralDurations spans = durations_of(times);
    CHECK(spans.recognition_to_decision == 10min);
    CHECK(spans.answer == 10min);
    CHECK(spans.dispatch == 20min);
    CHECK(spans.mobilisation == 10min);
    CHECK(spans.response == 40min);
    CHECK(spans.on_scene == 10min);
    CHECK(spans.transport == 10min);
    CHECK(spans.sent_to_arrival == 60min);
    CHECK(spans.handover == 10min);
    CHECK(spans.arrival_to_care == 20min);
    CHECK(spans.decision_to_care == 90min);
    CHECK(spans.outcome_to_sender == 10min);
}

TEST_CASE("What nobody wrote down is not recorded, and not a zero") {
    const ReferralTimes times = referral_times(life_of(told(Kinds{K::opened, K::arrived})));
    CHECK(times.left_with_her == std::nullopt);
    CHECK(times.outcome == std::nullopt);
    const ReferralDurations spans = durations_of(times);
    CHECK(spans.sent_to_arrival == 10min);
    CHECK(spans.transport == std::nullopt);
    CHECK(spans.decision_to_care == std::nullopt);
    CHECK(durations_of(referral_times(Life{})) == ReferralDurations{});
}

TEST_CASE("A span that would be negative is not recorded: a clock was wrong") {
    const auto events = told(Kinds{K::opened, K::arrived, K::departed});
    CHECK(durations_of(referral_times(life_of(events))).transport == std::nullopt);
}

TEST_CASE("Asked twice and sent onward: from the first leaving to the last arrival") {
    const auto events = told(Kinds{K::opened, K::declined, K::diverted, K::accepted, K::departed,
                                   K::arrived, K::diverted, K::departed, K::arrived, K::received});
    const ReferralTimes times = referral_times(life_of(events));
    CHECK(times.answered == after(30min));
    CHECK(times.left_with_her == after(40min));
    CHECK(times.reached_the_place == after(80min));
}

TEST_CASE("Death before arrival is an outcome; a cancelled referral has none") {
    CHECK(referral_times(life_of(told(Kinds{K::opened, K::died_before_arrival}))).outcome ==
          after(10min));
    CHECK(referral_times(life_of(told(Kinds{K::opened, K::cancelled}))).outcome == std::nullopt);
}
