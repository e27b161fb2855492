#include "server/messages/due_messages.hpp"

#include <algorithm>

#include "server/messages/alert_messages.hpp"
#include "server/messages/message_writer.hpp"

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

/// The order was carried out: she is there.
bool has_brought_her(const ReferralRecord& record, const std::string& account) {
    const referral::Life& life = record.life;
    return life.is_there() && is_of(life.vehicle, account);
}

std::string place_cause(const ReferralRecord& record) {
    const referral::Event* asking = asking_event(record.life);
    return asking == nullptr ? "" : asking->id.value();
}

/// Another tour is another order, also where vehicle and place stay.
std::string order_cause(const ReferralRecord& record) {
    const referral::Event* assigning = assigning_event(record.life);
    if (assigning == nullptr) {
        return "";
    }
    std::string cause = assigning->id.value() + "+" + place_cause(record);
    if (record.tour_since) {
        cause += "+" + to_rfc3339(*record.tour_since);
    }
    return cause;
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

/// Collects what is due.
class Collector {
public:
    Collector(const ReferralRecord& record, const Snapshot& snapshot, const FindReferral& find,
              const Keys& keys, std::optional<Instant> news_since, Instant now)
        : record_(record),
          snapshot_(snapshot),
          find_(find),
          keys_(keys),
          news_since_(news_since),
          now_(now) {}

    void look_at(const Number& number);
    /// Also to accounts whose number is gone: then people learn that it cannot be told.
    void call_off();
    std::vector<OutgoingMessage> take() && { return std::move(due_); }

private:
    bool is_news(const referral::Event* event) const {
        return event != nullptr && is_news(event->recorded_at);
    }
    bool is_news(Instant at) const { return !news_since_ || at >= *news_since_; }
    void look_at_place(const Number& number);
    void look_at_driver(const Number& number);
    void add(Purpose purpose, const std::string& account, const std::optional<FacilityId>& place,
             const std::string& cause, std::optional<std::string> text);

    MessageWriter writer_for(const std::string& language) const {
        return {record_, snapshot_, find_, language, now_};
    }

    const ReferralRecord& record_;
    const Snapshot& snapshot_;
    const FindReferral& find_;
    const Keys& keys_;
    std::optional<Instant> news_since_;
    Instant now_;
    std::vector<OutgoingMessage> due_;
};

void Collector::add(Purpose purpose, const std::string& account,
                    const std::optional<FacilityId>& place, const std::string& cause,
                    std::optional<std::string> text) {
    OutgoingMessage message;
    message.purpose = purpose;
    message.to = account;
    message.place = place;
    message.cause = cause;
    message.id = message_id(record_.code, message);
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
    const bool is_new_tour = record_.tour_since && is_news(*record_.tour_since);
    const bool is_new = is_new_tour || is_news(assigning_event(record_.life)) ||
                        is_news(asking_event(record_.life));
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
        const MessageWriter writer = writer_for(number == nullptr ? "" : number->language);
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
                                          const FindReferral& find, const Keys& keys,
                                          std::optional<Instant> news_since, Instant now) {
    if (record.is_practice || !record.life.is_opened) {
        return {};
    }
    Collector collector{record, snapshot, find, keys, news_since, now};
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

bool still_holds(const OutgoingMessage& message, const ReferralRecord& record, Instant now) {
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
        case Purpose::alert:
            return waits_for_somebody(message, record, now);
    }
    return false;
}

}  // namespace waybourne::server
