#include "referral/event.hpp"

#include "referral/internal/names.hpp"

namespace waybourne::referral {

namespace {

constexpr std::array<std::string_view, event_kind_count> kind_names{
    "danger_sign_recognised",
    "decided",
    "opened",
    "informed",
    "accepted",
    "declined",
    "unanswered",
    "diverted",
    "vehicle_assigned",
    "transport_sent",
    "with_the_woman",
    "departed",
    "arrived",
    "received",
    "care_begun",
    "closed",
    "outcome_returned",
    "refused",
    "agreed",
    "cancelled",
    "lost_contact",
    "contact_regained",
    "died_before_arrival",
    "person_added",
    "alert_raised",
    "alert_acknowledged",
    "merged",
    "unmerged",
    "withdrawn",
};
constexpr std::array<std::string_view, 5> role_names{"health_worker", "facility", "dispatcher",
                                                     "driver", "service"};
constexpr std::array<std::string_view, 2> person_names{"mother", "baby"};
constexpr std::array<std::string_view, 7> outcome_names{
    "alive_well", "alive_with_harm", "still_in_care", "sent_onward", "stillborn",
    "died",       "not_known"};

static_assert(static_cast<std::size_t>(EventKind::withdrawn) + 1 == event_kind_count);

}  // namespace

const std::array<EventKind, event_kind_count>& event_kinds() {
    static const auto kinds = [] {
        std::array<EventKind, event_kind_count> all{};
        for (std::size_t at = 0; at < all.size(); ++at) {
            all.at(at) = static_cast<EventKind>(at);
        }
        return all;
    }();
    return kinds;
}

std::string_view wire_name(EventKind kind) {
    return name_in(kind_names, kind);
}
std::optional<EventKind> find_event_kind(std::string_view wire_name) {
    return find_in<EventKind>(kind_names, wire_name);
}

std::string_view wire_name(Role role) {
    return name_in(role_names, role);
}
std::optional<Role> find_role(std::string_view wire_name) {
    return find_in<Role>(role_names, wire_name);
}

std::string_view wire_name(PersonKind kind) {
    return name_in(person_names, kind);
}
std::optional<PersonKind> find_person_kind(std::string_view wire_name) {
    return find_in<PersonKind>(person_names, wire_name);
}

std::string_view wire_name(PersonOutcome outcome) {
    return name_in(outcome_names, outcome);
}
std::optional<PersonOutcome> find_person_outcome(std::string_view wire_name) {
    return find_in<PersonOutcome>(outcome_names, wire_name);
}

}  // namespace waybourne::referral
