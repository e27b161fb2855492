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
bool is_of(const std::optional<VehicleId>& vehicle, const std::string& account) {
    return vehicle && vehicle->value() == account;
}

/// Fetches her, or takes her over on the way.
bool drives_her(const ReferralRecord& record, const std::string& account) {
    const referral::Life& life = record.life;
    return is_going(life) && !life.is_there() &&
           (is_of(life.vehicle, account) || is_of(life.second_vehicle, account));
}

/// Is sent to meet her, as it was accepted last.
bool takes_her_over(const ReferralRecord& record, const std::string& account) {
    return is_of(record.life.second_vehicle, account) && record.transport &&
           record.transport->meets_at && record.transport->meets;
}

/// The order was carried out: she is there.
bool has_brought_her(const ReferralRecord& record, const std::string& account) {
    const referral::Life& life = record.life;
    return life.is_there() && is_of(life.vehicle, account);
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
    /// To the driver with that account.
    std::optional<std::string> order(const std::string& account, bool is_changed) const;
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
    std::string point(const GeoPoint& point) const;
    std::string place_near(const GeoPoint& at) const;
    referral::Choice choice_to(const FacilityId& place) const;

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
    if (record_.transport && record_.transport->fetch_at && record_.life.takeover) {
        return place_near(*record_.transport->fetch_at);
    }
    const Place& from = record_.opening->request.from;
    const auto name = [&](const FacilityId& id) {
        const facilities::Facility* facility = snapshot_.facilities.find_facility(id);
        return facility == nullptr ? id.value() : facility->name;
    };
    if (const auto* facility = std::get_if<FacilityId>(&from)) {
        return name(*facility);
    }
    return fmt::format("{} (ask {})", point(std::get<GeoPoint>(from)),
                       name(record_.opening->sender));
}

std::string Writer::point(const GeoPoint& point) const {
    return fmt::format("{:.4f},{:.4f}", point.latitude().degrees, point.longitude().degrees);
}

/// A point on the way, and the place of care nearest to it: drivers go by names.
std::string Writer::place_near(const GeoPoint& at) const {
    const auto all = snapshot_.facilities.facilities();
    const auto nearest =
        std::min_element(all.begin(), all.end(), [&](const auto& a, const auto& b) {
            return great_circle_distance(at, a.point) < great_circle_distance(at, b.point);
        });
    if (nearest == all.end()) {
        return point(at);
    }
    constexpr double metres_per_kilometre = 1000;
    const double away = great_circle_distance(at, nearest->point).value() / metres_per_kilometre;
    constexpr double at_the_place = 0.1;
    return away < at_the_place ? nearest->name
                               : fmt::format("{} ({:.1f} km / {})", point(at), away, nearest->name);
}

referral::Choice Writer::choice_to(const FacilityId& place) const {
    referral::Choice choice;
    if (record_.way && record_.way->to == place) {
        choice.stages.push_back(stage_of(*record_.way, record_.expected_arrival()));
        const auto& onward = record_.way->onward;
        if (onward && snapshot_.facilities.find_facility(*onward) != nullptr) {
            choice.stages.emplace_back();
            choice.stages.back().facility = *onward;
        }
    } else {
        choice.stages.emplace_back();
        choice.stages.back().facility = place;
    }
    return choice;
}

std::optional<std::string> Writer::order(const std::string& account, bool is_changed) const {
    const referral::Life& life = record_.life;
    if (!life.asked || snapshot_.facilities.find_facility(*life.asked) == nullptr) {
        return std::nullopt;
    }
    const referral::Choice choice = choice_to(*life.asked);
    if (takes_her_over(record_, account)) {
        return meeting_order(
            context(),
            {place_near(*record_.transport->meets_at), record_.transport->meets->typical}, choice,
            is_changed, snapshot_.facilities, catalogue_);
    }
    const bool is_with_her = life.journey >= referral::Journey::with_the_woman && !life.takeover;
    if (is_with_her) {
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
        writer_for(number.language).order(account, is_changed));
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

bool is_carried_out(const OutgoingMessage& order, const ReferralRecord& record) {
    const referral::Life& life = record.life;
    const bool is_second = is_of(life.second_vehicle, order.to);
    return life.takeover && (is_second || !life.second_vehicle)
               ? *life.takeover >= referral::Journey::transport_sent
               : life.journey >= referral::Journey::transport_sent;
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
