#pragma once
/// What can happen to a referral, told as facts. An event is only ever added: a wrong one is
/// replaced by a later one that corrects it (standing.hpp).

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "vocabulary/identifier.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::referral {

/// Chosen by whoever writes the event down, unique; also what makes a repeated sending harmless.
using EventId = Id<struct EventTag>;

/// Stored by wire name, so new ones may stand anywhere. The letters t1 to t13: referral_times.hpp.
enum class EventKind {
    danger_sign_recognised,  ///< t1
    decided,                 ///< t2: to send her on
    opened,                  ///< t3: the referral was sent; `place`: the one asked, if any
    informed,                ///< the asked place has got word
    accepted,                ///< t4
    declined,                ///< t4; `reason`
    unanswered,              ///< the asked place did not answer in time
    diverted,                ///< another place is asked from now on: `place`
    vehicle_assigned,        ///< t5; `vehicle`
    transport_sent,          ///< t6: the vehicle left its base
    with_the_woman,          ///< t7
    departed,                ///< t8: she left, with a vehicle of ours or not
    arrived,                 ///< t9; `place`, when it is another than the one asked
    received,                ///< t10: handed over
    care_begun,              ///< t11
    closed,                  ///< t12, with an outcome for each person
    outcome_returned,        ///< t13: the sender knows the outcome
    refused,                 ///< by the woman or family; `ask_again_at`
    agreed,                  ///< after a refusal
    cancelled,               ///< `reason`
    lost_contact,
    contact_regained,
    died_before_arrival,  ///< `persons` who died; nobody named: the woman
    person_added,         ///< a baby born meanwhile, or another woman on the same way
    alert_raised,         ///< `alert`
    alert_acknowledged,   ///< `alert`
    merged,               ///< `other` tells of the same case
    unmerged,             ///< it does not
    withdrawn,            ///< `corrects` never happened
};

inline constexpr std::size_t event_kind_count = 29;

/// All of them, in the order above.
const std::array<EventKind, event_kind_count>& event_kinds();

/// `transport_sent`, `died_before_arrival`, …
std::string_view wire_name(EventKind kind);
std::optional<EventKind> find_event_kind(std::string_view wire_name);

/// In what function somebody acted. `service` is this software itself.
enum class Role { health_worker, facility, dispatcher, driver, service };

std::string_view wire_name(Role role);
std::optional<Role> find_role(std::string_view wire_name);

/// Who: a function at a place, never a name.
struct By {
    Role role = Role::service;
    /// None: the district's own.
    std::optional<FacilityId> facility = {};
    auto operator<=>(const By&) const = default;
};

enum class PersonKind { mother, baby };

std::string_view wire_name(PersonKind kind);
std::optional<PersonKind> find_person_kind(std::string_view wire_name);

/// Somebody the referral is about: the first mother is there from the beginning.
struct Person {
    PersonKind kind = PersonKind::mother;
    int number = 1;  ///< from 1, for each kind by itself
    auto operator<=>(const Person&) const = default;
};

/// How it ended for one person. `not_known` is an answer too: it is not the same as alive.
enum class PersonOutcome {
    alive_well,
    alive_with_harm,
    still_in_care,
    sent_onward,
    stillborn,
    died,
    not_known,
};

std::string_view wire_name(PersonOutcome outcome);
std::optional<PersonOutcome> find_person_outcome(std::string_view wire_name);

/// A person, and the outcome where it is told.
struct PersonReport {
    Person person = {};
    std::optional<PersonOutcome> outcome = {};
    auto operator<=>(const PersonReport&) const = default;
};

/// One fact. What does not apply to its kind is empty.
struct Event {
    EventId id;
    EventKind kind = EventKind::opened;
    Instant occurred_at{};  ///< when it happened, as far as the writer knows
    Instant recorded_at{};  ///< when it was written down, by the clock that was there
    By by = {};
    std::optional<FacilityId> place = {};
    std::optional<VehicleId> vehicle = {};
    /// Of `vehicle_assigned`: the vehicle that takes her over on the way; it may be the same one,
    /// when she sets out by her own transport and is met.
    std::optional<VehicleId> takes_over = {};
    /// A code or short words; personal data have no place here.
    std::string reason = {};
    std::vector<PersonReport> persons = {};
    std::optional<Instant> ask_again_at = {};
    std::string alert = {};
    std::optional<ReferralId> other = {};
    /// The event that this one stands for instead.
    std::optional<EventId> corrects = {};
    auto operator<=>(const Event&) const = default;
};

}  // namespace waybourne::referral
