#include "server/messages/alert_messages.hpp"

#include <algorithm>

#include "referral/text_message.hpp"
#include "server/languages.hpp"
#include "server/referrals/standing_alerts.hpp"
#include "server/words.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::server {

namespace {

using referral::Owner;

std::optional<PhoneEntry> entry_of(const Snapshot& snapshot,
                                   const std::optional<FacilityId>& place) {
    const auto* facility = place ? snapshot.facilities.find_facility(*place) : nullptr;
    return facility == nullptr ? std::nullopt
                               : std::optional(PhoneEntry{facility->name, facility->phones});
}

std::optional<PhoneEntry> entry_of(const Snapshot& snapshot,
                                   const std::optional<VehicleId>& vehicle) {
    const auto found =
        std::find_if(snapshot.vehicles.begin(), snapshot.vehicles.end(),
                     [&](const dispatch::Vehicle& one) { return one.id == vehicle; });
    return found == snapshot.vehicles.end() ? std::nullopt
                                            : std::optional(PhoneEntry{found->name, found->phones});
}

std::optional<FacilityId> place_of(const referral::Life& life, Owner owner) {
    switch (owner) {
        case Owner::sender:
            return life.sender;
        case Owner::receiving_place:
            return life.asked ? life.asked : life.at;
        default:
            return std::nullopt;
    }
}

/// The message that an `order-` or `message-` alert is about; null for other alerts.
const OutgoingMessage* message_behind(const ReferralRecord& record, const StandingAlert& alert) {
    const auto found = std::find_if(
        record.messages.begin(), record.messages.end(),
        [&](const OutgoingMessage& one) { return alert.id == alert.what + "-" + one.id; });
    return found == record.messages.end() ? nullptr : &*found;
}

/// Who can do something about it: whoever should have acted first, or did not get word.
std::optional<PhoneEntry> whom_to_phone(const ReferralRecord& record, const Snapshot& snapshot,
                                        const StandingAlert& alert) {
    const referral::Life& life = record.life;
    const OutgoingMessage* message = message_behind(record, alert);
    if (message != nullptr) {
        return message->place ? entry_of(snapshot, message->place)
                              : entry_of(snapshot, std::optional(VehicleId{message->to}));
    }
    if (alert.told.front() == Owner::sender || alert.told.front() == Owner::receiving_place) {
        return entry_of(snapshot, place_of(life, alert.told.front()));
    }
    return life.vehicle ? entry_of(snapshot, life.vehicle) : entry_of(snapshot, life.sender);
}

bool is_of(const Number& number, const ReferralRecord& record, Owner owner) {
    const Caller& caller = number.caller;
    switch (owner) {
        case Owner::dispatcher:
            return caller.role == Role::dispatcher;
        case Owner::driver:
            return false;
        case Owner::sender:
        case Owner::receiving_place:
            break;
    }
    const auto place = place_of(record.life, owner);
    const bool may_act = caller.role == Role::facility ||
                         (owner == Owner::sender && caller.role == Role::health_worker);
    return may_act && place &&
           std::find(caller.facilities.begin(), caller.facilities.end(), *place) !=
               caller.facilities.end();
}

std::string phone_sentence(const Catalogue& catalogue, const std::optional<PhoneEntry>& entry) {
    if (!entry) {
        return {};
    }
    std::string phones;
    for (const std::string& phone : entry->phones) {
        phones += (phones.empty() ? "" : ", ") + phone;
    }
    const Message message{phones.empty() ? "server.text.alert.no_phone" : "server.text.alert.phone",
                          {{"name", entry->name}, {"phones", phones}}};
    return " " + catalogue.text(message);
}

/// Of several numbers the first is kept to the end, and never cut; then the name gives way.
/// @return false when nothing is left to leave out
bool leave_out_some(PhoneEntry& entry) {
    if (entry.phones.size() > 1) {
        entry.phones.pop_back();
        return true;
    }
    if (entry.name.empty()) {
        return false;
    }
    entry.name = shortened(entry.name, entry.name.size() - 1);
    return true;
}

bool is_unclaimed(const StandingAlert& alert) {
    return !alert.acknowledged_at;
}

/// Worked out only where an alert may have gone on: most referrals have none.
bool may_have_gone_on(const ReferralRecord& record) {
    return std::any_of(record.life.alerts.begin(), record.life.alerts.end(), [](const auto& one) {
        return one.second.raised_at && !one.second.acknowledged_at;
    });
}

}  // namespace

std::string alert_text(const Snapshot& snapshot, const std::string& language, const AlertTold& told,
                       const std::optional<PhoneEntry>& whom, Instant now) {
    const Catalogue& catalogue = catalogue_for(snapshot, language);
    const Words words{catalogue, snapshot.zone, now};
    std::optional<PhoneEntry> shown = whom;
    while (true) {
        std::string text = referral::in_text_message_alphabet(
            catalogue.text(Message{"server.text.alert.passed_on",
                                   {{"code", told.code},
                                    {"what", words.text(message_of(told.what, told.due))},
                                    {"phone", phone_sentence(catalogue, shown)}}}));
        if (referral::text_message_characters(text) <= referral::two_text_messages_length) {
            return text;
        }
        if (!shown || !leave_out_some(*shown)) {
            throw InputError("the text of the alert '" + told.what + "' is too long for a message");
        }
    }
}

std::vector<OutgoingMessage> alert_messages(const ReferralRecord& record, const Snapshot& snapshot,
                                            const Keys& keys, Seconds news_for, Instant now) {
    std::vector<OutgoingMessage> due;
    if (record.is_practice || !may_have_gone_on(record)) {
        return due;
    }
    const Seconds each = referral::WatchSettings{}.next_owner_after;
    for (const StandingAlert& alert : standing_alerts(record, now)) {
        if (!is_unclaimed(alert)) {
            continue;
        }
        for (std::size_t owner = 1; owner < alert.told.size(); ++owner) {
            const Instant went_on = alert.raised_at + each * static_cast<Seconds::rep>(owner);
            if (now >= went_on + news_for) {
                continue;
            }
            for (const Number& number : keys.numbers()) {
                if (number.caller.practice || !is_of(number, record, alert.told[owner])) {
                    continue;
                }
                OutgoingMessage message;
                message.purpose = Purpose::alert;
                message.to = number.caller.who;
                message.cause = alert.id;
                message.id = message_id(record.code, message);
                const bool is_known =
                    std::any_of(record.messages.begin(), record.messages.end(),
                                [&](const OutgoingMessage& one) { return one.id == message.id; });
                if (!is_known) {
                    message.text =
                        alert_text(snapshot, number.language, {record.code, alert.what, alert.due},
                                   whom_to_phone(record, snapshot, alert), now);
                    due.push_back(std::move(message));
                }
            }
        }
    }
    return due;
}

bool waits_for_somebody(const OutgoingMessage& message, const ReferralRecord& record, Instant now) {
    const auto standing = standing_alerts(record, now);
    return std::any_of(standing.begin(), standing.end(), [&](const StandingAlert& alert) {
        return alert.id == message.cause && is_unclaimed(alert);
    });
}

std::vector<std::string> alerts_told(const ReferralRecord& record, const std::string& account,
                                     Instant now) {
    std::vector<std::string> ids;
    for (const OutgoingMessage& message : record.messages) {
        const bool is_told = message.purpose == Purpose::alert && message.to == account &&
                             message.attempts > 0 && waits_for_somebody(message, record, now);
        if (is_told) {
            ids.push_back(message.cause);
        }
    }
    return ids;
}

}  // namespace waybourne::server
