#include "server/messages/case_text.hpp"

#include <algorithm>

#include "referral/text_message.hpp"
#include "referral/wording.hpp"
#include "server/words.hpp"

namespace waybourne::server {

namespace {

using referral::Outcome;
using referral::text_message_characters;

std::string joined(const std::vector<std::string>& parts) {
    std::string all;
    for (const std::string& part : parts) {
        all += (all.empty() ? "" : ", ") + part;
    }
    return all;
}

/// What was understood, as short as it can be said.
std::vector<std::string> facts_of(const TextedFindings& read, const Catalogue& catalogue) {
    std::vector<std::string> facts;
    const auto text = [](const std::optional<int>& number) {
        return number ? std::to_string(*number) : std::string{"-"};
    };
    for (const triage::Reading& reading : read.findings.readings) {
        if (reading.systolic || reading.diastolic) {
            facts.push_back(text(reading.systolic) + "/" + text(reading.diastolic));
        }
        if (reading.pulse) {
            facts.push_back(referral::field_in_words("pulse", catalogue) + " " +
                            text(reading.pulse));
        }
    }
    for (const auto& [field, value] : read.findings.values) {
        facts.push_back(referral::finding_in_words(field, value, catalogue));
    }
    return facts;
}

class Writer {
public:
    Writer(const Snapshot& snapshot, const Catalogue& catalogue, const CaseText& about, Instant now)
        : snapshot_(snapshot),
          catalogue_(catalogue),
          about_(about),
          words_(catalogue, snapshot.zone, now),
          now_(now) {}

    std::string write() {
        text_ = where();
        add(about_.dropped);
        add(say("server.text.case.caution"));
        if (!about_.answer.assessment.protocol.approved) {
            add(say("server.text.case.trial"));
        }
        add_list("server.text.case.not_understood", "pieces", not_understood());
        const bool is_urgent = about_.answer.assessment.leave_now;
        if (is_urgent) {
            add_first_thing_to_do();
        }
        if (about_.question != nullptr) {
            add_before_send(
                say("server.text.case.question",
                    {{"letter", letter()}, {"question", words_.text(about_.question->text)}}));
        }
        if (is_there_to_go()) {
            add(send_words());
            is_send_said_ = true;
            add_list("server.text.case.needs", "needs", needs());
        }
        add_list("server.text.case.understood", "facts", facts_of(about_.read, catalogue_));
        if (!is_urgent) {
            add_first_thing_to_do();
        }
        return text_;
    }

private:
    std::string letter() const { return {about_.letter}; }
    bool is_there_to_go() const { return about_.answer.recommendation.chosen.has_value(); }
    std::string send_words() const { return say("server.text.case.send", {{"letter", letter()}}); }

    std::string say(const char* id,
                    std::vector<std::pair<std::string, std::string>> values = {}) const {
        return referral::in_text_message_alphabet(catalogue_.text(Message{id, std::move(values)}));
    }

    bool fits(const std::string& more) const {
        const auto length = text_message_characters(text_ + " " + more);
        return length && *length <= referral::two_text_messages_length;
    }

    /// How the referral is opened keeps its place.
    bool fits_before_send(const std::string& more) const {
        return fits(is_there_to_go() && !is_send_said_ ? more + " " + send_words() : more);
    }

    void add_before_send(const std::string& more) {
        if (fits_before_send(more)) {
            add(more);
        }
    }

    void add(const std::string& more) {
        const std::string plain = referral::in_text_message_alphabet(more);
        if (!plain.empty() && fits(plain)) {
            text_ += " " + plain;
        }
    }

    /// As many parts as there is room for; that there are more is said.
    void add_list(const char* id, const char* name, std::vector<std::string> parts) {
        bool is_cut = false;
        while (!parts.empty()) {
            const std::string more =
                say(id, {{name, joined(parts) + (is_cut ? say("server.text.case.and_more") : "")}});
            if (fits(more)) {
                text_ += " " + more;
                return;
            }
            parts.pop_back();
            is_cut = true;
        }
    }

    std::string where() const {
        const referral::Recommendation& made = about_.answer.recommendation;
        if (made.outcome == Outcome::stay) {
            const bool has_needs = !about_.answer.assessment.needs.empty();
            return say(has_needs ? "server.text.case.here" : "server.text.case.stay",
                       {{"letter", letter()}});
        }
        if (!made.chosen || made.chosen->stages.empty()) {
            return say("server.text.case.nowhere", {{"letter", letter()}});
        }
        const referral::Stage& first = made.chosen->stages.front();
        const facilities::Facility& place = snapshot_.facilities.facility(first.facility);
        std::vector<std::pair<std::string, std::string>> values{
            {"letter", letter()},
            {"place", place.name},
            {"phone", place.phones.empty()
                          ? say("server.text.case.no_phone")
                          : say("server.text.case.phone", {{"phone", place.phones.front()}})},
            {"then", then(made.chosen->stages)}};
        const auto by = referral::be_there_by(first);
        if (made.outcome != Outcome::in_time || !by) {
            const bool is_late = by || made.outcome == Outcome::late;
            values.emplace_back("time", words_.clock(first.arrival.typical));
            return say(is_late ? "server.text.case.late" : "server.text.case.unhurried",
                       std::move(values));
        }
        values.emplace_back("time", words_.clock(*by));
        values.emplace_back(
            "minutes",
            std::to_string(std::chrono::floor<std::chrono::minutes>(*by - now_).count()));
        return say("server.text.case.where", std::move(values));
    }

    /// Where she goes on to after the first place; empty when she stays there.
    std::string then(const std::vector<referral::Stage>& stages) const {
        return stages.size() < 2
                   ? std::string{}
                   : say("server.text.case.then",
                         {{"place", snapshot_.facilities.facility(stages[1].facility).name}});
    }

    std::vector<std::string> not_understood() const {
        constexpr std::size_t most = 4;
        constexpr std::size_t longest = 24;
        std::vector<std::string> pieces;
        for (const std::string& piece : about_.read.not_understood) {
            if (pieces.size() < most) {
                pieces.push_back(piece.substr(0, longest));  // ASCII: it was taken apart
            }
        }
        for (const triage::Refused& refused : about_.answer.assessment.refused) {
            pieces.push_back(referral::field_in_words(refused.field, catalogue_) + " " +
                             refused.given);
        }
        return pieces;
    }

    std::vector<std::string> needs() const {
        std::vector<std::string> needs;
        for (const triage::Need& need : about_.answer.assessment.needs) {
            const auto first = need.any_of.members().front();
            const std::string id = "referral.short." + std::string(to_name(first));
            std::string name = catalogue_.has(id) ? catalogue_.text(std::string_view{id})
                                                  : words_.capability(first);
            if (!need.available_here &&
                std::find(needs.begin(), needs.end(), name) == needs.end()) {
                needs.push_back(std::move(name));
            }
        }
        return needs;
    }

    /// The first sentence of what comes first. Never a dose: that needs its whole text, which no
    /// message holds. Of a list of steps (`Do this: a, b, c.`) as many as there is room for; that
    /// there are more is said.
    void add_first_thing_to_do() {
        const auto& all = about_.answer.assessment.do_now;
        const auto first = std::find_if(all.begin(), all.end(), [](const auto& one) {
            return one.action.find('.') == std::string::npos;
        });
        if (first == all.end()) {
            return;
        }
        std::string sentence = words_.text(first->text);
        if (const std::size_t end = sentence.find(". "); end != std::string::npos) {
            sentence.resize(end + 1);
        }
        const std::size_t list = sentence.find(": ");
        std::string shown = say("server.text.case.do_now", {{"text", sentence}});
        while (list != std::string::npos && !fits_before_send(shown)) {
            const std::size_t cut = sentence.rfind(", ");
            if (cut == std::string::npos || cut < list) {
                return;
            }
            sentence.resize(cut);
            shown = say("server.text.case.do_now",
                        {{"text", sentence + say("server.text.case.and_more") + "."}});
        }
        add_before_send(shown);
    }

    const Snapshot& snapshot_;
    const Catalogue& catalogue_;
    const CaseText& about_;
    Words words_;
    Instant now_;
    std::string text_;
    bool is_send_said_ = false;
};

}  // namespace

const triage::Question* yes_or_no_question(const Snapshot& snapshot,
                                           const triage::Assessment& assessment) {
    const triage::Protocol& protocol = snapshot.protocol;
    for (const triage::Question& question : assessment.questions) {
        const auto field =
            question.fields.size() == 1 ? protocol.find_field(question.fields[0]) : std::nullopt;
        if (field && question.could && protocol.fields[*field].type == triage::FieldType::sign) {
            return &question;
        }
    }
    return nullptr;
}

std::string write_case_text(const Snapshot& snapshot, const Catalogue& catalogue,
                            const CaseText& about, Instant now) {
    return Writer{snapshot, catalogue, about, now}.write();
}

}  // namespace waybourne::server
