#include <algorithm>
#include <sstream>

#include "triage/internal/protocol_proofs.hpp"

namespace waybourne::triage {

namespace {

using Kind = ProtocolFault::Kind;

void prove_reachable(const ProofBench& bench, const std::string& where, const std::string& what,
                     const std::vector<ConditionId>& together, ProtocolVerdict& verdict) {
    std::vector<Wish> wishes;
    wishes.reserve(together.size());
    for (const ConditionId condition : together) {
        wishes.push_back({condition, holds, false, true});
    }
    const SearchResult result = bench.find(wishes);
    if (!result.found) {
        verdict.faults.push_back({result.gave_up ? Kind::not_proven : Kind::unreachable, where,
                                  result.gave_up
                                      ? "too many findings to try all: make the condition simpler"
                                      : "no finding reaches " + what,
                                  std::nullopt});
    }
}

std::string limit_text(const std::optional<Limit>& limit, bool is_lower, double scale) {
    if (!limit) {
        return {};
    }
    std::ostringstream text;
    text << (is_lower ? (limit->included ? " at least " : " more than ")
                      : (limit->included ? " at most " : " less than "))
         << limit->value / scale;
    return text.str();
}

std::string comparison_text(const Protocol& protocol, const Condition& condition) {
    const bool is_ratio = condition.kind == Condition::Kind::ratio_in;
    const std::string name = is_ratio ? protocol.conditions.ratios()[condition.field].name
                                      : protocol.fields[condition.field].name;
    const double scale = is_ratio ? 10 : 1;
    return name + limit_text(condition.range.from, true, scale) +
           limit_text(condition.range.to, false, scale);
}

bool contains(const ConditionTable& table, ConditionId whole, ConditionId part) {
    if (whole == part) {
        return true;
    }
    const auto& parts = table.condition(whole).parts;
    return std::any_of(parts.begin(), parts.end(),
                       [&](ConditionId inner) { return contains(table, inner, part); });
}

/// The first rule or term that uses a comparison, to say where it stands.
std::string user_of(const Protocol& protocol, ConditionId leaf) {
    for (const Rule& rule : protocol.rules) {
        if (contains(protocol.conditions, rule.when, leaf)) {
            return rule.id;
        }
    }
    for (const Term& term : protocol.terms) {
        if (contains(protocol.conditions, term.when, leaf)) {
            return term.name;
        }
    }
    return "conditions";
}

/// A comparison that is always or never true for accepted values is a mistyped limit.
void prove_comparison(const ProofBench& bench, ConditionId leaf, ProtocolVerdict& verdict) {
    const Condition& condition = bench.protocol.conditions.condition(leaf);
    if (condition.kind != Condition::Kind::number_in &&
        condition.kind != Condition::Kind::ratio_in) {
        return;
    }
    const Choices nothing(bench.space.dimensions().size());
    const Truths possible = bench.truths.of(leaf, nothing);
    if ((possible & holds) == 0 || (possible & only(Answer::no)) == 0) {
        verdict.faults.push_back({Kind::unreachable, user_of(bench.protocol, leaf),
                                  "\"" + comparison_text(bench.protocol, condition) + "\" is " +
                                      ((possible & holds) == 0 ? "never" : "always") +
                                      " true for accepted values",
                                  std::nullopt});
    }
}

bool reads(const Protocol& protocol, ConditionId condition, FieldId field) {
    const auto& fields = protocol.conditions.fields_of(condition);
    return std::binary_search(fields.begin(), fields.end(), field);
}

bool is_read(const Protocol& protocol, FieldId field, bool by_cautions_too) {
    const bool by_rule =
        std::any_of(protocol.rules.begin(), protocol.rules.end(),
                    [&](const Rule& rule) { return reads(protocol, rule.when, field); });
    return by_rule || (by_cautions_too &&
                       std::any_of(protocol.cautions.begin(), protocol.cautions.end(),
                                   [&](const Caution& caution) {
                                       return caution.when && reads(protocol, *caution.when, field);
                                   }));
}

void prove_never_ignored(const ProofBench& bench, FieldId field, ProtocolVerdict& verdict) {
    std::vector<Wish> none_fires;
    for (const Rule& rule : bench.protocol.rules) {
        if (reads(bench.protocol, rule.when, field)) {
            none_fires.push_back({rule.when, does_not_hold, true, false});
        }
    }
    for (const Step& worst : bench.space.at_worst(field)) {
        const SearchResult result = bench.find(none_fires, &worst);
        if (!result.found && !result.gave_up) {
            continue;
        }
        ProtocolFault fault{
            result.gave_up ? Kind::not_proven : Kind::ignored, bench.protocol.fields[field].name,
            "must never be ignored, yet at its worst no rule that reads it fires", std::nullopt};
        if (result.found) {
            CounterExample example = describe(bench, *result.found, &worst);
            example.findings.push_back({example.change->field, example.change->after});
            example.change.reset();
            fault.counter_example = std::move(example);
        }
        verdict.faults.push_back(std::move(fault));
        return;
    }
}

}  // namespace

void prove_all_reachable(const ProofBench& bench, ProtocolVerdict& verdict) {
    const Protocol& protocol = bench.protocol;
    for (const Rule& rule : protocol.rules) {
        prove_reachable(bench, rule.id, "this rule", {rule.when}, verdict);
    }
    for (const Dose& dose : protocol.doses) {
        if (dose.given_when) {
            prove_reachable(bench, dose.id, "this dose", {*dose.given_when}, verdict);
        }
        for (const Withholding& withholding : dose.withheld) {
            prove_reachable(bench, dose.id, "the withholding " + withholding.because,
                            {withholding.when}, verdict);
        }
    }
    for (const Action& action : protocol.actions) {
        for (const Withholding& withholding : action.withheld) {
            prove_reachable(bench, action.id, "the withholding " + withholding.because,
                            {withholding.when}, verdict);
        }
    }
    for (const Caution& caution : protocol.cautions) {
        if (caution.when) {
            prove_reachable(bench, caution.text, "this caution", {*caution.when}, verdict);
        }
    }
    for (const Contradiction& contradiction : protocol.contradictions) {
        prove_reachable(bench, contradiction.id, "this contradiction", {contradiction.when},
                        verdict);
    }
    for (ConditionId leaf = 0; leaf < protocol.conditions.size(); ++leaf) {
        prove_comparison(bench, leaf, verdict);
    }
}

void prove_nothing_ignored(const ProofBench& bench, ProtocolVerdict& verdict) {
    const Protocol& protocol = bench.protocol;
    for (FieldId id = 0; id < protocol.fields.size(); ++id) {
        const Field& field = protocol.fields[id];
        if (field.never_ignored) {
            prove_never_ignored(bench, id, verdict);
        } else if (!field.note_only && !is_read(protocol, id, true)) {
            verdict.faults.push_back(
                {Kind::ignored, field.name,
                 "no rule and no caution reads this field: whatever is "
                 "answered, nothing follows; mark it note_only if that is meant",
                 std::nullopt});
        }
        if (field.note_only && is_read(protocol, id, false)) {
            verdict.faults.push_back({Kind::ignored, field.name,
                                      "is marked note_only, yet a rule reads it", std::nullopt});
        }
    }
}

}  // namespace waybourne::triage
