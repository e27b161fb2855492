#include "server/messages/outgoing_message.hpp"

#include <algorithm>
#include <array>

#include "vocabulary/sha256.hpp"

namespace waybourne::server {

namespace {

constexpr std::array<std::string_view, 5> purposes{"expected", "not_coming", "order", "order_off",
                                                   "alert"};
constexpr std::array<std::string_view, 5> states{"queued", "sent", "delivered", "undelivered",
                                                 "dropped"};
constexpr std::array<std::string_view, 8> whats{"queued",    "attempted",   "sent",    "failed",
                                                "delivered", "undelivered", "dropped", "answered"};
constexpr std::string_view kind_prefix = "referral.message_";

template <typename Enum, std::size_t count>
std::optional<Enum> find_in(const std::array<std::string_view, count>& names,
                            std::string_view name) {
    const auto found = std::find(names.begin(), names.end(), name);
    return found == names.end() ? std::nullopt
                                : std::optional(static_cast<Enum>(found - names.begin()));
}

bool has_ended(const OutgoingMessage& message) {
    return message.state == MessageState::delivered || message.state == MessageState::undelivered ||
           message.state == MessageState::dropped;
}

void settle(OutgoingMessage& message, MessageState state, Instant at) {
    message.state = state;
    message.settled_at = at;
    message.is_in_hand = false;
}

void apply_to(OutgoingMessage& message, const MessageStep& step, Instant at) {
    if (step.what == MessageWhat::answered) {
        message.answered_at = message.answered_at.value_or(at);
        return;
    }
    // A receipt that a message arrived after all is good news at any time.
    if (has_ended(message) &&
        !(step.what == MessageWhat::delivered && message.state == MessageState::undelivered)) {
        return;
    }
    switch (step.what) {
        case MessageWhat::queued:
        case MessageWhat::answered:
            return;
        case MessageWhat::attempted:
            ++message.attempts;
            message.attempted_at = at;
            message.is_in_hand = true;
            return;
        case MessageWhat::sent:
            settle(message, MessageState::sent, at);
            return;
        case MessageWhat::failed:
            message.is_in_hand = false;
            message.trouble = step.message.trouble;
            return;
        case MessageWhat::delivered:
            settle(message, MessageState::delivered, at);
            message.trouble.clear();
            return;
        case MessageWhat::undelivered:
            settle(message, MessageState::undelivered, at);
            message.trouble = step.message.trouble;
            return;
        case MessageWhat::dropped:
            settle(message, MessageState::dropped, at);
            return;
    }
}

}  // namespace

std::string_view wire_name(Purpose purpose) {
    return purposes.at(static_cast<std::size_t>(purpose));
}

std::optional<Purpose> find_purpose(std::string_view wire_name) {
    return find_in<Purpose>(purposes, wire_name);
}

std::string_view wire_name(MessageState state) {
    return states.at(static_cast<std::size_t>(state));
}

std::string_view wire_name(MessageWhat what) {
    return whats.at(static_cast<std::size_t>(what));
}

std::optional<MessageWhat> find_message_what(std::string_view wire_name) {
    return find_in<MessageWhat>(whats, wire_name);
}

std::string message_id(const std::string& code, const OutgoingMessage& message) {
    constexpr std::size_t digits = 20;
    const std::string about = std::string{wire_name(message.purpose)} + "\n" + message.to + "\n" +
                              (message.place ? message.place->value() : "") + "\n" + message.cause;
    return code + "-" + sha256(code + "\n" + about).substr(0, digits);
}

std::string kind_of(MessageWhat what) {
    return std::string{kind_prefix} + std::string{wire_name(what)};
}

bool is_message_kind(std::string_view kind) {
    return kind.starts_with(kind_prefix);
}

void apply(std::vector<OutgoingMessage>& messages, const MessageStep& step, Instant at) {
    const auto known = std::find_if(messages.begin(), messages.end(), [&](const auto& message) {
        return message.id == step.message.id;
    });
    if (known != messages.end()) {
        apply_to(*known, step, at);
    } else if (step.what == MessageWhat::queued) {
        messages.push_back(step.message);
        messages.back().queued_at = at;
    }
}

std::optional<Instant> next_attempt_at(const OutgoingMessage& message,
                                       const SendingSettings& settings) {
    if (message.state != MessageState::queued || message.attempts >= settings.most_attempts) {
        return std::nullopt;
    }
    if (!message.attempted_at) {
        return message.queued_at;
    }
    if (message.is_in_hand) {
        return *message.attempted_at + settings.forgotten_after;
    }
    Seconds pause = settings.first_pause;
    for (int attempt = 1; attempt < message.attempts && pause < settings.longest_pause; ++attempt) {
        pause *= 2;
    }
    return *message.attempted_at + std::min(pause, settings.longest_pause);
}

bool needs_alert(const OutgoingMessage& message, Instant now, const SendingSettings& settings) {
    if (message.purpose == Purpose::alert) {
        return false;
    }
    switch (message.state) {
        case MessageState::queued:
            return now >= message.queued_at + settings.late_after;
        case MessageState::sent:
            return settings.receipt_within && message.settled_at &&
                   now >= *message.settled_at + *settings.receipt_within;
        case MessageState::undelivered:
            return true;
        default:
            return false;
    }
}

bool is_unanswered(const OutgoingMessage& message, Instant now, const SendingSettings& settings) {
    const bool has_gone =
        message.state == MessageState::sent || message.state == MessageState::delivered;
    return message.purpose == Purpose::order && has_gone && !message.answered_at &&
           message.attempted_at && now >= *message.attempted_at + settings.order_answered_within;
}

bool is_pending(const OutgoingMessage& message) {
    return message.state == MessageState::queued;
}

}  // namespace waybourne::server
