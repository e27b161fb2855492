#include <algorithm>
#include <cctype>
#include <set>
#include <utility>

#include "triage/internal/protocol_proofs.hpp"

namespace waybourne::triage {

namespace {

using Kind = ProtocolFault::Kind;

bool is_blank(const std::string& text) {
    return std::all_of(text.begin(), text.end(),
                       [](unsigned char letter) { return std::isspace(letter) != 0; });
}

bool has_words(const std::vector<std::string>& texts) {
    return !texts.empty() && std::none_of(texts.begin(), texts.end(), is_blank);
}

/// The parts a drug must name, in the order in which people ask for them.
std::string missing_parts(const Dose& dose) {
    std::string missing;
    const auto need = [&](bool is_there, const char* part) {
        if (!is_there) {
            missing += (missing.empty() ? "" : ", ") + std::string(part);
        }
    };
    need(!is_blank(dose.drug), "the drug");
    need(!is_blank(dose.dose), "the dose");
    need(!is_blank(dose.route), "the route");
    need(!is_blank(dose.maximum), "the maximum (or \"none stated in the source\")");
    need(has_words(dose.contraindications),
         "the contraindications (or \"none stated in the source\")");
    return missing;
}

/// A finding for which a dose would be shown: some rule with its action fires and it is due.
std::optional<CounterExample> shown_dose(const ProofBench& bench, std::size_t dose) {
    const Protocol& protocol = bench.protocol;
    for (const Rule& rule : protocol.rules) {
        const bool names_it =
            std::any_of(rule.do_now.begin(), rule.do_now.end(), [&](std::size_t action) {
                const auto& doses = protocol.actions[action].doses;
                return std::find(doses.begin(), doses.end(), dose) != doses.end();
            });
        if (!names_it) {
            continue;
        }
        std::vector<Wish> wishes{{rule.when, holds, false, true}};
        if (protocol.doses[dose].given_when) {
            wishes.push_back({*protocol.doses[dose].given_when, holds, false, true});
        }
        const SearchResult result = bench.find(wishes);
        if (result.found) {
            return describe(bench, *result.found);
        }
    }
    return std::nullopt;
}

std::optional<CounterExample> shown_action(const ProofBench& bench, std::size_t action) {
    for (const Rule& rule : bench.protocol.rules) {
        const auto names = [&](const std::vector<std::size_t>& actions) {
            return std::find(actions.begin(), actions.end(), action) != actions.end();
        };
        if (names(rule.do_now) || names(rule.on_the_way)) {
            return witness(bench, rule.when);
        }
    }
    return std::nullopt;
}

void check_sources(const ProofBench& bench, ProtocolVerdict& verdict) {
    const Protocol& protocol = bench.protocol;
    const auto fault = [&](const std::string& where, const char* what,
                           std::optional<CounterExample> example) {
        verdict.faults.push_back({Kind::no_source, where,
                                  std::string(what) + " names no source, yet this finding is "
                                                      "answered by it",
                                  std::move(example)});
    };
    for (const Rule& rule : protocol.rules) {
        if (!has_words(rule.sources)) {
            fault(rule.id, "the rule", witness(bench, rule.when));
        }
    }
    for (std::size_t action = 0; action < protocol.actions.size(); ++action) {
        if (!has_words(protocol.actions[action].sources)) {
            fault(protocol.actions[action].id, "the action", shown_action(bench, action));
        }
    }
    for (std::size_t dose = 0; dose < protocol.doses.size(); ++dose) {
        if (!has_words(protocol.doses[dose].sources)) {
            fault(protocol.doses[dose].id, "the dose", shown_dose(bench, dose));
        }
    }
}

void check_doses(const ProofBench& bench, ProtocolVerdict& verdict) {
    for (std::size_t dose = 0; dose < bench.protocol.doses.size(); ++dose) {
        const std::string missing = missing_parts(bench.protocol.doses[dose]);
        if (!missing.empty()) {
            verdict.faults.push_back(
                {Kind::incomplete_dose, bench.protocol.doses[dose].id,
                 "does not name " + missing + ", yet this finding is answered with it",
                 shown_dose(bench, dose)});
        }
    }
}

void add_facts(const Field& field, std::set<std::string>& ids) {
    const std::string fact = "triage.fact." + field.name;
    ids.insert(fact + ".unknown");
    if (field.type == FieldType::number || field.type == FieldType::step) {
        ids.insert(fact);
    }
    for (const std::string& choice : field.choices) {
        std::string id = fact + ".";
        id += choice;
        ids.insert(std::move(id));
    }
}

/// Every text that an answer by this protocol can show.
std::set<std::string> needed_texts(const Protocol& protocol) {
    std::set<std::string> ids{
        "triage.refused.outside", "triage.refused.gap",   "triage.confirm.outside",
        "triage.confirm.gap",     "triage.measure.MEA-1", "triage.measure.MEA-1_now",
        "triage.measure.MEA-2",   "triage.measure.MEA-3", "triage.measure.MEA-4",
        "triage.measure.MEA-6",   "triage.measure.PLA-9", "triage.measure.refused",
        "triage.not_approved",    "triage.nothing_found", "triage.ask_first",
        "triage.treat_here",      "triage.do_here_first", protocol.danger_question};
    const auto add_withheld = [&](const std::string& id, const std::vector<Withholding>& withheld) {
        for (const Withholding& one : withheld) {
            ids.insert(one.because);
            ids.insert(name_text(id));
        }
    };
    for (const Field& field : protocol.fields) {
        ids.insert(field.question);
        add_facts(field, ids);
        if (field.wrong_unit) {
            ids.insert(field.wrong_unit->text);
        }
    }
    for (const Term& term : protocol.terms) {
        ids.insert("triage.fact." + term.name + ".unknown");
    }
    for (const Ratio& ratio : protocol.conditions.ratios()) {
        ids.insert("triage.fact." + ratio.name);
        ids.insert("triage.fact." + ratio.name + ".unknown");
    }
    for (const Rule& rule : protocol.rules) {
        ids.insert(rule.suspect);
    }
    for (const Action& action : protocol.actions) {
        ids.insert(action.text);
        add_withheld(action.id, action.withheld);
    }
    for (const Dose& dose : protocol.doses) {
        ids.insert(dose.text);
        add_withheld(dose.id, dose.withheld);
    }
    for (const Contradiction& contradiction : protocol.contradictions) {
        ids.insert(contradiction.text);
    }
    for (const Caution& caution : protocol.cautions) {
        ids.insert(caution.text);
    }
    return ids;
}

}  // namespace

void check_parts(const ProofBench& bench, const Catalogue& texts, ProtocolVerdict& verdict) {
    check_sources(bench, verdict);
    check_doses(bench, verdict);
    for (const std::string& id : needed_texts(bench.protocol)) {
        if (!texts.has(id)) {
            verdict.faults.push_back(
                {Kind::missing_text, id,
                 "the " + texts.language() + " texts do not have it: an answer would show the id",
                 std::nullopt});
        }
    }
}

}  // namespace waybourne::triage
