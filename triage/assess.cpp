#include "triage/assess.hpp"

#include <algorithm>

#include "triage/internal/case.hpp"
#include "triage/internal/explain.hpp"
#include "triage/question.hpp"

namespace waybourne::triage {

namespace {

/// Fills an assessment, part by part.
class Assessor {
public:
    Assessor(const Protocol& protocol, const Findings& findings, Instant now)
        : protocol_(protocol),
          findings_(findings),
          now_(now),
          checked_(check_findings(protocol, findings, now)),
          case_{checked_.answers, checked_.readings},
          worked_(work_through(protocol, case_)) {}

    Assessment answer(Questions questions) {
        assessment_.protocol = {protocol_.id, protocol_.version, protocol_.sha256,
                                protocol_.approved_by.has_value()};
        assessment_.assessed_at = now_;
        add_suspicions();
        add_needs();
        add_refused();
        add_measure_again();
        add_instructions();
        add_cautions();
        if (questions == Questions::work_out) {
            add_questions();
        }
        return std::move(assessment_);
    }

private:
    bool fires(std::size_t rule) const { return worked_.fired[rule] != 0; }
    void add_suspicions();
    void add_needs();
    void add_refused();
    void add_measure_again();
    void add_instructions();
    void add_treated_here();
    void add_actions(const std::vector<std::size_t>& actions, std::vector<Instruction>& to);
    void add_doses(const Action& action, std::vector<Instruction>& to);
    bool withhold(const std::string& action, const std::vector<Withholding>& reasons);
    void add_cautions();
    void add_questions();
    bool all_always_asked_answered() const;
    std::vector<FieldId> refused_fields() const;

    const Protocol& protocol_;
    const Findings& findings_;
    Instant now_;
    CheckedFindings checked_;
    Case case_;
    WorkedCase worked_;
    Assessment assessment_;
};

void Assessor::add_suspicions() {
    std::vector<char> hidden(protocol_.rules.size(), 0);
    for (std::size_t rule = 0; rule < protocol_.rules.size(); ++rule) {
        if (fires(rule)) {
            assessment_.fired.push_back(protocol_.rules[rule].id);
            assessment_.leave_now |= protocol_.rules[rule].leave_now;
            for (const std::size_t milder : protocol_.rules[rule].hides) {
                hidden[milder] = 1;
            }
        }
    }
    auto& suspected = assessment_.suspected;
    for (const std::size_t place : protocol_.rules_by_time) {
        if (!fires(place) || hidden[place] != 0) {
            continue;
        }
        const Rule& rule = protocol_.rules[place];
        auto same = std::find_if(suspected.begin(), suspected.end(), [&](const Suspicion& other) {
            return other.condition == rule.condition;
        });
        if (same == suspected.end()) {
            suspected.push_back({rule.condition, {rule.suspect}, {}, {}});
            same = suspected.end() - 1;
        }
        same->because.push_back({rule.id, facts_for(protocol_, rule, worked_)});
        for (const std::string& source : rule.sources) {
            if (std::find(same->sources.begin(), same->sources.end(), source) ==
                same->sources.end()) {
                same->sources.push_back(source);
            }
        }
    }
}

void Assessor::add_needs() {
    const Instant from = findings_.at.value_or(now_);
    for (const CombinedNeed& combined : combine_needs(protocol_, worked_.fired)) {
        Need need;
        need.any_of = combined.any_of;
        need.critical = combined.critical;
        need.available_here = combined.any_of.intersects(findings_.available_here);
        need.within = combined.within;
        if (need.within) {
            need.deadline = from + *need.within;
        }
        for (const std::size_t rule : combined.rules) {
            need.for_rules.push_back(protocol_.rules[rule].id);
        }
        assessment_.refer |= !need.available_here;
        assessment_.needs.push_back(std::move(need));
    }
    assessment_.within = shortest_limit(protocol_, worked_.fired);
    if (assessment_.within) {
        assessment_.earliest_deadline = from + *assessment_.within;
    }
    assessment_.leave_now &= assessment_.refer;  // COM-8: all can be met here
}

void Assessor::add_refused() {
    assessment_.refused = std::move(checked_.refused);
    assessment_.confirm = std::move(checked_.confirm);
    for (const std::size_t place : worked_.contradictions) {
        const Contradiction& contradiction = protocol_.contradictions[place];
        for (const FieldId id : contradiction.ask) {
            if (!case_.answers.is_known(id)) {
                continue;
            }
            const Field& field = protocol_.fields[id];
            const double value = case_.answers.value(id);
            const bool is_number = field.choices.empty();
            assessment_.refused.push_back(
                {field.name,
                 is_number ? to_words(value) : field.choices[static_cast<std::size_t>(value)],
                 {contradiction.text}});
        }
    }
}

Message minutes_message(const std::string& id, Seconds span) {
    return {id, {{"minutes", std::to_string(ceil_minutes(span).count())}}};
}

void Assessor::add_measure_again() {
    const ReadingRules& rules = protocol_.reading;
    const auto due_now = [&](const std::string& why, Seconds after, bool provisional) {
        assessment_.measure_again =
            MeasureAgain{after, minutes_message("triage.measure." + why, after)};
        assessment_.provisional = provisional;
    };
    switch (worked_.standing.due) {
        case RepeatDue::at_once:
            return due_now("MEA-2", 0s, true);
        case RepeatDue::third:
            return due_now("MEA-3", 0s, true);
        case RepeatDue::not_recordable:
            return due_now("PLA-9", 0s, true);
        case RepeatDue::refused:
            return due_now("refused", 0s, true);
        case RepeatDue::after_rest:
            if (!worked_.holds(rules.danger)) {  // else MEA-5: nobody waits for it
                const Seconds left = worked_.standing.rest_from + rules.rest - now_;
                return left > 0s ? due_now("MEA-1", left, true) : due_now("MEA-1_now", 0s, true);
            }
            break;
        case RepeatDue::after_normal:
        case RepeatDue::none:
            break;
    }
    if (assessment_.within) {
        const bool urgent = *assessment_.within <= rules.urgent_within;
        due_now("MEA-6", urgent ? rules.watch_urgent : rules.watch_otherwise, false);
    } else if (worked_.standing.due == RepeatDue::after_normal) {
        due_now("MEA-4", rules.again_after_normal, false);
    } else if (worked_.standing.due == RepeatDue::after_rest) {
        due_now("MEA-6", rules.watch_urgent, false);
    }
}

bool Assessor::withhold(const std::string& action, const std::vector<Withholding>& reasons) {
    for (const Withholding& reason : reasons) {
        if (worked_.holds(reason.when)) {
            Withheld withheld{action, {name_text(action)}, {reason.because}};
            auto& all = assessment_.withheld;
            if (std::find(all.begin(), all.end(), withheld) == all.end()) {
                all.push_back(std::move(withheld));
            }
            return true;
        }
    }
    return false;
}

void add_once(std::vector<Instruction>& instructions, Instruction instruction) {
    if (std::none_of(instructions.begin(), instructions.end(), [&](const Instruction& other) {
            return other.action == instruction.action;
        })) {
        instructions.push_back(std::move(instruction));
    }
}

void Assessor::add_doses(const Action& action, std::vector<Instruction>& to) {
    for (const std::size_t place : action.doses) {
        const Dose& dose = protocol_.doses[place];
        const bool wanted = !dose.given_when || worked_.holds(*dose.given_when);
        if (wanted && !withhold(dose.id, dose.withheld)) {
            add_once(to, {dose.id, {dose.text}, dose.sources});
        }
    }
}

void Assessor::add_actions(const std::vector<std::size_t>& actions, std::vector<Instruction>& to) {
    for (const std::size_t place : actions) {
        const Action& action = protocol_.actions[place];
        if (!withhold(action.id, action.withheld)) {
            add_once(to, {action.id, {action.text}, action.sources});
            add_doses(action, to);
        }
    }
}

void Assessor::add_treated_here() {
    const auto& needs = assessment_.needs;
    const bool some = std::any_of(needs.begin(), needs.end(),
                                  [](const Need& need) { return need.available_here; });
    if (!some) {
        return;
    }
    if (assessment_.refer) {
        add_once(assessment_.do_now, {"COM-8", {"triage.do_here_first"}, {}});
    } else {
        const Seconds within = assessment_.within.value_or(0s);
        add_once(assessment_.do_now, {"COM-8", minutes_message("triage.treat_here", within), {}});
    }
}

void Assessor::add_instructions() {
    add_treated_here();
    for (const std::size_t rule : protocol_.rules_by_time) {
        if (fires(rule)) {
            add_actions(protocol_.rules[rule].do_now, assessment_.do_now);
        }
    }
    if (!assessment_.refer) {
        return;
    }
    for (const std::size_t rule : protocol_.rules_by_time) {
        if (fires(rule)) {
            add_actions(protocol_.rules[rule].on_the_way, assessment_.on_the_way);
        }
    }
}

bool Assessor::all_always_asked_answered() const {
    return checked_.refused.empty() &&
           std::all_of(protocol_.always_ask.begin(), protocol_.always_ask.end(),
                       [&](FieldId field) { return worked_.is_known(field); });
}

void Assessor::add_cautions() {
    if (!protocol_.approved_by) {
        assessment_.cautions.push_back({"triage.not_approved"});
    }
    if (assessment_.needs.empty()) {
        const bool asked = all_always_asked_answered() && assessment_.refused.empty();
        assessment_.cautions.push_back({asked ? "triage.nothing_found" : "triage.ask_first"});
    }
    for (const Caution& caution : protocol_.cautions) {
        if (!caution.when || worked_.holds(*caution.when)) {
            assessment_.cautions.push_back({caution.text});
        }
    }
}

std::vector<FieldId> Assessor::refused_fields() const {
    std::vector<FieldId> fields = checked_.refused_fields;
    for (const std::size_t place : worked_.contradictions) {
        for (const FieldId field : protocol_.contradictions[place].ask) {
            if (case_.answers.is_known(field) &&
                std::find(fields.begin(), fields.end(), field) == fields.end()) {
                fields.push_back(field);
            }
        }
    }
    return fields;
}

void Assessor::add_questions() {
    const auto refused = refused_fields();
    const auto asked = fields_to_ask(protocol_, case_, worked_, refused);
    for (const FieldId field : asked) {
        assessment_.asked.push_back(protocol_.fields[field].name);
    }
    assessment_.questions = questions_about(protocol_, case_, worked_, asked, refused, now_);
}

}  // namespace

Assessment assess(const Protocol& protocol, const Findings& findings, Instant now,
                  Questions questions) {
    return Assessor(protocol, findings, now).answer(questions);
}

}  // namespace waybourne::triage
