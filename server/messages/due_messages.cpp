#include "server/messages/due_messages.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "referral/text_message.hpp"
#include "server/answer.hpp"
#include "server/languages.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

namespace {

using referral::EventKind;

/// The event since which the place that is asked counts on her.
const referral::Event* asking_event(const referral::Life& life) {
    const referral::Event* found = nullptr;
    for (const referral::Event& event : life.events) {
        if (event.kind == EventKind::opened || event.kind == EventKind::diverted ||
            event.kind == EventKind::agreed) {
            found = &event;
        }
    }
    return found;
}

const referral::Event* assigning_event(const referral::Life& life) {
    const referral::Event* found = nullptr;
    for (const referral::Event& event : life.events) {
        if (event.kind == EventKind::vehicle_assigned) {
            found = &event;
        }
    }
    return found;
}

bool is_going(const referral::Life& life) {
    return life.is_open() && !life.is_refused;
}

/// She is to come there, or is there.
bool concerns_place(const ReferralRecord& record, const FacilityId& place) {
    const referral::Life& life = record.life;
    return (is_going(life) && life.asked == place) || (life.is_there() && life.at == place);
}

bool expects_her(const ReferralRecord& record, const FacilityId& place) {
    const referral::Life& life = record.life;
    return is_going(life) && life.asked == place && !life.is_there();
}

/// A driver's account has the id of the vehicle.
bool drives_her(const ReferralRecord& record, const std::string& account) {
    const referral::Life& life = record.life;
    return is_going(life) && life.vehicle && life.vehicle->value() == account && !life.is_there();
}

/// The order was carried out: she is there.
bool has_brought_her(const ReferralRecord& record, const std::string& account) {
    const referral::Life& life = record.life;
    return life.is_there() && life.vehicle && life.vehicle->value() == account;
}

std::string place_cause(const ReferralRecord& record) {
    const referral::Event* asking = asking_event(record.life);
    return asking == nullptr ? "" : asking->id.value();
}

std::string order_cause(const ReferralRecord& record) {
    const referral::Event* assigning = assigning_event(record.life);
    return assigning == nullptr ? "" : assigning->id.value() + "+" + place_cause(record);
}

bool may_have_arrived(const OutgoingMessage& message) {
    return message.attempts > 0;
}

/// The last of these two purposes that may have reached somebody or still may.
const OutgoingMessage* last_told(const ReferralRecord& record, const std::string& account,
                                 Purpose one, Purpose other,
                                 const std::optional<FacilityId>& place) {
    const OutgoingMessage* found = nullptr;
    for (const OutgoingMessage& message : record.messages) {
        const bool is_meant = message.to == account && message.place == place &&
                              (message.purpose == one || message.purpose == other);
        if (is_meant && (message.state != MessageState::dropped || may_have_arrived(message))) {
            found = &message;
        }
    }
    return found;
}

/// What was told and no longer holds, each with nobody told since.
std::vector<const OutgoingMessage*> owed(const ReferralRecord& record) {
    std::vector<const OutgoingMessage*> owed;
    for (const OutgoingMessage& message : record.messages) {
        if (!may_have_arrived(message)) {
            continue;
        }
        const bool is_expected = message.purpose == Purpose::expected;
        const bool is_order = message.purpose == Purpose::order;
        const bool holds =
            is_expected ? message.place && concerns_place(record, *message.place)
                        : drives_her(record, message.to) || has_brought_her(record, message.to);
        const Purpose off = is_expected ? Purpose::not_coming : Purpose::order_off;
        if ((is_expected || is_order) && !holds &&
            last_told(record, message.to, message.purpose, off, message.place) == &message) {
            owed.push_back(&message);
        }
    }
    return owed;
}

referral::Stage stage_of(const PlannedWay& way, const std::optional<referral::Expected>& arrival) {
    referral::Stage stage;
    stage.facility = way.to;
    stage.leave_by = way.leave_by;
    if (way.travel_time) {
        stage.travel_time = *way.travel_time;
    }
    if (arrival) {
        stage.arrival = *arrival;
        if (way.leave_by) {
            stage.margin = *way.leave_by - (arrival->allow - stage.travel_time.allow);
        }
    }
    return stage;
}

/// Puts the messages together for one referral.
class Writer {
public:
    /// @param language of whoever is to read them; empty: the district's
    Writer(const ReferralRecord& record, const Snapshot& snapshot, const std::string& language,
           Instant now)
        : record_(record),
          snapshot_(snapshot),
          catalogue_(catalogue_for(snapshot, language)),
          now_(now) {}

    /// None when the place is no longer known.
    std::optional<std::string> expected(const FacilityId& place) const;
    std::optional<std::string> order(bool is_changed) const;
    std::string short_text(const char* id) const {
        return referral::in_text_message_alphabet(
            catalogue_.text(Message{id, {{"code", record_.code}}}));
    }

private:
    referral::MessageContext context() const {
        return {record_.code, now_, snapshot_.zone.period_at(now_).offset};
    }
    std::vector<triage::Capability> meets_at(const FacilityId& place) const;
    std::string from() const;

    const ReferralRecord& record_;
    const Snapshot& snapshot_;
    const Catalogue& catalogue_;
    Instant now_;
};

/// What she needs and the place offers.
std::vector<triage::Capability> Writer::meets_at(const FacilityId& place) const {
    const facilities::Facility& facility = snapshot_.facilities.facility(place);
    triage::CapabilitySet offered;
    for (const facilities::Service& service : facility.services) {
        offered.insert(service.capability);
    }
    const triage::Findings& findings = record_.opening->request.findings;
    std::vector<triage::Capability> meets;
    triage::Assessment assessment;
    try {
        assessment =
            answer_assessment(snapshot_, findings, std::max(now_, findings.at.value_or(now_)));
    } catch (const InputError&) {
        return meets;  // the protocol has changed since: what is seen is told all the same
    }
    for (const triage::Need& need : assessment.needs) {
        const auto given = (need.any_of & offered).members();
        if (!need.available_here && !given.empty()) {
            meets.push_back(given.front());
        }
    }
    return meets;
}

std::optional<std::string> Writer::expected(const FacilityId& place) const {
    if (snapshot_.facilities.find_facility(place) == nullptr) {
        return std::nullopt;
    }
    const bool is_planned = record_.way && record_.way->to == place;
    const auto arrival = is_planned ? record_.expected_arrival() : std::nullopt;
    if (!arrival) {
        return short_text("referral.message.receiving_no_time");
    }
    referral::Choice choice;
    choice.stages.push_back(stage_of(*record_.way, arrival));
    choice.stages.front().meets = meets_at(place);
    return receiving_site_message(context(), choice, 0, record_.opening->request.findings,
                                  catalogue_);
}

/// Where she waits, in words.
std::string Writer::from() const {
    const Place& from = record_.opening->request.from;
    const auto name = [&](const FacilityId& id) {
        const facilities::Facility* facility = snapshot_.facilities.find_facility(id);
        return facility == nullptr ? id.value() : facility->name;
    };
    if (const auto* facility = std::get_if<FacilityId>(&from)) {
        return name(*facility);
    }
    const auto& point = std::get<GeoPoint>(from);
    return fmt::format("{:.4f},{:.4f} (ask {})", point.latitude().degrees,
                       point.longitude().degrees, name(record_.opening->sender));
}

std::optional<std::string> Writer::order(bool is_changed) const {
    const referral::Life& life = record_.life;
    if (!life.asked || snapshot_.facilities.find_facility(*life.asked) == nullptr) {
        return std::nullopt;
    }
    referral::Choice choice;
    if (record_.way && record_.way->to == *life.asked) {
        choice.stages.push_back(stage_of(*record_.way, record_.expected_arrival()));
        const auto& onward = record_.way->onward;
        if (onward && snapshot_.facilities.find_facility(*onward) != nullptr) {
            choice.stages.emplace_back();
            choice.stages.back().facility = *onward;
        }
    } else {
        choice.stages.emplace_back();
        choice.stages.back().facility = *life.asked;
    }
    if (life.journey >= referral::Journey::with_the_woman) {
        return driver_message(context(), choice, snapshot_.facilities, catalogue_);
    }
    return driver_order(context(), from(), choice, is_changed, snapshot_.facilities, catalogue_);
}

/// Collects what is due.
class Collector {
public:
    Collector(const ReferralRecord& record, const Snapshot& snapshot, const Keys& keys,
              std::optional<Instant> news_since, Instant now)
        : record_(record), snapshot_(snapshot), keys_(keys), news_since_(news_since), now_(now) {}

    void look_at(const Number& number);
    /// Also to accounts whose number is gone: then people learn that it cannot be told.
    void call_off();
    std::vector<OutgoingMessage> take() && { return std::move(due_); }

private:
    bool is_news(const referral::Event* event) const {
        return event != nullptr && (!news_since_ || event->recorded_at >= *news_since_);
    }
    void look_at_place(const Number& number);
    void look_at_driver(const Number& number);
    void add(Purpose purpose, const std::string& account, const std::optional<FacilityId>& place,
             const std::string& cause, std::optional<std::string> text);

    Writer writer_for(const std::string& language) const {
        return {record_, snapshot_, language, now_};
    }

    const ReferralRecord& record_;
    const Snapshot& snapshot_;
    const Keys& keys_;
    std::optional<Instant> news_since_;
    Instant now_;
    std::vector<OutgoingMessage> due_;
};

void Collector::add(Purpose purpose, const std::string& account,
                    const std::optional<FacilityId>& place, const std::string& cause,
                    std::optional<std::string> text) {
    constexpr std::size_t digits = 20;
    OutgoingMessage message;
    message.purpose = purpose;
    message.to = account;
    message.place = place;
    message.cause = cause;
    const std::string about = std::string{wire_name(purpose)} + "\n" + message.to + "\n" +
                              (place ? place->value() : "") + "\n" + cause;
    message.id = record_.code + "-" + sha256(record_.code + "\n" + about).substr(0, digits);
    const auto& known = record_.messages;
    const auto has_id = [&](const OutgoingMessage& one) { return one.id == message.id; };
    if (text && std::none_of(known.begin(), known.end(), has_id) &&
        std::none_of(due_.begin(), due_.end(), has_id)) {
        message.text = std::move(*text);
        due_.push_back(std::move(message));
    }
}

void Collector::look_at(const Number& number) {
    if (number.caller.practice) {
        return;
    }
    if (number.caller.role == Role::facility) {
        look_at_place(number);
    } else if (number.caller.role == Role::driver) {
        look_at_driver(number);
    }
}

void Collector::look_at_place(const Number& number) {
    for (const FacilityId& place : number.caller.facilities) {
        if (expects_her(record_, place) && record_.opening && is_news(asking_event(record_.life))) {
            add(Purpose::expected, number.caller.who, place, place_cause(record_),
                writer_for(number.language).expected(place));
        }
    }
}

void Collector::look_at_driver(const Number& number) {
    const std::string& account = number.caller.who;
    const bool is_new =
        is_news(assigning_event(record_.life)) || is_news(asking_event(record_.life));
    if (!drives_her(record_, account) || !record_.opening || !is_new) {
        return;
    }
    const OutgoingMessage* last =
        last_told(record_, account, Purpose::order, Purpose::order_off, std::nullopt);
    const bool is_changed = last != nullptr && last->purpose == Purpose::order;
    add(Purpose::order, account, std::nullopt, order_cause(record_),
        writer_for(number.language).order(is_changed));
}

void Collector::call_off() {
    for (const OutgoingMessage* told : owed(record_)) {
        const Number* number = keys_.find_number_of(told->to);
        const Writer writer = writer_for(number == nullptr ? "" : number->language);
        if (told->purpose == Purpose::expected) {
            add(Purpose::not_coming, told->to, told->place, told->id,
                writer.short_text("referral.message.not_coming"));
        } else {
            add(Purpose::order_off, told->to, std::nullopt, told->id,
                writer.short_text("referral.message.order_off"));
        }
    }
}

}  // namespace

std::vector<OutgoingMessage> due_messages(const ReferralRecord& record, const Snapshot& snapshot,
                                          const Keys& keys, std::optional<Instant> news_since,
                                          Instant now) {
    if (record.is_practice || !record.life.is_opened) {
        return {};
    }
    Collector collector{record, snapshot, keys, news_since, now};
    for (const Number& number : keys.numbers()) {
        collector.look_at(number);
    }
    collector.call_off();
    return std::move(collector).take();
}

bool owes_word(const ReferralRecord& record) {
    return !owed(record).empty();
}

bool still_holds(const OutgoingMessage& message, const ReferralRecord& record) {
    switch (message.purpose) {
        case Purpose::expected:
            return message.place && expects_her(record, *message.place) &&
                   message.cause == place_cause(record);
        case Purpose::not_coming:
            return message.place && !concerns_place(record, *message.place);
        case Purpose::order:
            return drives_her(record, message.to) && message.cause == order_cause(record);
        case Purpose::order_off:
            return !drives_her(record, message.to);
    }
    return false;
}

}  // namespace waybourne::server
