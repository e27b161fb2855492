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
        add(say("server.text.case.caution"));
        if (!about_.answer.assessment.protocol.approved) {
            add(say("server.text.case.trial"));
        }
        add_list("server.text.case.not_understood", "pieces", not_understood());
        const bool is_urgent = about_.answer.assessment.leave_now;
        if (is_urgent) {
            add(first_thing_to_do());
        }
        if (about_.question != nullptr) {
            add(say("server.text.case.question",
                    {{"letter", letter()}, {"question", words_.text(about_.question->text)}}));
        }
        if (about_.answer.recommendation.chosen) {
            add(say("server.text.case.send", {{"letter", letter()}}));
            add_list("server.text.case.needs", "needs", needs());
        }
        add_list("server.text.case.understood", "facts", facts_of(about_.read, catalogue_));
        if (!is_urgent) {
            add(first_thing_to_do());
        }
        return text_;
    }

private:
    std::string letter() const { return {about_.letter}; }

    std::string say(const char* id,
                    std::vector<std::pair<std::string, std::string>> values = {}) const {
        return referral::in_text_message_alphabet(catalogue_.text(Message{id, std::move(values)}));
    }

    bool fits(const std::string& more) const {
        const auto length = text_message_characters(text_ + " " + more);
        return length && *length <= referral::two_text_messages_length;
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
                          : say("server.text.case.phone", {{"phone", place.phones.front()}})}};
        const auto by = referral::be_there_by(first);
        if (made.outcome != Outcome::in_time || !by) {
            return say(by || made.outcome == Outcome::late ? "server.text.case.late"
                                                           : "server.text.case.unhurried",
                       std::move(values));
        }
        values.emplace_back("time", words_.clock(*by));
        values.emplace_back(
            "minutes",
            std::to_string(std::chrono::floor<std::chrono::minutes>(*by - now_).count()));
        return say("server.text.case.where", std::move(values));
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

    /// Its first sentence. Never a dose: that needs its whole text, which no message holds.
    std::string first_thing_to_do() const {
        for (const triage::Instruction& one : about_.answer.assessment.do_now) {
            const bool is_dose = one.action.find('.') != std::string::npos;
            const std::string whole = words_.text(one.text);
            const std::size_t end = whole.find(". ");
            if (!is_dose) {
                return say("server.text.case.do_now",
                           {{"text", end == std::string::npos ? whole : whole.substr(0, end + 1)}});
            }
        }
        return {};
    }

    const Snapshot& snapshot_;
    const Catalogue& catalogue_;
    const CaseText& about_;
    Words words_;
    Instant now_;
    std::string text_;
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
