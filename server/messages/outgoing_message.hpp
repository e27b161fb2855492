#pragma once
/// A text message to somebody whom a referral concerns, from the moment it is decided on until it
/// is known to have arrived or not to.
///
/// What became of it stands in the journal, step by step, under the referral's own subject: so it
/// survives a restart, is seen by every server, and goes when the referral's personal data go.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "vocabulary/identifier.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::server {

/// Why somebody is texted.
enum class Purpose {
    expected,    ///< to the place that is asked: she comes, and what she needs
    not_coming,  ///< to a place that was told so: she does not
    order,       ///< to the driver: fetch her, take her there
    order_off,   ///< to a driver with an order: it has ended
    alert,       ///< to whoever an alert has gone on to: nobody has taken it on
};

std::string_view wire_name(Purpose purpose);
std::optional<Purpose> find_purpose(std::string_view wire_name);

enum class MessageState {
    queued,       ///< not yet taken by the gateway
    sent,         ///< the gateway has taken it
    delivered,    ///< the gateway says that it arrived
    undelivered,  ///< given up, refused, or the gateway says that it did not arrive
    dropped,      ///< never sent: it was no longer true
};

std::string_view wire_name(MessageState state);

struct OutgoingMessage {
    /// Chosen once, the same on every server and at every attempt: the gateway knows by it what it
    /// has sent already. Begins with the referral's code.
    std::string id;
    Purpose purpose{};
    /// The account that is texted; its number is looked up when the message is sent.
    std::string to;
    /// The place that `expected` and `not_coming` speak of.
    std::optional<FacilityId> place = {};
    /// The ids of the events that it tells of; of `alert` that of the alert.
    std::string cause;
    std::string text;
    Instant queued_at{};
    MessageState state = MessageState::queued;
    int attempts = 0;
    std::optional<Instant> attempted_at = {};
    /// An attempt has begun and it is not known how it ended.
    bool is_in_hand = false;
    /// Why it did not go through, in a word: `timeout`, `refused`, …
    std::string trouble = {};
    /// When it was taken, arrived, or was given up.
    std::optional<Instant> settled_at = {};
    /// When whoever got it said so, or did what it says.
    std::optional<Instant> answered_at = {};

    bool operator==(const OutgoingMessage&) const = default;
};

/// The id of a message about that referral: made of its purpose, account, place and cause.
std::string message_id(const std::string& code, const OutgoingMessage& message);

/// What happened to a message: one entry of the journal.
enum class MessageWhat {
    queued,
    attempted,
    sent,
    failed,
    delivered,
    undelivered,
    dropped,
    answered,  ///< whoever got it has it
};

std::string_view wire_name(MessageWhat what);
std::optional<MessageWhat> find_message_what(std::string_view wire_name);

struct MessageStep {
    MessageWhat what{};
    /// Of `queued` everything that is known then; of the others the id and perhaps `trouble`.
    OutgoingMessage message;
};

/// `referral.message_queued`, …: how the journal calls such a step.
std::string kind_of(MessageWhat what);
bool is_message_kind(std::string_view kind);

/// The messages after one more step. A step of a message that is not known changes nothing, and
/// neither does one that tells again what is known (a receipt that comes twice) or that comes after
/// its end: what has arrived has arrived.
void apply(std::vector<OutgoingMessage>& messages, const MessageStep& step, Instant at);

/// When and how often the gateway is tried. Ours, no source: a driver must hear within minutes, and
/// a gateway that is down for half an hour is a matter for people.
struct SendingSettings {
    /// Before the second attempt; doubles from one to the next.
    Seconds first_pause = 5s;
    Seconds longest_pause = 5min;
    int most_attempts = 10;
    /// What is older is not sent any more: it would speak of another time.
    Seconds too_old_after = 30min;
    /// An attempt of which nothing is known after this long is made again, under the same id.
    Seconds forgotten_after = 60s;
    /// Not taken by the gateway by then: people are told, while the attempts go on.
    Seconds late_after = 2min;
    /// Taken, and no word of its arrival by then: people are told. None: no receipts are expected.
    std::optional<Seconds> receipt_within = {};
    /// An order that its driver has not answered by then, from when it was last handed to the
    /// gateway: people are told. As `WatchSettings::next_owner_after`.
    Seconds order_answered_within = 3min;
    /// Of all messages together, so that no slip runs up a bill.
    std::size_t most_per_hour = 600;
    /// Events older than this are not texted about, e.g. when texting begins on an old journal.
    Seconds news_for = 30min;
};

/// When the gateway is to be tried next; none: never again.
std::optional<Instant> next_attempt_at(const OutgoingMessage& message,
                                       const SendingSettings& settings);

/// Whether people are to be told that it has not arrived. Never of `alert`: what it tells of stands
/// on the screens already, and an alert about an alert would go on for ever.
bool needs_alert(const OutgoingMessage& message, Instant now, const SendingSettings& settings);

/// Whether a driver has left an order unanswered for so long that people are to be told: silence is
/// no answer.
bool is_unanswered(const OutgoingMessage& message, Instant now, const SendingSettings& settings);

/// Whether anything is still to come: an attempt, or a receipt that is waited for.
bool is_pending(const OutgoingMessage& message);

}  // namespace waybourne::server
