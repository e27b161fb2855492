#include "triage/condition.hpp"

#include <algorithm>
#include <functional>

namespace waybourne::triage {

namespace {

template <typename Value>
void insert_sorted(std::vector<Value>& values, const Value& value) {
    const auto place = std::lower_bound(values.begin(), values.end(), value);
    if (place == values.end() || *place != value) {
        values.insert(place, value);
    }
}

std::size_t fingerprint(const Condition& condition) {
    auto mixed = static_cast<std::size_t>(condition.kind);
    const auto mix = [&](std::size_t value) { mixed = mixed * 1'000'003 + value; };
    for (const ConditionId part : condition.parts) {
        mix(part);
    }
    mix(condition.field);
    mix(std::hash<std::uint64_t>{}(condition.values));
    for (const auto& limit : {condition.range.from, condition.range.to}) {
        mix(limit ? std::hash<double>{}(limit->value) : 1);
    }
    return mixed;
}

bool is_leaf(Condition::Kind kind) {
    using Kind = Condition::Kind;
    return kind == Kind::unanswered_field || kind == Kind::one_of || kind == Kind::number_in ||
           kind == Kind::ratio_in;
}

/// The truth of a whole from the truths of its parts.
template <typename TruthOf>
Answer combined(const Condition& condition, const TruthOf& truth_of) {
    using Kind = Condition::Kind;
    switch (condition.kind) {
        case Kind::all: {
            Answer answer = Answer::yes;
            for (const ConditionId part : condition.parts) {
                answer = both(answer, truth_of(part));
            }
            return answer;
        }
        case Kind::any: {
            Answer answer = Answer::no;
            for (const ConditionId part : condition.parts) {
                answer = either(answer, truth_of(part));
            }
            return answer;
        }
        case Kind::opposite:
            return opposite(truth_of(condition.parts.front()));
        case Kind::sure:
            return to_answer(truth_of(condition.parts.front()) == Answer::yes);
        case Kind::unless_sure:
            return to_answer(truth_of(condition.parts.front()) != Answer::yes);
        default:  // unanswered
            return to_answer(truth_of(condition.parts.front()) == Answer::unknown);
    }
}

}  // namespace

std::size_t ConditionTable::add_ratio(Ratio ratio) {
    ratios_.push_back(std::move(ratio));
    ratio_limits_.emplace_back();
    return ratios_.size() - 1;
}

ConditionId ConditionTable::add(const Condition& condition) {
    const std::size_t key = fingerprint(condition);
    for (auto [place, end] = places_.equal_range(key); place != end; ++place) {
        if (conditions_[place->second] == condition) {
            return place->second;
        }
    }
    const ConditionId id = conditions_.size();
    std::vector<FieldId> fields;
    for (const ConditionId part : condition.parts) {
        for (const FieldId field : fields_of_[part]) {
            insert_sorted(fields, field);
        }
    }
    if (condition.kind == Condition::Kind::ratio_in) {
        insert_sorted(fields, ratios_[condition.field].divided);
        insert_sorted(fields, ratios_[condition.field].divisor);
    } else if (is_leaf(condition.kind)) {
        insert_sorted(fields, condition.field);
    }
    for (const FieldId field : fields) {
        dependents_[field].push_back(id);
    }
    note_cuts(condition);
    conditions_.push_back(condition);
    fields_of_.push_back(std::move(fields));
    places_.emplace(key, id);
    return id;
}

void ConditionTable::note_cuts(const Condition& condition) {
    const Range& range = condition.range;
    if (condition.kind == Condition::Kind::ratio_in) {
        for (const auto& limit : {range.from, range.to}) {
            if (limit) {
                insert_sorted(ratio_limits_[condition.field], limit->value);
            }
        }
    } else if (condition.kind == Condition::Kind::number_in) {
        if (range.from) {
            insert_sorted(cuts_[condition.field], Cut{range.from->value, !range.from->included});
        }
        if (range.to) {
            insert_sorted(cuts_[condition.field], Cut{range.to->value, range.to->included});
        }
    }
}

Answer ConditionTable::evaluate_ratio(const Condition& condition,
                                      const Situation& situation) const {
    const Ratio& ratio = ratios_[condition.field];
    if (!situation.is_known(ratio.divided)) {
        return Answer::unknown;
    }
    const double tenfold = 10 * situation.value(ratio.divided);
    const auto reaches = [&](const Limit& limit, double divisor) {
        return tenfold > limit.value * divisor ||
               (limit.included && tenfold == limit.value * divisor);
    };
    const Range& range = condition.range;
    if (!situation.is_known(ratio.divisor) || !situation.taken_together()) {
        // No divisor counts for more than the largest one: past that, every one of them reaches.
        const bool whatever_the_divisor =
            range.from && !range.to && reaches(*range.from, ratio.divisor_at_most);
        return whatever_the_divisor ? Answer::yes : Answer::unknown;
    }
    const double divisor = std::min(situation.value(ratio.divisor), ratio.divisor_at_most);
    const bool above = !range.from || reaches(*range.from, divisor);
    const bool below = !range.to || tenfold < range.to->value * divisor ||
                       (range.to->included && tenfold == range.to->value * divisor);
    return to_answer(above && below);
}

Answer ConditionTable::evaluate_leaf(const Condition& condition, const Situation& situation) const {
    using Kind = Condition::Kind;
    if (condition.kind == Kind::ratio_in) {
        return evaluate_ratio(condition, situation);
    }
    const bool known = situation.is_known(condition.field);
    if (condition.kind == Kind::unanswered_field) {
        return to_answer(!known);
    }
    if (!known) {
        return Answer::unknown;
    }
    const double value = situation.value(condition.field);
    return condition.kind == Kind::number_in
               ? to_answer(condition.range.contains(value))
               : to_answer((condition.values >> static_cast<unsigned>(value) & 1) != 0);
}

Answer ConditionTable::evaluate(ConditionId id, const Situation& situation) const {
    const Condition& condition = conditions_[id];
    return is_leaf(condition.kind)
               ? evaluate_leaf(condition, situation)
               : combined(condition, [&](ConditionId part) { return evaluate(part, situation); });
}

Answer ConditionTable::evaluate_with(ConditionId id, const Situation& situation,
                                     std::span<const Answer> truths) const {
    const Condition& condition = conditions_[id];
    return is_leaf(condition.kind)
               ? evaluate_leaf(condition, situation)
               : combined(condition, [&](ConditionId part) { return truths[part]; });
}

void ConditionTable::evaluate_all(const Situation& situation, std::span<Answer> truths) const {
    for (ConditionId id = 0; id < conditions_.size(); ++id) {
        truths[id] = evaluate_with(id, situation, truths);
    }
}

void ConditionTable::evaluate_again(FieldId changed, const Situation& situation,
                                    std::span<Answer> truths) const {
    for (const ConditionId id : dependents_[changed]) {
        truths[id] = evaluate_with(id, situation, truths);
    }
}

}  // namespace waybourne::triage
