#include "referral/referral_times.hpp"

#include <algorithm>

namespace waybourne::referral {

namespace {

std::optional<Instant> first(const Life& life, EventKind kind) {
    const auto found = std::find_if(life.events.begin(), life.events.end(),
                                    [&](const Event& event) { return event.kind == kind; });
    return found == life.events.end() ? std::nullopt : std::optional{found->occurred_at};
}

std::optional<Instant> later(std::optional<Instant> one, std::optional<Instant> other) {
    return std::max(one, other);  // nothing is less than any moment
}

std::optional<Instant> outcome_of(const Life& life) {
    switch (life.end) {
        case End::closed:
            return life.last(EventKind::closed);
        case End::died:
            return life.last(EventKind::died_before_arrival);
        default:
            return std::nullopt;
    }
}

std::optional<Seconds> between(std::optional<Instant> from, std::optional<Instant> to) {
    if (!from || !to || *to < *from) {
        return std::nullopt;
    }
    return *to - *from;
}

}  // namespace

ReferralTimes referral_times(const Life& life) {
    return {
        .danger_sign_recognised = first(life, EventKind::danger_sign_recognised),
        .decided = first(life, EventKind::decided),
        .sent = first(life, EventKind::opened),
        .answered = later(life.last(EventKind::accepted), life.last(EventKind::declined)),
        .vehicle_assigned = first(life, EventKind::vehicle_assigned),
        .left_base = first(life, EventKind::transport_sent),
        .reached_the_woman = first(life, EventKind::with_the_woman),
        .left_with_her = first(life, EventKind::departed),
        .reached_the_place = life.last(EventKind::arrived),
        .received = life.last(EventKind::received),
        .care_begun = life.last(EventKind::care_begun),
        .outcome = outcome_of(life),
        .outcome_returned = life.outcome_returned_at,
    };
}

ReferralDurations durations_of(const ReferralTimes& times) {
    return {
        .recognition_to_decision = between(times.danger_sign_recognised, times.decided),
        .answer = between(times.sent, times.answered),
        .dispatch = between(times.sent, times.vehicle_assigned),
        .mobilisation = between(times.vehicle_assigned, times.left_base),
        .response = between(times.sent, times.reached_the_woman),
        .on_scene = between(times.reached_the_woman, times.left_with_her),
        .transport = between(times.left_with_her, times.reached_the_place),
        .sent_to_arrival = between(times.sent, times.reached_the_place),
        .handover = between(times.reached_the_place, times.received),
        .arrival_to_care = between(times.reached_the_place, times.care_begun),
        .decision_to_care = between(times.decided, times.care_begun),
        .outcome_to_sender = between(times.outcome, times.outcome_returned),
    };
}

}  // namespace waybourne::referral
