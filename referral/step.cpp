#include "referral/step.hpp"

#include <algorithm>

namespace waybourne::referral {

namespace {

std::string in_plain(std::string_view wire_name) {
    std::string plain(wire_name);
    std::replace(plain.begin(), plain.end(), '_', ' ');
    return plain;
}

std::string as_wire_name(std::string plain) {
    std::replace(plain.begin(), plain.end(), ' ', '_');
    return plain;
}

constexpr std::string_view separator = ", ";

std::string listed(std::span<const EventKind> kinds) {
    std::string list;
    for (const EventKind kind : kinds) {
        list += (list.empty() ? "" : std::string(separator)) + in_plain(wire_name(kind));
    }
    return list;
}

bool is_reply_possible(const Life& life, EventKind kind) {
    if (!life.asked || life.is_there()) {
        return false;
    }
    switch (kind) {
        case EventKind::informed:
            return life.reply == Reply::none || life.reply == Reply::unanswered;
        case EventKind::accepted:
            return life.reply != Reply::accepted;
        case EventKind::declined:
            return life.reply != Reply::declined;
        default:
            return life.reply == Reply::none || life.reply == Reply::informed;
    }
}

/// Of the vehicle that takes her over on the way.
bool is_takeover_possible(const Life& life, EventKind kind) {
    const bool is_before_arrival = life.journey < Journey::arrived && !life.is_refused;
    switch (kind) {
        case EventKind::transport_sent:
            return is_before_arrival && *life.takeover < Journey::transport_sent;
        case EventKind::with_the_woman:
            return is_before_arrival && *life.takeover < Journey::with_the_woman;
        default:
            return is_before_arrival;
    }
}

bool tells_of_takeover(EventKind kind) {
    return kind == EventKind::transport_sent || kind == EventKind::with_the_woman ||
           kind == EventKind::departed;
}

/// She was given another vehicle after she had left.
bool was_given_another(const Life& life) {
    return life.takeover && !life.second_vehicle && life.journey == Journey::departed;
}

bool is_journey_possible(const Life& life, EventKind kind) {
    const bool is_before_arrival = life.journey < Journey::arrived;
    if (tells_of_takeover(kind) && was_given_another(life)) {
        return is_takeover_possible(life, kind);
    }
    switch (kind) {
        case EventKind::vehicle_assigned:
            return !life.is_refused && (is_before_arrival || life.goes_onward);
        case EventKind::transport_sent:
            return !life.is_refused && life.journey < Journey::departed;
        case EventKind::with_the_woman:
            return !life.is_refused && life.journey < Journey::with_the_woman;
        case EventKind::departed:
            return life.journey < Journey::departed || life.goes_onward;
        case EventKind::arrived:
            return is_before_arrival || life.goes_onward;
        case EventKind::received:
            return life.journey == Journey::arrived;
        default:
            return life.journey >= Journey::arrived && !life.has_care_begun;
    }
}

bool is_exit_possible(const Life& life, EventKind kind) {
    switch (kind) {
        case EventKind::closed:
            return life.journey == Journey::received || life.is_refused || life.has_lost_contact;
        case EventKind::agreed:
            return life.is_refused;
        case EventKind::lost_contact:
            return life.journey < Journey::arrived && !life.has_lost_contact;
        case EventKind::contact_regained:
            return life.has_lost_contact;
        default:  // refused, cancelled, died before arrival
            return life.journey < Journey::arrived;
    }
}

bool is_possible_while_open(const Life& life, EventKind kind) {
    switch (kind) {
        case EventKind::diverted:
        case EventKind::person_added:
            return true;
        case EventKind::informed:
        case EventKind::accepted:
        case EventKind::declined:
        case EventKind::unanswered:
            return is_reply_possible(life, kind);
        case EventKind::vehicle_assigned:
        case EventKind::transport_sent:
        case EventKind::with_the_woman:
        case EventKind::departed:
        case EventKind::arrived:
        case EventKind::received:
        case EventKind::care_begun:
            return is_journey_possible(life, kind);
        case EventKind::closed:
        case EventKind::refused:
        case EventKind::agreed:
        case EventKind::cancelled:
        case EventKind::lost_contact:
        case EventKind::contact_regained:
        case EventKind::died_before_arrival:
            return is_exit_possible(life, kind);
        default:
            return false;
    }
}

bool is_there(std::span<const Event> events, const EventId& id) {
    return std::any_of(events.begin(), events.end(),
                       [&](const Event& event) { return event.id == id; });
}

Refusal refused_with(std::string id, const Life& life, const Event& event) {
    Refusal refusal{{std::move(id)}, life.state(), possible_now(life)};
    refusal.why.values = {{"step", in_plain(wire_name(event.kind))},
                          {"state", in_plain(wire_name(refusal.state))},
                          {"possible", listed(refusal.possible)}};
    return refusal;
}

bool lacks_outcome(const Life& life, const Event& event) {
    const auto without = life.without_outcome();
    return event.kind == EventKind::closed &&
           std::any_of(without.begin(), without.end(), [&](const Person& person) {
               return std::none_of(event.persons.begin(), event.persons.end(),
                                   [&](const PersonReport& report) {
                                       return report.person == person && report.outcome;
                                   });
           });
}

/// The words of each of the listed steps or states that the catalogue knows.
std::string in_words_of(const std::string& list, const std::string& prefix,
                        const Catalogue& catalogue) {
    std::string words;
    for (std::size_t at = 0; at <= list.size();) {
        const std::size_t end = std::min(list.find(separator, at), list.size());
        const std::string plain = list.substr(at, end - at);
        const std::string id = prefix + as_wire_name(plain);
        words += (words.empty() ? "" : std::string(separator)) +
                 (catalogue.has(id) ? catalogue.text(id) : plain);
        at = end + separator.size();
    }
    return words;
}

}  // namespace

bool is_possible(const Life& life, EventKind kind) {
    switch (kind) {
        case EventKind::opened:
            return !life.is_opened;
        case EventKind::danger_sign_recognised:
        case EventKind::decided:
            return life.is_open();
        case EventKind::withdrawn:
            return !life.events.empty();
        case EventKind::alert_raised:
        case EventKind::alert_acknowledged:
        case EventKind::merged:
        case EventKind::unmerged:
            return life.is_opened;
        case EventKind::outcome_returned:
            return (life.end == End::closed || life.end == End::died) && !life.outcome_returned_at;
        default:
            return life.is_opened && life.is_open() && is_possible_while_open(life, kind);
    }
}

bool is_of_takeover(const Life& life, const Event& event) {
    if (!life.takeover || !tells_of_takeover(event.kind)) {
        return false;
    }
    return life.second_vehicle
               ? event.vehicle == life.second_vehicle
               : was_given_another(life) && (!event.vehicle || event.vehicle == life.vehicle);
}

bool is_possible(const Life& life, const Event& event) {
    return is_of_takeover(life, event)
               ? life.is_opened && life.is_open() && is_takeover_possible(life, event.kind)
               : is_possible(life, event.kind);
}

std::vector<EventKind> possible_now(const Life& life) {
    std::vector<EventKind> possible;
    std::copy_if(event_kinds().begin(), event_kinds().end(), std::back_inserter(possible),
                 [&](EventKind kind) { return is_possible(life, kind); });
    return possible;
}

std::optional<Message> missing_in(const Event& event) {
    const auto lacks = [](bool is_missing, std::string_view what) {
        return is_missing ? std::optional{Message{"referral.refusal.lacks_" + std::string(what)}}
                          : std::nullopt;
    };
    switch (event.kind) {
        case EventKind::diverted:
            return lacks(!event.place, "place");
        case EventKind::vehicle_assigned:
            return lacks(!event.vehicle, "vehicle");
        case EventKind::refused:
            return lacks(!event.ask_again_at, "time_to_ask_again");
        case EventKind::declined:
        case EventKind::cancelled:
            return lacks(event.reason.empty(), "reason");
        case EventKind::person_added:
            return lacks(event.persons.empty(), "person");
        case EventKind::alert_raised:
        case EventKind::alert_acknowledged:
            return lacks(event.alert.empty(), "alert");
        case EventKind::merged:
        case EventKind::unmerged:
            return lacks(!event.other, "other_referral");
        case EventKind::withdrawn:
            return lacks(!event.corrects, "event_to_withdraw");
        default:
            return std::nullopt;
    }
}

std::optional<Refusal> refusal(std::span<const Event> events, const Event& event) {
    const auto same = std::find_if(events.begin(), events.end(),
                                   [&](const Event& other) { return other.id == event.id; });
    const Life now = life_of(events);
    if (same != events.end()) {
        return *same == event ? std::nullopt
                              : std::optional{refused_with("referral.refusal.same_id", now, event)};
    }
    if (const auto missing = missing_in(event)) {
        return refused_with(missing->id, now, event);
    }
    if (event.corrects && !is_there(events, *event.corrects)) {
        return refused_with("referral.refusal.nothing_to_correct", now, event);
    }
    Life before = now;
    bool is_out_of_place = !event.corrects && !is_possible(now, event);
    if (event.corrects) {
        std::vector<Event> with(events.begin(), events.end());
        with.push_back(event);
        before = life_of(with);
        is_out_of_place = std::count(before.flags.begin(), before.flags.end(),
                                     Flag{event.id, FlagKind::out_of_sequence}) != 0;
    }
    if (is_out_of_place) {
        return refused_with("referral.refusal.not_possible", now, event);
    }
    if (lacks_outcome(before, event)) {
        return refused_with("referral.refusal.lacks_outcome", now, event);
    }
    return std::nullopt;
}

Message with_steps_in_words(Message message, const Catalogue& catalogue) {
    for (auto& [name, value] : message.values) {
        if (name == "step" || name == "possible") {
            value = in_words_of(value, "referral.event.", catalogue);
        } else if (name == "state") {
            value = in_words_of(value, "referral.state.", catalogue);
        }
    }
    return message;
}

}  // namespace waybourne::referral
