#include "triage/internal/proof_bench.hpp"

#include <cmath>
#include <sstream>

namespace waybourne::triage {

std::string value_text(const Field& field, double value) {
    if (std::isnan(value)) {
        return "not answered";
    }
    if (field.type == FieldType::sign || field.type == FieldType::choice) {
        return field.choices[static_cast<std::size_t>(value)];
    }
    std::ostringstream text;
    text << value;
    return text.str();
}

namespace {

const Tuple& tuple_of(const ProofBench& bench, const Choices& choices, const Step* step,
                      bool after_step, std::size_t dimension) {
    if (step != nullptr && step->dimension == dimension) {
        return after_step ? step->after : step->before;
    }
    // The first cell is "nothing answered".
    return bench.space.dimensions()[dimension].cells[choices[dimension].value_or(0)];
}

}  // namespace

Situation situation_of(const ProofBench& bench, const Choices& choices, const Step* step,
                       bool after_step) {
    Situation situation(bench.protocol.fields.size());
    for (std::size_t place = 0; place < choices.size(); ++place) {
        const Tuple& tuple = tuple_of(bench, choices, step, after_step, place);
        const Dimension& dimension = bench.space.dimensions()[place];
        for (std::size_t field = 0; field < dimension.fields.size(); ++field) {
            situation.set(dimension.fields[field], tuple.values[field]);
        }
        if (!tuple.taken_together) {
            situation.set_taken_together(false);
        }
    }
    return situation;
}

CounterExample describe(const ProofBench& bench, const Choices& choices, const Step* step) {
    const Protocol& protocol = bench.protocol;
    const Situation before = situation_of(bench, choices, step, false);
    CounterExample example;
    for (FieldId field = 0; field < protocol.fields.size(); ++field) {
        const bool changes = step != nullptr && step->field == field;
        if (before.is_known(field) && !changes) {
            example.findings.push_back({protocol.fields[field].name,
                                        value_text(protocol.fields[field], before.value(field))});
        }
    }
    if (!before.taken_together()) {
        example.findings.push_back({"pulse and pressure", "not measured together"});
    }
    if (step != nullptr) {
        const Situation after = situation_of(bench, choices, step, true);
        const Field& field = protocol.fields[step->field];
        example.change =
            CounterExample::Change{field.name, value_text(field, before.value(step->field)),
                                   value_text(field, after.value(step->field))};
    }
    return example;
}

std::optional<CounterExample> witness(const ProofBench& bench, ConditionId condition) {
    const SearchResult result = bench.find({{condition, holds, false, true}});
    if (!result.found) {
        return std::nullopt;
    }
    return describe(bench, *result.found);
}

std::string need_text(const WantedCare& need, const std::optional<Seconds>& within) {
    std::string text;
    for (const Capability capability : need.any_of.members()) {
        text += (text.empty() ? "" : " or ") + std::string(to_name(capability));
    }
    if (need.critical) {
        text += ", critical";
    }
    if (within) {
        text += ", within " + std::to_string(ceil_minutes(*within).count()) + " minutes";
    }
    return text;
}

}  // namespace waybourne::triage
