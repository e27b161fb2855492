#pragma once
/// The life of a referral: what state it is in, worked out from its events.
///
/// Two tracks run beside each other and both are shown: the reply of the place that was asked, and
/// the journey. A departure waits for neither a reply nor a vehicle. docs/referral-life.md has the
/// table of states and steps.
///
/// **The one state shown** is the first of these that holds:
///
///   1. closed; cancelled; died before arrival (an end);
///   2. lost contact, until somebody hears of her again;
///   3. refused, until she agrees or leaves after all;
///   4. diverted, until the new place has got word or has answered, or she is there;
///   5. the journey: received, arrived, departed, with the woman, transport sent;
///   6. the reply: accepted, declined, unanswered, informed;
///   7. opened.

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "referral/event.hpp"

namespace waybourne::referral {

/// The states of a referral, everywhere.
enum class State {
    opened,
    informed,
    accepted,
    declined,
    unanswered,
    transport_sent,
    with_the_woman,
    departed,
    arrived,
    received,
    closed,
    refused,
    diverted,
    cancelled,
    lost_contact,
    died_before_arrival,
};

inline constexpr std::size_t state_count = 16;

std::string_view wire_name(State state);
std::optional<State> find_state(std::string_view wire_name);

/// The reply of the place asked last.
enum class Reply { none, informed, accepted, declined, unanswered };

/// How far she has come, in this order.
enum class Journey { not_begun, transport_sent, with_the_woman, departed, arrived, received };

std::string_view wire_name(Reply reply);
std::string_view wire_name(Journey journey);

enum class End { none, closed, cancelled, died };

enum class FlagKind {
    out_of_sequence,  ///< the step was not possible then; kept all the same
    clock_fault,      ///< a time goes back by more than `clock_tolerance`
    incomplete,       ///< something the step needs was left out, e.g. an outcome for each person
    ring_of_corrections,
};

std::string_view wire_name(FlagKind kind);

/// What somebody should look at, about one event.
struct Flag {
    EventId event;
    FlagKind kind{};
    auto operator<=>(const Flag&) const = default;
};

/// An alert that was raised (watch.hpp), and whether somebody has taken it on.
struct RaisedAlert {
    std::optional<Instant> raised_at = {};
    std::optional<Instant> acknowledged_at = {};
    bool operator==(const RaisedAlert&) const = default;
};

/// Clocks may differ by this much without a remark. Our own figure, no source.
inline constexpr Seconds clock_tolerance = 2min;
/// The outcome goes back to the sender within this time of the end (design.md section 6).
inline constexpr Seconds outcome_returns_within = 24h;

/// All that is known of a referral now. Made by `life_of` only.
struct Life {
    bool is_opened = false;
    Reply reply = Reply::none;
    Journey journey = Journey::not_begun;
    End end = End::none;
    bool is_refused = false;
    bool has_lost_contact = false;
    /// Another place was named, and it has neither got word nor answered.
    bool is_diverted = false;
    /// She is at a place and is to leave it for another one.
    bool goes_onward = false;

    std::optional<FacilityId> sender = {};
    std::optional<FacilityId> asked = {};  ///< the place asked now
    std::optional<FacilityId> at = {};     ///< where she arrived last
    std::optional<VehicleId> vehicle = {};
    /// The vehicle that is to take her over on the way, until it leaves with her; none: no other
    /// one, or `vehicle` itself stands in for one that she set out in.
    std::optional<VehicleId> second_vehicle = {};
    /// How far the vehicle that takes her over has come, up to being with her; none: she is in the
    /// vehicle that she stays in, as far as is known. The journey goes on beside it, and never
    /// back.
    std::optional<Journey> takeover = {};
    bool has_care_begun = false;
    std::optional<Instant> ask_again_at = {};
    int diversions = 0;
    int onward_journeys = 0;

    /// Everybody, with the outcome where it is known; in order.
    std::map<Person, std::optional<PersonOutcome>> persons = {{Person{}, std::nullopt}};
    /// When the outcome must be back with the sender; none before the end, or when cancelled.
    std::optional<Instant> outcome_due = {};
    std::optional<Instant> outcome_returned_at = {};

    std::map<std::string, RaisedAlert> alerts = {};
    std::vector<Flag> flags = {};
    /// The events that stand, in order.
    std::vector<Event> events = {};

    /// She is at a place, and is not to leave it for another one.
    bool is_there() const { return journey >= Journey::arrived && !goes_onward; }

    bool is_open() const { return end == End::none; }
    /// By the rule at the top of this file.
    State state() const;
    /// Those of `persons` without an outcome.
    std::vector<Person> without_outcome() const;
    /// When the last event of this kind happened.
    std::optional<Instant> last(EventKind kind) const;
    bool operator==(const Life&) const = default;
};

/// The state after these events, in whatever order they are given. Nothing is dropped: a step that
/// was not possible is applied as far as it takes the journey on, never back, and flagged. A
/// journey that goes on after a cancellation opens the referral again (flagged): she is on the way.
/// O(n log n).
Life life_of(std::span<const Event> events);

}  // namespace waybourne::referral
