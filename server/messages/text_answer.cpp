#include "server/messages/text_answer.hpp"

#include <algorithm>
#include <array>
#include <string_view>

#include "referral/step.hpp"
#include "referral/text_message.hpp"
#include "server/json/referral_body.hpp"
#include "server/languages.hpp"
#include "server/messages/alert_messages.hpp"
#include "server/messages/care_text.hpp"
#include "server/messages/due_messages.hpp"
#include "server/messages/said.hpp"
#include "server/messages/store_step.hpp"
#include "server/messages/text_report.hpp"
#include "server/problem.hpp"
#include "server/referrals/permission.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

namespace {

using referral::EventKind;
using std::chrono::steady_clock;

/// What a digit means when somebody of this role sends it.
struct Digit {
    Role role;
    int digit;
    std::string_view words;         ///< text id
    std::optional<EventKind> step;  ///< none: an alert, or that the order has arrived
    std::string_view alert = {};    ///< how the alert's id begins
    bool is_about_order() const { return !step && alert.empty(); }
};

// The order in which they are shown: that of the journey.
constexpr std::array digits{
    Digit{Role::driver, 7, "server.text.digit.got_it", {}},
    Digit{Role::driver, 5, "server.text.digit.set_out", EventKind::transport_sent},
    Digit{Role::driver, 6, "server.text.digit.with_her", EventKind::with_the_woman},
    Digit{Role::driver, 1, "server.text.digit.left", EventKind::departed},
    Digit{Role::driver, 2, "server.text.digit.arrived", EventKind::arrived},
    Digit{Role::driver, 3, "server.text.digit.cannot_go", {}, "cannot_go"},
    Digit{Role::driver, 4, "server.text.digit.worse", {}, "worse"},
    Digit{Role::dispatcher, 7, "server.text.digit.take_on", EventKind::alert_acknowledged},
    Digit{Role::health_worker, 1, "server.text.digit.left", EventKind::departed},
    Digit{Role::health_worker, 2, "server.text.digit.arrived", EventKind::arrived},
    Digit{Role::health_worker, 3, "server.text.digit.cannot_go", {}, "cannot_go"},
    Digit{Role::health_worker, 4, "server.text.digit.worse", {}, "worse"},
    Digit{Role::health_worker, 7, "server.text.digit.take_on", EventKind::alert_acknowledged},
    Digit{Role::facility, 1, "server.text.digit.ready", EventKind::accepted},
    Digit{Role::facility, 2, "server.text.digit.here", EventKind::arrived},
    Digit{Role::facility, 3, "server.text.digit.cannot_take", EventKind::declined},
    Digit{Role::facility, 7, "server.text.digit.take_on", EventKind::alert_acknowledged},
};

const Digit* find_digit(Role role, int digit) {
    const auto* found = std::find_if(digits.begin(), digits.end(), [&](const Digit& one) {
        return one.role == role && one.digit == digit;
    });
    return found == digits.end() ? nullptr : found;
}

/// Has an order about her that is not answered yet.
bool waits_for_answer(const ReferralRecord& record, const Caller& caller, Instant now) {
    return std::any_of(record.messages.begin(), record.messages.end(),
                       [&](const OutgoingMessage& message) {
                           return message.purpose == Purpose::order && message.to == caller.who &&
                                  !message.answered_at && message.attempts > 0 &&
                                  still_holds(message, record, now);
                       });
}

/// An alert can be raised as long as she is not in care.
bool is_possible(const Digit& digit, const ReferralRecord& record, const Caller& caller,
                 Instant now) {
    const referral::Life& life = record.life;
    if (digit.is_about_order()) {
        return waits_for_answer(record, caller, now);
    }
    if (digit.step == EventKind::alert_acknowledged) {
        return !alerts_told(record, caller.who, now).empty();
    }
    if (!digit.step) {
        return life.is_open() && life.journey < referral::Journey::received;
    }
    referral::Event event;
    event.kind = *digit.step;
    if (life.second_vehicle && life.second_vehicle->value() == caller.who) {
        event.vehicle = life.second_vehicle;
    }
    return referral::is_possible(life, event);
}

/// `5 set out, 6 with her`: those of the role that are possible; all without a record.
std::string digit_words(const Catalogue& catalogue, const Caller& caller,
                        const ReferralRecord* record, Instant now) {
    std::string words;
    for (const Digit& one : digits) {
        if (one.role == caller.role &&
            (record == nullptr || is_possible(one, *record, caller, now))) {
            words += (words.empty() ? "" : ", ") + catalogue.text(one.words);
        }
    }
    return words;
}

/// In which it is written; empty: it does not show. The letters of a case's code are no words.
std::string language_of(const std::string& text, const TextWords& words) {
    return parse_said_text(text).code ? std::string{} : words.language_of(text);
}

/// In the alphabet of text messages, never longer than two.
std::string for_phone(const std::string& text) {
    std::string plain = referral::in_text_message_alphabet(text);
    while (referral::text_message_characters(plain).value_or(0) >
           referral::two_text_messages_length) {
        plain = referral::in_text_message_alphabet(plain.substr(0, plain.size() - 1));
    }
    return plain;
}

ToldEvent told_at(Instant now, EventKind kind) {
    ToldEvent told;
    told.event.kind = kind;
    told.event.occurred_at = now;
    told.event.recorded_at = now;
    return told;
}

/// Who sends a digit has no screen to look at: what is possible is judged by the newest.
/// @return none where the step is not possible
std::optional<Told> tell_newest(Desk& desk, Call call, const std::string& code,
                                const ToldEvent& told) {
    constexpr int most_attempts = 8;
    for (int attempt = 1;; ++attempt) {
        try {
            call.if_match = desk.visible(call.caller, code)->entity_tag();
            return desk.tell(call, code, told);
        } catch (const HttpRefusal& refusal) {
            constexpr int conflict = 409;
            constexpr int changed = 412;
            if (refusal.problem().status == conflict) {
                return std::nullopt;
            }
            if (refusal.problem().status != changed || attempt == most_attempts) {
                throw;
            }
        }
    }
}

constexpr Rate rate_of_known{1.0, 20};
/// Three answers, then one in an hour: politeness must not run up a bill.
constexpr Rate rate_of_unknown{1.0 / 3600, 3};

}  // namespace

/// A text of a registered number.
struct TextAnswers::Said {
    SaidText said;
    /// Under the account; empty: the text has no id.
    std::string key;
    std::string request_sha256;
};

TextAnswers::TextAnswers(Records& records, Desk& desk, const Current<Snapshot>& snapshot,
                         KeysNow keys, const Clock& clock, std::string words, AuditTrail* audit)
    : records_(records),
      desk_(desk),
      snapshot_(snapshot),
      keys_(std::move(keys)),
      clock_(clock),
      audit_(audit),
      known_(rate_of_known),
      unknown_(rate_of_unknown),
      cases_(std::move(words), desk, snapshot, clock) {}

std::optional<std::string> TextAnswers::answer(const IncomingText& text) {
    const auto keys = keys_();
    const Number* number = nullptr;
    std::string from = "no number";
    try {
        from = parse_number(text.from);
        number = keys->find_number(from);
    } catch (const InputError&) {
        // A short code or a name: nobody we know.
    }
    const auto snapshot = snapshot_.get();
    RateLimiter& limiter = number == nullptr ? unknown_ : known_;
    if (limiter.take(from, steady_clock::now()).count() > 0) {
        return std::nullopt;
    }
    const std::string language = language_of(text.text, *cases_.words(*snapshot));
    if (number == nullptr) {
        return for_phone(catalogue_for(*snapshot, language)
                             .text(std::string_view{"server.text.unknown_number"}));
    }
    Caller caller = number->caller;
    caller.languages = language.empty() ? number->language : language;
    std::string answer = answer_to(caller, text);
    if (caller.practice) {
        answer = catalogue_for(*snapshot, caller.languages)
                     .text(Message{"server.text.practice", {{"text", answer}}});
    }
    return for_phone(answer);
}

std::string TextAnswers::answer_to(const Caller& caller, const IncomingText& text) {
    Said said{parse_said_text(text.text), {}, {}};
    if (!text.id.empty()) {
        said.key = "text-" + text.id;
        said.request_sha256 = sha256("text\n" + text.text);
    }
    const auto snapshot = snapshot_.get();
    if (said.said.ready && caller.role == Role::facility) {
        return answer_report(desk_, *snapshot, {caller, said.key, {}, said.request_sha256},
                             *said.said.ready, clock_.now());
    }
    if (!said.said.digit || find_digit(caller.role, *said.said.digit) == nullptr) {
        return answer_words(caller, text, said, *snapshot);
    }
    return tell(caller, said);
}

/// What is neither a digit nor in the short form of a report.
std::string TextAnswers::answer_words(const Caller& caller, const IncomingText& text,
                                      const Said& said, const Snapshot& snapshot) {
    if (caller.role == Role::facility) {
        if (const auto lacks = read_care_text(*cases_.words(snapshot), text.text)) {
            return answer_report(desk_, snapshot, {caller, said.key, {}, said.request_sha256},
                                 *lacks, clock_.now());
        }
    }
    if (caller.role == Role::facility || caller.role == Role::health_worker) {
        if (const auto answer = cases_.answer(caller, text)) {
            return *answer;
        }
    }
    const Catalogue& catalogue = catalogue_for(snapshot, caller.languages);
    return catalogue.text(
        Message{caller.role == Role::health_worker ? "server.text.not_understood_clinic"
                                                   : "server.text.not_understood",
                {{"digits", digit_words(catalogue, caller, nullptr, clock_.now())}}});
}

std::vector<std::string> TextAnswers::open_cases(const Caller& caller) const {
    std::vector<std::string> codes;
    for (const auto& record : records_.live()) {
        const referral::Life& life = record->life;
        const bool is_seen = may_see(caller, summary_of(*record)) && life.is_open();
        const bool concerns_facility =
            life.asked && std::find(caller.facilities.begin(), caller.facilities.end(),
                                    *life.asked) != caller.facilities.end();
        if (is_seen && (caller.role != Role::facility || concerns_facility) &&
            life.journey < referral::Journey::received) {
            codes.push_back(record->code);
        }
    }
    return codes;
}

/// A text that comes again is about the case that it was about.
std::optional<std::string> TextAnswers::case_told_before(const Caller& caller,
                                                         const Said& said) const {
    if (said.key.empty()) {
        return std::nullopt;
    }
    for (const auto& envelope : records_.journal().read_key(caller.who, said.key)) {
        if (auto code = code_of(envelope.subject)) {
            return code;
        }
    }
    return std::nullopt;
}

std::string TextAnswers::tell(const Caller& caller, const Said& said) const {
    const auto snapshot = snapshot_.get();
    const Catalogue& catalogue = catalogue_for(*snapshot, caller.languages);
    std::optional<std::string> code = case_told_before(caller, said);
    if (!code) {
        const auto open = open_cases(caller);
        const auto& given = said.said.code;
        if (given && std::find(open.begin(), open.end(), *given) == open.end()) {
            return catalogue.text(Message{"server.text.unknown_case", {{"code", *given}}});
        }
        if (!given && open.empty()) {
            return catalogue.text(std::string_view{"server.text.nothing_open"});
        }
        if (!given && open.size() > 1) {
            const auto orders = take_orders(caller, *said.said.digit, open);
            if (orders) {
                return *orders;
            }
            constexpr std::size_t words_around = 100;
            return catalogue.text(Message{"server.text.which_case",
                                          {{"digit", std::to_string(*said.said.digit)},
                                           {"code", open.front()},
                                           {"codes", fitting(open, words_around)}}});
        }
        code = given ? *given : open.front();
    }
    const Digit& digit = *find_digit(caller.role, *said.said.digit);
    if (caller.role == Role::driver) {
        store_answered(records_, *code, caller.who, clock_.now());
    }
    std::string answer = digit.is_about_order() ? take_order(caller, *code)
                         : digit.step == EventKind::alert_acknowledged
                             ? take_on(caller, said, *code)
                         : digit.step ? tell_step(caller, said, *code, *digit.step)
                                      : raise_alert(caller, said, *code, std::string{digit.alert});
    if (audit_ != nullptr) {
        audit_->note({clock_.now(), caller.who, "/v1/texts", {*code}});
    }
    return answer;
}

std::string TextAnswers::tell_step(const Caller& caller, const Said& said, const std::string& code,
                                   EventKind kind) const {
    ToldEvent told = told_at(clock_.now(), kind);
    if (kind == EventKind::declined) {
        told.event.reason = "by text";
    }
    const auto done = tell_newest(desk_, {caller, said.key, {}, said.request_sha256}, code, told);
    return done ? noted(caller, *done->record, done->at) : not_possible(caller, code);
}

std::string TextAnswers::take_order(const Caller& caller, const std::string& code) const {
    const auto record = desk_.visible(caller, code);
    const bool has_order = std::any_of(
        record->messages.begin(), record->messages.end(), [&](const OutgoingMessage& message) {
            return message.purpose == Purpose::order && message.to == caller.who;
        });
    return has_order ? noted(caller, *record, clock_.now()) : not_possible(caller, code);
}

/// One word for all orders that came at once: those of a tour.
std::optional<std::string> TextAnswers::take_orders(const Caller& caller, int digit,
                                                    const std::vector<std::string>& open) const {
    if (!find_digit(caller.role, digit)->is_about_order()) {
        return std::nullopt;
    }
    std::vector<std::string> taken;
    for (const std::string& code : open) {
        if (waits_for_answer(*desk_.visible(caller, code), caller, clock_.now())) {
            store_answered(records_, code, caller.who, clock_.now());
            taken.push_back(code);
        }
    }
    if (taken.empty()) {
        return std::nullopt;
    }
    if (audit_ != nullptr) {
        audit_->note({clock_.now(), caller.who, "/v1/texts", taken});
    }
    const auto snapshot = snapshot_.get();
    const Catalogue& catalogue = catalogue_for(*snapshot, caller.languages);
    constexpr std::size_t words_around = 120;
    return catalogue.text(
        Message{"server.text.orders_noted",
                {{"time", Words{catalogue, snapshot->zone, clock_.now()}.clock(clock_.now())},
                 {"codes", fitting(taken, words_around)}}});
}

/// Every alert about her that the caller was texted about.
std::string TextAnswers::take_on(const Caller& caller, const Said& said,
                                 const std::string& code) const {
    const auto alerts = alerts_told(*desk_.visible(caller, code), caller.who, clock_.now());
    if (alerts.empty() && !case_told_before(caller, said)) {
        return not_possible(caller, code);
    }
    for (const std::string& alert : alerts) {
        ToldEvent told = told_at(clock_.now(), EventKind::alert_acknowledged);
        told.event.alert = alert;
        const bool is_first = &alert == &alerts.front();
        const std::string key = said.key.empty() || is_first ? said.key : said.key + "-" + alert;
        tell_newest(desk_, {caller, key, {}, said.request_sha256}, code, told);
    }
    return noted(caller, *desk_.visible(caller, code), clock_.now());
}

std::string TextAnswers::raise_alert(const Caller& caller, const Said& said,
                                     const std::string& code, const std::string& what) const {
    const auto is_known = [&] {
        return !said.key.empty() && !records_.journal().read_key(caller.who, said.key).empty();
    };
    if (!is_known()) {
        const auto record = desk_.visible(caller, code);
        if (!record->life.is_open()) {
            return not_possible(caller, code);
        }
        until_nobody_interferes(records_, [&] {
            const auto newest = desk_.visible(caller, code);
            StoredBody body;
            ToldEvent told = told_at(clock_.now(), EventKind::alert_raised);
            told.event.id = new_event_id(records_.sequence());
            told.event.by = by_of(caller, summary_of(*newest));
            told.event.alert = what + "-" + told.event.id.value();
            body.told = std::move(told);
            body.request_sha256 = said.request_sha256;
            journal::Append append =
                entry_about(code, kind_of(EventKind::alert_raised), body, newest->version);
            append.at = clock_.now();
            append.who = caller.who;
            append.idempotency_key = said.key;
            try {
                records_.append(append);
            } catch (const journal::KeyReused&) {
                // The same text on another connection was quicker.
            }
        });
    }
    const auto snapshot = snapshot_.get();
    const Catalogue& catalogue = catalogue_for(*snapshot, caller.languages);
    const Words said_in{catalogue, snapshot->zone, clock_.now()};
    return catalogue.text(
        Message{"server.text.alert_noted",
                {{"time", said_in.clock(said_in.now())},
                 {"code", code},
                 {"what", catalogue.text(std::string_view{"server.text." + what})}}});
}

std::string TextAnswers::noted(const Caller& caller, const ReferralRecord& record,
                               Instant at) const {
    const auto snapshot = snapshot_.get();
    const Catalogue& catalogue = catalogue_for(*snapshot, caller.languages);
    const std::string next = digit_words(catalogue, caller, &record, clock_.now());
    return catalogue.text(Message{
        next.empty() ? "server.text.noted_last" : "server.text.noted",
        {{"time", Words{catalogue, snapshot->zone, clock_.now()}.clock(at)},
         {"code", record.code},
         {"state", catalogue.text(std::string_view{"referral.state." +
                                                   std::string{wire_name(record.life.state())}})},
         {"digits", next}}});
}

std::string TextAnswers::not_possible(const Caller& caller, const std::string& code) const {
    const auto snapshot = snapshot_.get();
    const Catalogue& catalogue = catalogue_for(*snapshot, caller.languages);
    const auto record = desk_.visible(caller, code);
    const std::string can = digit_words(catalogue, caller, record.get(), clock_.now());
    return catalogue.text(Message{
        can.empty() ? "server.text.not_possible_any" : "server.text.not_possible",
        {{"code", code},
         {"state", catalogue.text(std::string_view{"referral.state." +
                                                   std::string{wire_name(record->life.state())}})},
         {"digits", can}}});
}

}  // namespace waybourne::server
