#include "server/messages/text_cases.hpp"

#include <algorithm>
#include <span>

#include "server/json/request.hpp"
#include "server/languages.hpp"
#include "server/messages/case_text.hpp"
#include "server/problem.hpp"
#include "server/words.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

namespace {

constexpr std::size_t most_waiting = 8;
/// Without what looks like a number (I, O) and what may say no or yes (N, Y).
constexpr std::string_view letters = "ABCDEFGHJKLMPQRSTUVWXZ";

char letter_after(char last) {
    const std::size_t at = letters.find(last);
    return at == std::string_view::npos ? letters.front() : letters[(at + 1) % letters.size()];
}

/// Readings that are older say too little about her. Ours, no source.
constexpr Seconds forgotten_after = 2h;

RecommendationRequest request_of(const FacilityId& from, const TextedFindings& read) {
    RecommendationRequest request;
    request.findings = read.findings;
    request.from = from;
    if (read.means) {
        request.transport.means = *read.means;
    }
    request.can_phone = true;
    return request;
}

/// The body that a page would have sent.
std::string given_of(const Opening& opening) {
    JsonWriter json;
    json.begin_object().key("request");
    write_recommendation_request(json, opening.request);
    json.member("sender", opening.sender.value());
    json.member("to", opening.to ? std::optional(opening.to->value()) : std::nullopt);
    json.member("channel", "text");
    return json.end_object().take();
}

std::string say(const Catalogue& catalogue, const char* id,
                std::vector<std::pair<std::string, std::string>> values = {}) {
    return catalogue.text(Message{id, std::move(values)});
}

}  // namespace

TextCases::TextCases(std::string words, Desk& desk, const Current<Snapshot>& snapshot,
                     const Clock& clock)
    : words_json_(std::move(words)), desk_(desk), snapshot_(snapshot), clock_(clock) {
    this->words(*snapshot_.get());
}

std::shared_ptr<const TextWords> TextCases::words(const Snapshot& snapshot) {
    const std::lock_guard lock{mutex_};
    if (words_ == nullptr || words_for_ != snapshot.protocol.sha256) {
        words_ = std::make_shared<const TextWords>(words_json_, snapshot.protocol);
        words_for_ = snapshot.protocol.sha256;
    }
    return words_;
}

std::optional<std::string> TextCases::answer(const Caller& caller, const IncomingText& text) {
    const auto snapshot = snapshot_.get();
    const auto words = this->words(*snapshot);
    if (const auto reply = reply_in(*words, text.text)) {
        return answer_reply(caller, *reply, text, *snapshot);
    }
    const Catalogue& catalogue = catalogue_for(*snapshot, caller.languages);
    Case about;
    about.at = clock_.now();
    about.read = read_texted_findings(*words, snapshot->protocol, text.text, about.at);
    about.text_id = text.id;
    if (!about.read.is_about_a_woman()) {
        return std::nullopt;
    }
    if (caller.facilities.size() != 1) {
        return say(catalogue, "server.text.case.several_places");
    }
    const std::lock_guard lock{mutex_};
    return answer_case(caller, keep(caller.who, std::move(about)), *snapshot);
}

/// `A yes`, `no b`, `go`: nothing else may stand in it.
std::optional<TextCases::Reply> TextCases::reply_in(const TextWords& words,
                                                    const std::string& text) const {
    constexpr std::size_t longest = 100;
    const auto tokens = text_tokens(std::string_view{text}.substr(0, longest));
    Reply reply;
    for (std::size_t at = 0; at < tokens.size();) {
        const TextToken& token = tokens[at];
        const auto phrase = words.find(std::span{tokens}.subspan(at));
        const WordUse use = phrase ? phrase->second->use : WordUse::none;
        const bool is_said = use == WordUse::yes || use == WordUse::no || use == WordUse::unknown ||
                             use == WordUse::go;
        const bool is_letter =
            token.kind == TextTokenKind::word && token.text.size() == 1 &&
            letters.find(static_cast<char>(token.text[0] - 'a' + 'A')) != std::string_view::npos;
        if (is_said && reply.use == WordUse::none) {
            reply.use = use;
            at += phrase->first;
        } else if (is_letter && !reply.letter) {
            reply.letter = static_cast<char>(token.text[0] - 'a' + 'A');
            ++at;
        } else if (token.kind == TextTokenKind::word || token.kind == TextTokenKind::number) {
            return std::nullopt;
        } else {
            ++at;
        }
    }
    return reply.use == WordUse::none ? std::nullopt : std::optional(reply);
}

std::pair<std::optional<TextCases::Case>, std::string> TextCases::find(const Caller& caller,
                                                                       const Reply& reply,
                                                                       const Snapshot& snapshot) {
    const std::lock_guard lock{mutex_};
    std::vector<const Case*> meant;
    const Instant now = clock_.now();
    for (const Case& one : waiting_[caller.who].cases) {
        const bool is_fresh = now < one.at + forgotten_after;
        if (is_fresh && (!reply.letter || *reply.letter == one.letter)) {
            meant.push_back(&one);
        }
    }
    if (meant.size() == 1) {
        return {*meant.front(), {}};
    }
    return {std::nullopt,
            say(catalogue_for(snapshot, caller.languages),
                meant.empty() ? "server.text.case.none_waits" : "server.text.case.which")};
}

std::string TextCases::answer_reply(const Caller& caller, const Reply& reply,
                                    const IncomingText& text, const Snapshot& snapshot) {
    auto [found, instead] = find(caller, reply, snapshot);
    if (!found) {
        return instead;
    }
    if (reply.use == WordUse::go) {
        return open(caller, *found, text, snapshot);
    }
    const Catalogue& catalogue = catalogue_for(snapshot, caller.languages);
    if (found->asked.empty()) {
        return say(catalogue, "server.text.case.nothing_asked", {{"letter", {found->letter}}});
    }
    found->read.findings.values[found->asked] = reply.use == WordUse::yes ? triage::Answer::yes
                                                : reply.use == WordUse::no
                                                    ? triage::Answer::no
                                                    : triage::Answer::unknown;
    found->dropped = {};
    const std::lock_guard lock{mutex_};
    Case* const waits = find_same(caller.who, *found);
    if (waits == nullptr) {
        return say(catalogue, "server.text.case.none_waits");
    }
    *waits = *found;
    return answer_case(caller, *waits, snapshot);
}

TextCases::Case* TextCases::find_same(const std::string& who, const Case& about) {
    for (Case& one : waiting_[who].cases) {
        if (one.letter == about.letter && one.at == about.at) {
            return &one;
        }
    }
    return nullptr;
}

std::string TextCases::answer_case(const Caller& caller, Case& about,
                                   const Snapshot& snapshot) const {
    const Instant now = clock_.now();
    const Catalogue& catalogue = catalogue_for(snapshot, caller.languages);
    const std::string dropped =
        about.dropped ? say(catalogue, "server.text.case.dropped", {{"letter", {*about.dropped}}})
                      : std::string{};
    try {
        const Answer answer = answer_recommendation(
            snapshot, request_of(caller.facilities.front(), about.read), now, catalogue);
        const triage::Question* question = yes_or_no_question(snapshot, answer.assessment);
        about.asked = question == nullptr ? "" : question->fields.front();
        return write_case_text(snapshot, catalogue,
                               {about.letter, about.read, answer, question, dropped}, now);
    } catch (const InputError& error) {
        const std::string not_usable =
            say(catalogue, "server.text.case.not_usable",
                {{"why", error.fields().empty() ? error.what() : error.fields()[0].detail}});
        return dropped.empty() ? not_usable : dropped + " " + not_usable;
    } catch (const NotFound&) {
        return say(catalogue, "server.text.case.several_places");
    }
}

std::string TextCases::open(const Caller& caller, const Case& about, const IncomingText& text,
                            const Snapshot& snapshot) {
    const Instant now = clock_.now();
    Opening opening;
    opening.sender = caller.facilities.front();
    opening.request = request_of(opening.sender, about.read);
    opening.request.findings.at = about.at;
    const Catalogue& catalogue = catalogue_for(snapshot, caller.languages);
    const Answer answer = answer_recommendation(snapshot, opening.request, now, catalogue);
    if (!answer.recommendation.chosen || answer.recommendation.chosen->stages.empty()) {
        return say(catalogue, "server.text.case.nowhere_to_go", {{"letter", {about.letter}}});
    }
    opening.to = answer.recommendation.chosen->stages.front().facility;
    opening.channel = referral::Channel::text;
    opening.opened_at = now;
    Call call{caller};
    // One referral of a case, however often she writes "go".
    call.idempotency_key =
        "text-case-" + sha256(caller.who + about.letter + about.text_id + to_rfc3339(about.at));
    const std::string given = given_of(opening);
    call.request_sha256 = sha256("text\n" + text.from + about.letter + to_rfc3339(about.at));
    const Told told = desk_.open(call, std::move(opening), given);
    {
        const std::lock_guard lock{mutex_};
        if (Case* const waits = find_same(caller.who, about)) {
            waits->is_sent = true;
        }
    }
    const FacilityId& to = *told.record->opening->to;
    return say(catalogue, "server.text.case.opened",
               {{"time", Words{catalogue, snapshot.zone, now}.clock(told.at)},
                {"code", told.record->code},
                {"place", snapshot.facilities.facility(to).name}});
}

/// The case that this text made before, or a place with the next letter for it.
TextCases::Case& TextCases::keep(const std::string& who, Case about) {
    auto& [cases, last_letter] = waiting_[who];
    for (Case& one : cases) {
        if (!about.text_id.empty() && one.text_id == about.text_id) {
            return one;
        }
    }
    std::erase_if(cases, [&](const Case& one) { return one.at + forgotten_after <= about.at; });
    if (cases.size() == most_waiting) {
        auto goes =
            std::find_if(cases.begin(), cases.end(), [](const Case& one) { return one.is_sent; });
        if (goes == cases.end()) {
            goes = cases.begin();
        }
        about.dropped = goes->is_sent ? std::nullopt : std::optional(goes->letter);
        cases.erase(goes);
    }
    do {
        last_letter = letter_after(last_letter);
    } while (std::any_of(cases.begin(), cases.end(),
                         [last = last_letter](const Case& one) { return one.letter == last; }));
    about.letter = last_letter;
    return cases.emplace_back(std::move(about));
}

}  // namespace waybourne::server
