#include "server/cli/dialogue.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <istream>
#include <ostream>
#include <set>
#include <sstream>

#include "server/answer.hpp"
#include "server/json/object_reader.hpp"
#include "server/words.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

std::string trimmed(const std::string& text) {
    const std::size_t first = text.find_first_not_of(" \t\r");
    const std::size_t last = text.find_last_not_of(" \t\r");
    return first == std::string::npos ? "" : text.substr(first, last - first + 1);
}

std::optional<double> as_number(std::string text) {
    std::replace(text.begin(), text.end(), ',', '.');
    double number = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
    return error == std::errc{} && end == text.data() + text.size() ? std::optional(number)
                                                                    : std::nullopt;
}

/// What was given to one question; nothing given is unknown.
struct Step {
    std::vector<std::string> fields;
    std::map<std::string, triage::FindingValue, std::less<>> values;
};

enum class Wish { go_on, back, enough };

class Dialogue {
public:
    Dialogue(const Snapshot& snapshot, RecommendationRequest request, Instant now,
             Terminal& terminal)
        : snapshot_(snapshot),
          request_(std::move(request)),
          words_(snapshot.catalogue, snapshot.zone, now),
          now_(now),
          terminal_(terminal) {}

    RecommendationRequest run(bool knows_place) {
        terminal_.out << say("server.ask.intro") << "\n\n";
        if (!knows_place) {
            ask_place();
        }
        ask_findings();
        ask_available_here();
        ask_transport();
        return request_;
    }

private:
    std::string say(const std::string& id,
                    std::vector<std::pair<std::string, std::string>> values = {}) const {
        return words_.text(Message{id, std::move(values)});
    }

    /// None at the end of the input.
    std::optional<std::string> read() {
        terminal_.out << "> " << std::flush;
        std::string line;
        if (!std::getline(terminal_.in, line)) {
            terminal_.out << '\n';
            return std::nullopt;
        }
        return trimmed(line);
    }
    void not_understood(const std::string& why) {
        terminal_.out << say("server.ask.again", {{"why", why}}) << '\n';
    }

    void ask_place() {
        terminal_.out << say("server.ask.place") << '\n';
        const auto places = snapshot_.facilities.facilities();
        for (std::size_t i = 0; i < places.size(); ++i) {
            terminal_.out << fmt::format("  {:2}  {} ({})\n", i + 1, places[i].name,
                                         places[i].id.value());
        }
        for (;;) {
            const auto line = read();
            if (!line) {
                throw InputError("the place where she is was not given");
            }
            const auto number = as_number(*line);
            if (number && *number >= 1 && *number <= static_cast<double>(places.size())) {
                request_.from = places[static_cast<std::size_t>(*number) - 1].id;
                return;
            }
            try {
                request_.from = snapshot_.facilities.facility(FacilityId{*line}).id;
                return;
            } catch (const NotFound& error) {
                not_understood(error.what());
            }
        }
    }

    /// The findings with every step's answers.
    triage::Findings findings_so_far() const {
        triage::Findings findings = request_.findings;
        triage::Reading reading;
        reading.taken_at = now_;
        bool has_reading = false;
        for (const Step& step : steps_) {
            for (const auto& [name, value] : step.values) {
                has_reading = put(findings, reading, name, value) || has_reading;
            }
        }
        if (has_reading) {
            findings.readings.push_back(reading);
        }
        return findings;
    }

    /// True when the value is one of a reading's numbers.
    bool put(triage::Findings& findings, triage::Reading& reading, const std::string& name,
             const triage::FindingValue& value) const {
        const triage::Field& field = field_of(name);
        if (field.of_reading == triage::ReadingPart::none) {
            findings.values[name] = value;
            return false;
        }
        const int number = static_cast<int>(std::get<double>(value));
        (field.of_reading == triage::ReadingPart::systolic    ? reading.systolic
         : field.of_reading == triage::ReadingPart::diastolic ? reading.diastolic
                                                              : reading.pulse) = number;
        return true;
    }

    const triage::Field& field_of(const std::string& name) const {
        return snapshot_.protocol.fields.at(snapshot_.protocol.find_field(name).value());
    }

    bool was_asked(const triage::Question& question) const {
        return std::all_of(question.fields.begin(), question.fields.end(), [&](const auto& name) {
            return std::any_of(steps_.begin(), steps_.end(), [&](const Step& step) {
                return std::find(step.fields.begin(), step.fields.end(), name) != step.fields.end();
            });
        });
    }

    /// Takes back an answer that was refused, so that it is asked for again.
    void drop_refused(const triage::Assessment& assessment) {
        for (const triage::Refused& refused : assessment.refused) {
            for (Step& step : steps_) {
                if (step.values.erase(refused.field) > 0) {
                    not_understood(refused.field + " " + refused.given + ": " +
                                   words_.text(refused.why));
                    step.fields.erase(
                        std::remove(step.fields.begin(), step.fields.end(), refused.field),
                        step.fields.end());
                }
            }
        }
    }

    void ask_findings() {
        for (;;) {
            const auto assessment = answer_assessment(snapshot_, findings_so_far(), now_);
            drop_refused(assessment);
            const auto next = std::find_if(
                assessment.questions.begin(), assessment.questions.end(),
                [&](const auto& question) { return question.could && !was_asked(question); });
            if (next == assessment.questions.end()) {
                terminal_.out << say("server.ask.done") << "\n\n";
                break;
            }
            Step step{next->fields, {}};
            const Wish wish =
                next->fields.size() == 1 ? ask_field(*next, step) : ask_group(*next, step);
            if (wish == Wish::enough) {
                break;
            }
            if (wish == Wish::go_on) {
                steps_.push_back(std::move(step));
            } else if (!steps_.empty()) {
                steps_.pop_back();
            }
        }
        request_.findings = findings_so_far();
    }

    /// None: an answer to the question itself.
    static std::optional<Wish> wish_of(const std::optional<std::string>& line) {
        if (!line || *line == "enough") {
            return Wish::enough;
        }
        if (*line == "back") {
            return Wish::back;
        }
        if (line->empty() || *line == "unknown" || *line == "skip") {
            return Wish::go_on;
        }
        return std::nullopt;
    }

    Wish ask_field(const triage::Question& question, Step& step) {
        const triage::Field& field = field_of(question.fields.front());
        std::vector<std::string> choices = field.choices;
        if (field.type == triage::FieldType::sign) {
            choices = {"no", "yes"};
        }
        terminal_.out << words_.text(question.text) << '\n';
        for (std::size_t i = 0; i < choices.size(); ++i) {
            terminal_.out << fmt::format("  {}  {}\n", i + 1, choice_words(field, choices[i]));
        }
        for (;;) {
            const auto line = read();
            if (const auto wish = wish_of(line)) {
                return *wish;
            }
            if (const auto value = value_of(field, choices, *line)) {
                step.values[field.name] = *value;
                return Wish::go_on;
            }
            not_understood(choices.empty() ? "a number from " + to_figure(field.accept.from) +
                                                 " to " + to_figure(field.accept.to) + " is needed"
                                           : fmt::format("{} is needed", fmt::join(choices, ", ")));
        }
    }

    std::string choice_words(const triage::Field& field, const std::string& choice) const {
        const std::string id = "triage.fact." + field.name + "." + choice;
        return field.type == triage::FieldType::choice && snapshot_.catalogue.has(id)
                   ? say(id) + " (" + choice + ")"
                   : choice;
    }

    static std::optional<triage::FindingValue> value_of(const triage::Field& field,
                                                        const std::vector<std::string>& choices,
                                                        const std::string& line) {
        const auto number = as_number(line);
        if (choices.empty()) {
            const bool is_whole =
                number && *number == static_cast<double>(static_cast<long>(*number));
            const bool needs_whole = field.of_reading != triage::ReadingPart::none || field.whole ||
                                     field.type == triage::FieldType::step;
            constexpr double far_beyond = 1e6;
            const bool is_sane = number && *number >= 0 && *number < far_beyond;
            return is_sane && (is_whole || !needs_whole)
                       ? std::optional<triage::FindingValue>(*number)
                       : std::nullopt;
        }
        std::string word = line == "y" ? "yes" : line == "n" ? "no" : line;
        if (number && *number >= 1 && *number <= static_cast<double>(choices.size())) {
            word = choices[static_cast<std::size_t>(*number) - 1];
        }
        if (std::find(choices.begin(), choices.end(), word) == choices.end()) {
            return std::nullopt;
        }
        if (field.type == triage::FieldType::sign) {
            return triage::to_answer(word == "yes");
        }
        return word;
    }

    /// Numbers out of 1 to `most`; none when anything else stands in the line.
    static std::optional<std::set<std::size_t>> numbers_of(const std::string& line,
                                                           std::size_t most) {
        std::set<std::size_t> numbers;
        std::istringstream words{line};
        for (std::string word; words >> word;) {
            const auto number = as_number(word);
            if (!number || *number < 1 || *number > static_cast<double>(most)) {
                return std::nullopt;
            }
            numbers.insert(static_cast<std::size_t>(*number));
        }
        return numbers;
    }

    Wish ask_group(const triage::Question& question, Step& step) {
        terminal_.out << words_.text(question.text) << '\n';
        for (std::size_t i = 0; i < question.fields.size(); ++i) {
            terminal_.out << fmt::format("  {:2}  {}\n", i + 1,
                                         say("triage.field." + question.fields[i]));
        }
        terminal_.out << say("server.ask.group") << '\n';
        for (;;) {
            const auto line = read();
            if (const auto wish = wish_of(line)) {
                return *wish;
            }
            const auto chosen = *line == "none" || *line == "no"
                                    ? std::optional(std::set<std::size_t>{})
                                    : numbers_of(*line, question.fields.size());
            if (!chosen) {
                not_understood(say("server.ask.group"));
                continue;
            }
            for (std::size_t i = 0; i < question.fields.size(); ++i) {
                step.values[question.fields[i]] = triage::to_answer(chosen->count(i + 1) != 0);
            }
            return Wish::go_on;
        }
    }

    void ask_available_here() {
        const auto assessment = answer_assessment(snapshot_, request_.findings, now_);
        triage::CapabilitySet wanted;
        for (const triage::Need& need : assessment.needs) {
            wanted = wanted | need.any_of;
        }
        const auto members = wanted.members();
        if (members.empty() || !request_.findings.available_here.empty()) {
            return;
        }
        terminal_.out << say("server.ask.here") << '\n';
        for (std::size_t i = 0; i < members.size(); ++i) {
            terminal_.out << fmt::format("  {:2}  {}\n", i + 1, words_.capability(members[i]));
        }
        for (;;) {
            const auto line = read();
            if (wish_of(line) || *line == "none") {
                return;
            }
            if (const auto chosen = numbers_of(*line, members.size())) {
                for (const std::size_t number : *chosen) {
                    request_.findings.available_here.insert(members[number - 1]);
                }
                return;
            }
            not_understood(say("server.ask.group"));
        }
    }

    void ask_transport() {
        const auto assessment = answer_assessment(snapshot_, request_.findings, now_);
        if (!assessment.refer) {
            return;  // nothing of it could change the answer
        }
        terminal_.out << say("server.ask.means") << '\n';
        for (;;) {
            const auto line = read();
            if (wish_of(line)) {
                break;
            }
            const auto chosen = numbers_of(*line, 4);
            if (chosen && chosen->size() == 1) {
                request_.transport.means = static_cast<routing::Means>(*chosen->begin() - 1);
                break;
            }
            not_understood(say("server.ask.means"));
        }
        terminal_.out << say("server.ask.ready_in") << '\n';
        for (;;) {
            const auto line = read();
            if (wish_of(line)) {
                return;
            }
            constexpr double most_minutes = 2 * 24 * 60;
            const auto minutes = as_number(*line);
            if (minutes && *minutes >= 0 && *minutes <= most_minutes) {
                request_.transport.ready_in = std::chrono::minutes{static_cast<int>(*minutes)};
                return;
            }
            not_understood(say("server.ask.ready_in"));
        }
    }

    const Snapshot& snapshot_;
    RecommendationRequest request_;
    Words words_;
    Instant now_;
    Terminal& terminal_;
    std::vector<Step> steps_;
};

}  // namespace

RecommendationRequest ask_questions(const Snapshot& snapshot, RecommendationRequest request,
                                    bool knows_place, Instant now, Terminal& terminal) {
    return Dialogue{snapshot, std::move(request), now, terminal}.run(knows_place);
}

}  // namespace waybourne::server
