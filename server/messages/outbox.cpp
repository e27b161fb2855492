#include "server/messages/outbox.hpp"

#include <algorithm>

#include "referral/referral_code.hpp"
#include "server/json/referral_body.hpp"
#include "server/messages/alert_messages.hpp"
#include "server/messages/due_messages.hpp"
#include "server/messages/store_step.hpp"
#include "server/referrals/raise_alert.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

std::string alert_id(const std::string& message) {
    return "message-" + message;
}

/// That an order is not answered.
std::string order_alert_id(const std::string& message) {
    return "order-" + message;
}

const OutgoingMessage* find_message(const ReferralRecord& record, const std::string& id) {
    const auto found = std::find_if(record.messages.begin(), record.messages.end(),
                                    [&](const OutgoingMessage& one) { return one.id == id; });
    return found == record.messages.end() ? nullptr : &*found;
}

MessageStep step_of(MessageWhat what, const std::string& id, const std::string& trouble = {}) {
    MessageStep step;
    step.what = what;
    step.message.id = id;
    step.message.trouble = trouble;
    return step;
}

/// Why it is no longer tried; empty: it still is.
std::string hopeless(const OutgoingMessage& message, Instant now, const SendingSettings& settings) {
    const bool is_busy = message.is_in_hand && message.attempted_at &&
                         now < *message.attempted_at + settings.forgotten_after;
    if (message.state != MessageState::queued || is_busy) {
        return {};
    }
    if (now >= message.queued_at + settings.too_old_after) {
        return message.trouble.empty() ? "too_old" : message.trouble;
    }
    if (message.attempts >= settings.most_attempts) {
        return message.trouble.empty() ? "given_up" : message.trouble;
    }
    return {};
}

}  // namespace

Outbox::Outbox(Records& records, const Current<Snapshot>& snapshot, KeysNow keys,
               MessageSender& gateway, const Clock& clock, Log& log, SendingSettings settings)
    : records_(records),
      snapshot_(snapshot),
      keys_(std::move(keys)),
      gateway_(gateway),
      clock_(clock),
      log_(log),
      settings_(settings),
      began_at_(records.sequence()) {}

Outbox::~Outbox() {
    for (std::jthread& thread : threads_) {
        thread.request_stop();
    }
    changed_.notify_all();
    threads_.clear();
}

std::size_t Outbox::work() {
    std::size_t attempts = 0;
    for (const Due& due : plan()) {
        attempts += attempt(due) ? 1 : 0;
    }
    return attempts;
}

void Outbox::start(std::size_t senders) {
    threads_.emplace_back([this](const std::stop_token& stop) { run_planner(stop); });
    for (std::size_t i = 0; i < senders; ++i) {
        threads_.emplace_back([this](const std::stop_token& stop) { run_sender(stop); });
    }
}

std::vector<Outbox::Due> Outbox::plan() {
    const std::lock_guard lock{planning_};
    const Instant now = clock_.now();
    auto keys = keys_();
    if (keys != planned_with_) {
        planned_.clear();
        planned_with_ = keys;
    }
    std::map<std::string, journal::Sequence> planned;
    for (const auto& record : records_.live()) {
        if (record->is_practice) {
            continue;
        }
        const auto before = planned_.find(record->code);
        if (before == planned_.end() || before->second != record->version) {
            queue_due(*record, *keys, now);
        }
        planned[record->code] = record->version;
    }
    planned_ = std::move(planned);
    std::vector<Due> due;
    for (const auto& record : records_.live()) {
        if (!record->is_practice) {
            queue_alerts(*record, *keys, now);
        }
    }
    for (const auto& record : records_.live()) {
        if (record->is_practice) {
            continue;
        }
        alert_and_give_up(*record, now);
        for (const OutgoingMessage& message : record->messages) {
            const auto at = next_attempt_at(message, settings_);
            if (at && *at <= now && hopeless(message, now, settings_).empty()) {
                due.emplace_back(record->code, message.id);
            }
        }
    }
    return due;
}

void Outbox::queue_due(const ReferralRecord& first, const Keys& keys, Instant now) {
    const auto snapshot = snapshot_.get();
    const auto news_since =
        first.acted_version > began_at_ ? std::nullopt : std::optional(now - settings_.news_for);
    queue(first.code, [&] {
        return due_messages(
            first, *snapshot, [this](const std::string& code) { return records_.find(code); }, keys,
            news_since, now);
    });
}

void Outbox::queue_alerts(const ReferralRecord& record, const Keys& keys, Instant now) {
    queue(record.code,
          [&] { return alert_messages(record, *snapshot_.get(), keys, settings_.news_for, now); });
}

void Outbox::queue(const std::string& code,
                   const std::function<std::vector<OutgoingMessage>()>& written) {
    std::vector<OutgoingMessage> due;
    try {
        due = written();
    } catch (const InputError&) {
        // A catalogue whose words leave no room; the deadline watch still tells of silence.
        log_.event(Level::error, "message_not_written");
    }
    for (OutgoingMessage& message : due) {
        MessageStep step{MessageWhat::queued, std::move(message)};
        const std::string id = step.message.id;
        std::string key = code;
        key.append("/").append(id);
        until_nobody_interferes(records_, [&] {
            const auto record = records_.find(code);
            if (record && find_message(*record, id) == nullptr) {
                store_step(records_, *record, step, key, clock_.now());
            }
        });
    }
}

void Outbox::store(const std::string& code, MessageWhat what, const std::string& id,
                   const std::string& trouble) {
    until_nobody_interferes(records_, [&] {
        if (const auto record = records_.find(code)) {
            store_step(records_, *record, step_of(what, id, trouble), {}, clock_.now());
        }
    });
}

void Outbox::alert_and_give_up(const ReferralRecord& record, Instant now) {
    for (const OutgoingMessage& message : record.messages) {
        const std::string why = hopeless(message, now, settings_);
        if (!why.empty()) {
            store(record.code, MessageWhat::undelivered, message.id, why);
            log_.event(Level::error, "message_undelivered", {{"trouble", why}});
        }
        const bool is_raised = record.life.alerts.count(alert_id(message.id)) != 0;
        if (!is_raised && (!why.empty() || needs_alert(message, now, settings_))) {
            alert_about(record.code, message);
        }
        const std::string silence = order_alert_id(message.id);
        if (record.life.alerts.count(silence) == 0 && is_unanswered(message, now, settings_) &&
            still_holds(message, record, now) && !is_carried_out(message, record)) {
            alert(record.code, silence);
        }
    }
}

void Outbox::alert_about(const std::string& code, const OutgoingMessage& message) {
    if (message.purpose != Purpose::alert) {
        alert(code, alert_id(message.id));
    }
}

void Outbox::alert(const std::string& code, const std::string& key) {
    until_nobody_interferes(records_, [&] {
        const auto record = records_.find(code);
        if (!record || record->life.alerts.count(key) != 0) {
            return;
        }
        referral::Event event =
            event_of_service(key, referral::EventKind::alert_raised, clock_.now());
        event.alert = key;
        if (!raise(records_, *record, key, std::move(event))) {
            records_.catch_up();
            const auto again = records_.find(code);
            if (again && again->life.alerts.count(key) == 0) {
                throw journal::VersionConflict(subject_of(code), record->version, again->version);
            }
        }
    });
}

std::optional<OutgoingMessage> Outbox::claim(const Due& due) {
    return until_nobody_interferes(records_, [&]() -> std::optional<OutgoingMessage> {
        const auto record = records_.find(due.first);
        const OutgoingMessage* message = record ? find_message(*record, due.second) : nullptr;
        if (message == nullptr) {
            return std::nullopt;
        }
        const Instant now = clock_.now();
        const auto at = next_attempt_at(*message, settings_);
        if (!at || *at > now) {
            return std::nullopt;  // another server has it
        }
        if (!still_holds(*message, *record, now)) {
            store_step(records_, *record, step_of(MessageWhat::dropped, due.second), {}, now);
            return std::nullopt;
        }
        store_step(records_, *record, step_of(MessageWhat::attempted, due.second), {}, now);
        return *message;
    });
}

Taken Outbox::hand_over(const OutgoingMessage& message) {
    const auto keys = keys_();
    const Number* number = keys->find_number_of(message.to);
    if (number == nullptr) {
        return {Taken::Answer::refused, "no_number"};
    }
    return gateway_.send({message.id, number->number, message.text});
}

bool Outbox::attempt(const Due& due) {
    if (!takes_from_hourly_limit(clock_.now())) {
        log_.event(Level::warning, "messages_wait", {{"reason", "most_per_hour"}});
        return false;
    }
    const auto message = claim(due);
    if (!message) {
        return false;
    }
    const Taken taken = hand_over(*message);
    switch (taken.answer) {
        case Taken::Answer::taken:
            store(due.first, MessageWhat::sent, due.second);
            break;
        case Taken::Answer::refused:
            store(due.first, MessageWhat::undelivered, due.second, taken.trouble);
            log_.event(Level::error, "message_undelivered", {{"trouble", taken.trouble}});
            alert_about(due.first, *message);
            break;
        case Taken::Answer::not_now:
            store(due.first, MessageWhat::failed, due.second, taken.trouble);
            log_.event(Level::warning, "message_not_taken", {{"trouble", taken.trouble}});
            break;
    }
    return true;
}

bool Outbox::takes_from_hourly_limit(Instant now) {
    const std::lock_guard lock{mutex_};
    while (!handed_over_.empty() && handed_over_.front() + std::chrono::hours{1} <= now) {
        handed_over_.pop_front();
    }
    if (handed_over_.size() >= settings_.most_per_hour) {
        return false;
    }
    handed_over_.push_back(now);
    return true;
}

OutgoingMessage Outbox::take_receipt(const std::string& id, bool has_arrived,
                                     const std::string& trouble) {
    const std::string code = id.substr(0, referral::referral_code_length);
    const auto what = has_arrived ? MessageWhat::delivered : MessageWhat::undelivered;
    const MessageStep step = step_of(what, id, trouble);
    OutgoingMessage after = until_nobody_interferes(records_, [&] {
        const auto record = records_.find(code);
        const OutgoingMessage* message = record ? find_message(*record, id) : nullptr;
        if (message == nullptr) {
            throw NotFound("no message has that id");
        }
        std::vector<OutgoingMessage> next{*message};
        apply(next, step, clock_.now());
        if (next.front().state != message->state) {
            store_step(records_, *record, step, {}, clock_.now());
        }
        return next.front();
    });
    if (after.state == MessageState::undelivered) {
        alert_about(code, after);
    }
    return after;
}

std::map<MessageState, std::size_t> Outbox::counts() const {
    std::map<MessageState, std::size_t> counts;
    for (const auto& record : records_.live()) {
        for (const OutgoingMessage& message : record->messages) {
            ++counts[message.state];
        }
    }
    return counts;
}

void Outbox::run_planner(const std::stop_token& stop) {
    constexpr std::chrono::milliseconds slice{250};
    /// So that a storm of other events does not keep a processor busy here.
    constexpr std::chrono::milliseconds breath{20};
    while (!stop.stop_requested()) {
        const journal::Sequence seen = records_.sequence();
        try {
            const auto due = plan();
            const std::lock_guard lock{mutex_};
            for (const Due& one : due) {
                if (in_hand_.insert(one).second) {
                    due_.push_back(one);
                }
            }
        } catch (const Unavailable&) {
            log_.event(Level::warning, "messages_wait",
                       {{"reason", "the journal is not available"}});
        } catch (const journal::VersionConflict&) {
            continue;  // very busy: looked at again
        }
        changed_.notify_all();
        records_.wait_beyond(seen, slice);
        std::this_thread::sleep_for(breath);
    }
}

void Outbox::run_sender(const std::stop_token& stop) {
    while (!stop.stop_requested()) {
        Due due;
        {
            std::unique_lock lock{mutex_};
            if (!changed_.wait(lock, stop, [this] { return !due_.empty(); })) {
                return;
            }
            due = due_.front();
            due_.pop_front();
        }
        try {
            attempt(due);
        } catch (const Unavailable&) {
            log_.event(Level::warning, "messages_wait",
                       {{"reason", "the journal is not available"}});
        } catch (const journal::VersionConflict&) {
            // Very busy: the attempt, if it was made, counts as forgotten.
        }
        const std::lock_guard lock{mutex_};
        in_hand_.erase(due);
    }
}

}  // namespace waybourne::server
