#include "tests/server/referral_model.hpp"

#include <map>
#include <set>

namespace waybourne::server::test {

namespace {

const std::map<std::string, int> journey_steps{
    {"transport_sent", 1}, {"with_the_woman", 2}, {"departed", 3}, {"arrived", 4}, {"received", 5}};
const std::set<std::string> replies{"informed", "accepted", "declined", "unanswered"};
const std::vector<std::string> journey_states{"",         "transport_sent", "with_the_woman",
                                              "departed", "arrived",        "received"};
bool is_reply_possible(const Known& known, const std::string& step) {
    if (known.journey >= 4 || known.reply == step) {
        return false;
    }
    if (step == "informed") {
        return known.reply == "none" || known.reply == "unanswered";
    }
    return step != "unanswered" || known.reply == "none" || known.reply == "informed";
}

/// The vehicle takes her over on the way.
bool is_taken_over(const Known& known, int journey) {
    return known.journey == 3 && known.takeover >= 0 && !known.is_refused &&
           (journey == 3 || (journey < 3 && known.takeover < journey));
}

void travel(Known& known, int journey) {
    known.is_lost = false;
    if (journey <= 3 && is_taken_over(known, journey)) {
        known.takeover = journey == 3 ? -1 : journey;
        return;
    }
    known.takeover = -1;
    known.journey = journey;
    known.is_refused = known.is_refused && journey < 3;
    if (journey == 4) {
        known.at = known.asked;
        known.is_diverted = false;
    }
}

}  // namespace

const std::vector<std::string>& all_steps() {
    static const std::vector<std::string> steps{
        "informed",   "accepted",         "declined",     "unanswered",
        "diverted",   "vehicle_assigned", "departed",     "transport_sent",
        "arrived",    "received",         "refused",      "with_the_woman",
        "care_begun", "closed",           "cancelled",    "agreed",
        "decided",    "outcome_returned", "lost_contact", "contact_regained"};
    return steps;
}

std::string state_of(const Known& known) {
    if (!known.end.empty()) {
        return known.end;
    }
    if (known.is_lost || known.is_refused || known.is_diverted) {
        return known.is_lost ? "lost_contact" : known.is_refused ? "refused" : "diverted";
    }
    return known.journey > 0       ? journey_states.at(static_cast<std::size_t>(known.journey))
           : known.reply == "none" ? "opened"
                                   : known.reply;
}

bool is_possible(const Known& known, const std::string& step) {
    if (step == "outcome_returned") {
        return known.end == "closed" && !known.is_told;
    }
    if (!known.end.empty()) {
        return false;
    }
    if (replies.count(step) != 0) {
        return is_reply_possible(known, step);
    }
    const std::map<std::string, bool> possible{
        {"decided", true},
        {"diverted", true},
        {"vehicle_assigned", known.journey < 4 && !known.is_refused},
        {"transport_sent", (known.journey < 3 && !known.is_refused) || is_taken_over(known, 1)},
        {"with_the_woman", (known.journey < 2 && !known.is_refused) || is_taken_over(known, 2)},
        {"departed", known.journey < 3 || is_taken_over(known, 3)},
        {"arrived", known.journey < 4},
        {"received", known.journey == 4},
        {"care_begun", known.journey >= 4 && !known.has_care},
        {"closed", known.journey == 5 || known.is_refused || known.is_lost},
        {"refused", known.journey < 4},
        {"agreed", known.is_refused},
        {"cancelled", known.journey < 4},
        {"lost_contact", known.journey < 4 && !known.is_lost},
        {"contact_regained", known.is_lost}};
    return possible.at(step);
}

void apply(Known& known, const std::string& step, const std::string& place) {
    ++known.events;
    const auto journey = journey_steps.find(step);
    if (journey != journey_steps.end()) {
        travel(known, journey->second);
    } else if (replies.count(step) != 0) {
        known.reply = step;
        known.is_diverted = false;
    } else if (step == "diverted") {
        known.asked = place;
        known.reply = "none";
        known.is_diverted = true;
    } else if (step == "vehicle_assigned") {
        if (known.journey < 3 || known.vehicle.empty()) {
            known.takeover = known.journey == 3 ? 0 : -1;
        }
        known.vehicle = "vehicle-1";
    } else if (step == "refused") {
        known.is_refused = true;
        known.is_lost = false;
        known.journey = 0;
        known.takeover = -1;
        known.vehicle.clear();
    } else if (step == "agreed") {
        known.is_refused = known.is_lost = false;
    } else if (step == "lost_contact" || step == "contact_regained") {
        known.is_lost = step == "lost_contact";
    } else if (step == "closed" || step == "cancelled") {
        known.end = step;
    } else if (step == "outcome_returned") {
        known.is_told = true;
    } else if (step == "care_begun") {
        known.has_care = true;
    }
}

bool is_at(const Caller& caller, const std::string& place) {
    return !place.empty() && !caller.facilities.empty() &&
           caller.facilities.front().value() == place;
}

bool sees(const Caller& caller, const Known& known) {
    if (caller.practice != known.is_practice) {
        return false;
    }
    switch (caller.role) {
        case Role::health_worker:
            return is_at(caller, known.sender);
        case Role::facility:
            return is_at(caller, known.sender) || is_at(caller, known.asked) ||
                   is_at(caller, known.at);
        case Role::driver:
            return known.vehicle == caller.who;
        default:
            return caller.role == Role::dispatcher;
    }
}

bool tells(const Caller& caller, const std::string& step) {
    static const std::set<std::string> of_vehicles{"vehicle_assigned", "transport_sent"};
    static const std::set<std::string> of_care{"received", "care_begun"};
    static const std::set<std::string> of_drivers{
        "transport_sent", "with_the_woman", "departed",        "arrived",
        "refused",        "lost_contact",   "contact_regained"};
    switch (caller.role) {
        case Role::health_worker:
            return of_vehicles.count(step) == 0 && of_care.count(step) == 0;
        case Role::facility:
            return of_vehicles.count(step) == 0;
        case Role::driver:
            return of_drivers.count(step) != 0;
        default:
            return true;
    }
}

}  // namespace waybourne::server::test
