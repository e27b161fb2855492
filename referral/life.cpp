#include "referral/life.hpp"

#include <algorithm>
#include <array>

#include "referral/internal/names.hpp"
#include "referral/standing.hpp"
#include "referral/step.hpp"

namespace waybourne::referral {

namespace {

constexpr std::array<std::string_view, state_count> state_names{
    "opened",     "informed",       "accepted",       "declined",
    "unanswered", "transport_sent", "with_the_woman", "departed",
    "arrived",    "received",       "closed",         "refused",
    "diverted",   "cancelled",      "lost_contact",   "died_before_arrival",
};
constexpr std::array<std::string_view, 5> reply_names{"none", "informed", "accepted", "declined",
                                                      "unanswered"};
constexpr std::array<std::string_view, 6> journey_names{
    "not_begun", "transport_sent", "with_the_woman", "departed", "arrived", "received"};
constexpr std::array<std::string_view, 4> flag_names{"out_of_sequence", "clock_fault", "incomplete",
                                                     "ring_of_corrections"};

std::optional<Journey> step_of_journey(EventKind kind) {
    switch (kind) {
        case EventKind::transport_sent:
            return Journey::transport_sent;
        case EventKind::with_the_woman:
            return Journey::with_the_woman;
        case EventKind::departed:
            return Journey::departed;
        case EventKind::arrived:
            return Journey::arrived;
        case EventKind::received:
            return Journey::received;
        default:
            return std::nullopt;
    }
}

std::optional<Reply> reply_of(EventKind kind) {
    switch (kind) {
        case EventKind::informed:
            return Reply::informed;
        case EventKind::accepted:
            return Reply::accepted;
        case EventKind::declined:
            return Reply::declined;
        case EventKind::unanswered:
            return Reply::unanswered;
        default:
            return std::nullopt;
    }
}

bool tells_of_her(EventKind kind) {
    return step_of_journey(kind).has_value() || kind == EventKind::contact_regained ||
           kind == EventKind::refused || kind == EventKind::agreed ||
           kind == EventKind::died_before_arrival || kind == EventKind::person_added;
}

/// Applies one event after the other.
class Telling {
public:
    void tell(const Event& event) {
        const bool was_possible = is_possible(life_, event);
        if (!was_possible) {
            flag(event, FlagKind::out_of_sequence);
        }
        if (is_clock_fault(event, was_possible)) {
            flag(event, FlagKind::clock_fault);
        }
        apply(event, was_possible);
        const bool lacks_outcome =
            event.kind == EventKind::closed && !life_.without_outcome().empty();
        if (missing_in(event) || lacks_outcome) {
            flag(event, FlagKind::incomplete);
        }
        life_.events.push_back(event);
    }

    Life life() && { return std::move(life_); }

private:
    void flag(const Event& event, FlagKind kind) { life_.flags.push_back({event.id, kind}); }

    /// It lies in the writer's own future, or a step lies behind one that can only follow it.
    /// Transport may truly be sent after she left without it.
    bool is_clock_fault(const Event& event, bool was_possible) const {
        if (event.occurred_at > event.recorded_at + clock_tolerance) {
            return true;
        }
        const auto step = step_of_journey(event.kind);
        const bool comes_first = event.kind == EventKind::opened;
        if ((!step && !comes_first) || step == Journey::transport_sent ||
            (was_possible && !comes_first)) {
            return false;
        }
        return std::any_of(life_.events.begin(), life_.events.end(), [&](const Event& earlier) {
            const auto other = step_of_journey(earlier.kind);
            const bool follows =
                earlier.kind == EventKind::closed || (other && (!step || other > step));
            return follows && earlier.occurred_at + clock_tolerance < event.occurred_at;
        });
    }

    void apply(const Event& event, bool was_possible) {
        tell_of_persons(event);
        if (event.kind == EventKind::opened) {
            open(event);
            return;
        }
        if (life_.end == End::closed || life_.end == End::died) {
            after_the_end(event);
            return;
        }
        if (tells_of_her(event.kind)) {
            life_.has_lost_contact = false;
        }
        if (const auto step = step_of_journey(event.kind)) {
            travel(event, *step, was_possible);
        } else if (const auto reply = reply_of(event.kind)) {
            answer(*reply, was_possible);
        } else if (was_possible || !life_.is_opened || event.kind == EventKind::closed) {
            change(event);
        }
    }

    void open(const Event& event) {
        if (life_.is_opened) {
            return;
        }
        life_.is_opened = true;
        life_.sender = event.by.facility;
        if (!life_.asked) {
            life_.asked = event.place;
        }
    }

    void tell_of_persons(const Event& event) {
        for (const PersonReport& report : event.persons) {
            auto& outcome = life_.persons[report.person];
            if (report.outcome) {
                outcome = report.outcome;
            } else if (event.kind == EventKind::died_before_arrival) {
                outcome = PersonOutcome::died;
            }
        }
        if (event.kind == EventKind::died_before_arrival && event.persons.empty()) {
            life_.persons[Person{}] = PersonOutcome::died;
        }
    }

    void after_the_end(const Event& event) {
        if (event.kind == EventKind::outcome_returned && !life_.outcome_returned_at) {
            life_.outcome_returned_at = event.occurred_at;
        }
        tell_of_alert(event);
    }

    void tell_of_alert(const Event& event) {
        if (event.kind == EventKind::alert_raised && !life_.alerts[event.alert].raised_at) {
            life_.alerts[event.alert].raised_at = event.occurred_at;
        }
        if (event.kind == EventKind::alert_acknowledged &&
            !life_.alerts[event.alert].acknowledged_at) {
            life_.alerts[event.alert].acknowledged_at = event.occurred_at;
        }
    }

    void travel(const Event& event, Journey step, bool was_possible) {
        if (life_.end == End::cancelled) {
            if (step < Journey::departed) {
                return;
            }
            life_.end = End::none;
        }
        if (is_of_takeover(life_, event)) {
            take_over(step, was_possible);
            return;
        }
        if (!was_possible && step <= life_.journey) {
            return;
        }
        if (step >= Journey::departed) {
            life_.is_refused = false;
            life_.ask_again_at.reset();
            leave_for_the_next(step);
        }
        if (!life_.is_refused) {
            life_.journey = step;
        }
        if (step == Journey::transport_sent && event.vehicle) {
            life_.vehicle = event.vehicle;
        }
        if (step >= Journey::arrived) {
            if (life_.second_vehicle && event.vehicle == life_.second_vehicle) {
                life_.vehicle = life_.second_vehicle;
            }
            life_.takeover.reset();
            life_.second_vehicle.reset();
        }
        if (step == Journey::arrived || (step == Journey::received && !life_.at)) {
            life_.at = event.place ? event.place : life_.asked;
            life_.is_diverted = false;
        }
    }

    /// A step of the vehicle that takes her over on the way.
    void take_over(Journey step, bool was_possible) {
        if (!was_possible && step <= *life_.takeover) {
            return;
        }
        life_.takeover = step;
        if (step >= Journey::with_the_woman && life_.second_vehicle) {
            life_.vehicle = life_.second_vehicle;
        }
        if (step == Journey::departed) {
            life_.journey = std::max(life_.journey, step);
            life_.takeover.reset();
            life_.second_vehicle.reset();
        }
    }

    void assign(const Event& event) {
        const bool is_another = life_.vehicle != event.vehicle;
        const bool had_second = life_.second_vehicle.has_value();
        life_.vehicle = event.vehicle;
        life_.second_vehicle = event.takes_over;
        const bool has_left = life_.journey == Journey::departed;
        if (event.takes_over || (has_left && is_another)) {
            life_.takeover = Journey::not_begun;
        } else if (!has_left || had_second) {
            life_.takeover.reset();
        }
    }

    void leave_for_the_next(Journey step) {
        if (life_.goes_onward && step != Journey::received) {
            life_.goes_onward = false;
            life_.has_care_begun = false;
            ++life_.onward_journeys;
        }
    }

    void answer(Reply reply, bool was_possible) {
        if (life_.end == End::none && (was_possible || life_.reply == Reply::none)) {
            life_.reply = reply;
            life_.is_diverted = false;
        }
    }

    void change(const Event& event) {
        switch (event.kind) {
            case EventKind::diverted:
                divert(event);
                break;
            case EventKind::vehicle_assigned:
                assign(event);
                break;
            case EventKind::care_begun:
                life_.has_care_begun = true;
                break;
            case EventKind::refused:
                life_.is_refused = true;
                life_.ask_again_at = event.ask_again_at;
                life_.journey = Journey::not_begun;
                life_.vehicle.reset();
                life_.second_vehicle.reset();
                life_.takeover.reset();
                break;
            case EventKind::agreed:
                life_.is_refused = false;
                life_.ask_again_at.reset();
                break;
            case EventKind::lost_contact:
                life_.has_lost_contact = true;
                break;
            case EventKind::closed:
            case EventKind::cancelled:
            case EventKind::died_before_arrival:
                finish(event);
                break;
            default:
                tell_of_alert(event);
        }
    }

    void divert(const Event& event) {
        life_.is_diverted = life_.asked.has_value();
        life_.diversions += life_.asked ? 1 : 0;
        life_.asked = event.place;
        life_.reply = Reply::none;
        life_.goes_onward = life_.journey >= Journey::arrived;
    }

    void finish(const Event& event) {
        if (event.kind == EventKind::cancelled) {
            life_.end = End::cancelled;
            return;
        }
        const auto is_dead = [](const auto& person) {
            return person.second == PersonOutcome::died ||
                   person.second == PersonOutcome::stillborn;
        };
        if (event.kind == EventKind::closed) {
            life_.end = End::closed;
        } else if (std::all_of(life_.persons.begin(), life_.persons.end(), is_dead)) {
            life_.end = End::died;
        } else {
            return;  // one died, another is still on the way
        }
        life_.outcome_due = event.occurred_at + outcome_returns_within;
    }

    Life life_;
};

State journey_or_reply(const Life& life) {
    switch (life.journey) {
        case Journey::received:
            return State::received;
        case Journey::arrived:
            return State::arrived;
        case Journey::departed:
            return State::departed;
        case Journey::with_the_woman:
            return State::with_the_woman;
        case Journey::transport_sent:
            return State::transport_sent;
        case Journey::not_begun:
            break;
    }
    constexpr std::array shown{State::opened, State::informed, State::accepted, State::declined,
                               State::unanswered};
    return shown.at(static_cast<std::size_t>(life.reply));
}

}  // namespace

std::string_view wire_name(State state) {
    return name_in(state_names, state);
}

std::optional<State> find_state(std::string_view wire_name) {
    return find_in<State>(state_names, wire_name);
}

std::string_view wire_name(Reply reply) {
    return name_in(reply_names, reply);
}

std::string_view wire_name(Journey journey) {
    return name_in(journey_names, journey);
}

std::string_view wire_name(FlagKind kind) {
    return name_in(flag_names, kind);
}

State Life::state() const {
    constexpr std::array ends{State::opened, State::closed, State::cancelled,
                              State::died_before_arrival};
    if (end != End::none) {
        return ends.at(static_cast<std::size_t>(end));
    }
    if (has_lost_contact) {
        return State::lost_contact;
    }
    if (is_refused) {
        return State::refused;
    }
    return is_diverted ? State::diverted : journey_or_reply(*this);
}

std::vector<Person> Life::without_outcome() const {
    std::vector<Person> found;
    for (const auto& [person, outcome] : persons) {
        if (!outcome) {
            found.push_back(person);
        }
    }
    return found;
}

std::optional<Instant> Life::last(EventKind kind) const {
    const auto found = std::find_if(events.rbegin(), events.rend(),
                                    [&](const Event& event) { return event.kind == kind; });
    return found == events.rend() ? std::nullopt : std::optional{found->occurred_at};
}

Life life_of(std::span<const Event> events) {
    const Standing stands = standing(events);
    Telling telling;
    for (const Event& event : stands.events) {
        telling.tell(event);
    }
    Life life = std::move(telling).life();
    for (const EventId& id : stands.in_a_ring) {
        life.flags.push_back({id, FlagKind::ring_of_corrections});
    }
    return life;
}

}  // namespace waybourne::referral
