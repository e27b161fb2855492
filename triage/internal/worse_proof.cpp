#include <algorithm>
#include <set>
#include <tuple>

#include "triage/internal/protocol_proofs.hpp"

namespace waybourne::triage {

namespace {

using Kind = ProtocolFault::Kind;

/// One thing that a rule asks for and that must not get lost: a need, a limit that comes without
/// one, or "leave now".
struct Duty {
    std::optional<WantedCare> need;
    bool leave_now = false;
    std::optional<Seconds> within;
};

std::vector<Duty> duties_of(const Rule& rule) {
    std::vector<Duty> duties;
    for (const WantedCare& need : rule.needs) {
        duties.push_back({need, false, rule.within});
    }
    if (rule.needs.empty() && rule.within) {
        duties.push_back({std::nullopt, false, rule.within});
    }
    if (rule.leave_now) {
        duties.push_back({std::nullopt, true, std::nullopt});
    }
    return duties;
}

std::string duty_text(const Duty& duty) {
    if (duty.need) {
        return need_text(*duty.need, duty.within);
    }
    if (duty.leave_now) {
        return "leave now";
    }
    return "a limit of " + std::to_string(ceil_minutes(*duty.within).count()) + " minutes";
}

bool no_later(const std::optional<Seconds>& time, const std::optional<Seconds>& limit) {
    return !limit || (time && *time <= *limit);
}

/// The search for findings in which a step loses what a rule asks for.
class WorseProof {
public:
    WorseProof(const ProofBench& bench, ProtocolVerdict& verdict)
        : bench_(bench), protocol_(bench.protocol), verdict_(verdict) {
        for (const Rule& rule : protocol_.rules) {
            for (const WantedCare& need : rule.needs) {
                groups_.insert(need.any_of.mask());
            }
        }
    }

    void run() {
        for (const Step& step : bench_.space.steps()) {
            ++verdict_.steps;
            const std::vector<Tendency> tendency = tendencies(protocol_, bench_.space, step);
            for (const Rule& rule : protocol_.rules) {
                const Tendency moves = tendency[rule.when];
                if (moves == Tendency::up) {
                    ++verdict_.safe_by_shape;
                } else if (moves != Tendency::same) {
                    enumerate(step, rule);
                }
            }
        }
    }

private:
    void enumerate(const Step& step, const Rule& rule) {
        bool safe = true;
        const std::vector<Wish> lost{{rule.when, holds, false, true},
                                     {rule.when, does_not_hold, true, true}};
        const SearchResult result = bench_.find(lost, &step);
        if (result.found || result.gave_up) {
            for (const Duty& duty : duties_of(rule)) {
                safe = is_taken_over(step, rule, duty, lost) && safe;
            }
        }
        verdict_.safe_by_enumeration += safe ? 1 : 0;
    }

    bool is_taken_over(const Step& step, const Rule& rule, const Duty& duty,
                       std::vector<Wish> wishes) {
        for (const Rule& other : protocol_.rules) {
            if (takes_over(other, duty)) {
                wishes.push_back({other.when, does_not_hold, true, false});
            }
        }
        const SearchResult result = bench_.find(wishes, &step);
        if (result.found) {
            report(step, rule, duty, *result.found);
        } else if (result.gave_up) {
            add({Kind::not_proven, rule.id,
                 "too many findings to try all: make the condition simpler", std::nullopt},
                step.field);
        }
        return !result.found && !result.gave_up;
    }

    bool takes_over(const Rule& other, const Duty& duty) const {
        if (duty.leave_now) {
            return other.leave_now;
        }
        if (!no_later(other.within, duty.within)) {
            return false;
        }
        return !duty.need ||
               std::any_of(other.needs.begin(), other.needs.end(), [&](const WantedCare& need) {
                   return (need.critical || !duty.need->critical) &&
                          stands_for(need.any_of, duty.need->any_of);
               });
    }

    /// Point d of the header: the same group, or a narrower one inside every group within it.
    bool stands_for(CapabilitySet narrower, CapabilitySet group) const {
        if (narrower == group) {
            return true;
        }
        return group.contains_all(narrower) &&
               std::all_of(groups_.begin(), groups_.end(), [&](std::uint64_t mask) {
                   const auto other = CapabilitySet::from_mask(mask);
                   return !group.contains_all(other) || other.contains_all(narrower);
               });
    }

    void report(const Step& step, const Rule& rule, const Duty& duty, const Choices& found) {
        ProtocolFault fault{kind_of(step, rule, duty, found), rule.id, {}, {}};
        CounterExample example = describe(bench_, found, &step);
        example.lost = duty_text(duty) + " (" + rule.id + ")";
        example.instead = asked_for(situation_of(bench_, found, &step, true));
        fault.explanation = explanation(fault.kind, step);
        fault.counter_example = std::move(example);
        add(std::move(fault), step.field);
    }

    static std::string explanation(Kind kind, const Step& step) {
        switch (kind) {
            case Kind::gap:
                return "there is a gap: at the next worse value this is not asked for, at a still "
                       "worse one it is again";
            case Kind::unknown_taken_as_no:
                return "leaving the field unanswered asks for less than its safer answer";
            case Kind::later_deadline:
                return "a worse finding gives more time";
            default:
                return step.kind == Step::Kind::sign_added
                           ? "finding a danger sign asks for less than not having asked for it"
                           : "a worse value asks for less";
        }
    }

    Kind kind_of(const Step& step, const Rule& rule, const Duty& duty, const Choices& found) const {
        if (step.kind == Step::Kind::less_known) {
            return Kind::unknown_taken_as_no;
        }
        if (comes_back(step, rule, duty, found)) {
            return Kind::gap;
        }
        const Situation after = situation_of(bench_, found, &step, true);
        Duty without_limit = duty;
        without_limit.within.reset();
        const bool only_later =
            duty.need &&
            std::any_of(protocol_.rules.begin(), protocol_.rules.end(), [&](const Rule& other) {
                return takes_over(other, without_limit) && fires(other, after);
            });
        return only_later || !duty.need ? Kind::later_deadline : Kind::worse_asks_less;
    }

    /// Whether a still worse value of the same field asks for it again.
    bool comes_back(const Step& step, const Rule& rule, const Duty& duty,
                    const Choices& found) const {
        Situation situation = situation_of(bench_, found, &step, true);
        for (const double value : worse_than(step, situation.value(step.field))) {
            situation.set(step.field, value);
            for (const Rule& other : protocol_.rules) {
                const bool can = other.id == rule.id || takes_over(other, duty);
                if (can && fires(other, situation)) {
                    return true;
                }
            }
        }
        return false;
    }

    /// The values beyond the end of a step, in its direction.
    std::vector<double> worse_than(const Step& step, double end) const {
        const Field& field = protocol_.fields[step.field];
        std::vector<double> values;
        for (const auto& chain : worse_chains(field)) {
            const auto place = std::find(chain.begin(), chain.end(), end);
            if (place != chain.end()) {
                values.insert(values.end(), std::next(place), chain.end());
            }
        }
        if (field.type == FieldType::number || field.type == FieldType::step) {
            const Situation before =
                situation_of(bench_, Choices(bench_.space.dimensions().size()), &step, false);
            const bool upwards = end > before.value(step.field);
            for (const double value : standing_values(protocol_, step.field)) {
                if (upwards ? value > end : value < end) {
                    values.push_back(value);
                }
            }
        }
        return values;
    }

    bool fires(const Rule& rule, const Situation& situation) const {
        return protocol_.conditions.evaluate(rule.when, situation) == Answer::yes;
    }

    std::string asked_for(const Situation& situation) const {
        std::string text;
        for (const Rule& rule : protocol_.rules) {
            if (fires(rule, situation)) {
                for (const WantedCare& need : rule.needs) {
                    text += (text.empty() ? "" : "; ") + need_text(need, rule.within) + " (" +
                            rule.id + ")";
                }
            }
        }
        return text.empty() ? "nothing" : text;
    }

    /// One report for each rule, field and kind of fault is enough.
    void add(ProtocolFault fault, FieldId field) {
        if (reported_.emplace(fault.where, field, fault.kind).second) {
            verdict_.faults.push_back(std::move(fault));
        }
    }

    const ProofBench& bench_;
    const Protocol& protocol_;
    ProtocolVerdict& verdict_;
    std::set<std::uint64_t> groups_;
    std::set<std::tuple<std::string, FieldId, Kind>> reported_;
};

bool is_as_given(const WayOfReading& way) {
    return way.set_aside.empty() && way.set.empty();
}

void prove_contradiction(const ProofBench& bench, const Contradiction& contradiction,
                         ProtocolVerdict& verdict) {
    const bool keeps_given =
        std::any_of(contradiction.either.begin(), contradiction.either.end(), is_as_given);
    for (const Step& step : bench.space.steps()) {
        const Tendency moves = tendencies(bench.protocol, bench.space, step)[contradiction.when];
        for (const bool appears : {false, true}) {
            // An answer that contradicts the others is not the safer one: taking it back may
            // well end the contradiction.
            if (moves == Tendency::same || step.kind == Step::Kind::less_known ||
                (appears && keeps_given)) {
                continue;
            }
            const SearchResult result =
                bench.find({{contradiction.when, appears ? does_not_hold : holds, false, true},
                            {contradiction.when, appears ? holds : does_not_hold, true, true}},
                           &step);
            if (result.found) {
                verdict.faults.push_back(
                    {ProtocolFault::Kind::worse_asks_less, contradiction.id,
                     appears ? "a worse finding brings up this contradiction, which then leaves "
                               "out the findings as given"
                             : "a worse finding makes this contradiction go away, and with it what "
                               "its other readings ask for",
                     describe(bench, *result.found, &step)});
                return;
            }
        }
    }
}

void prove_following_answer(const ProofBench& bench, const DerivedAnswer& answer,
                            ProtocolVerdict& verdict) {
    const Field& field = bench.protocol.fields[answer.field];
    const std::vector<double> worst = worst_values(field);
    const bool is_safer = field.safer && field.safer->contains(answer.value);
    const bool is_worse = field.type == FieldType::sign &&
                          std::find(worst.begin(), worst.end(), answer.value) != worst.end();
    for (const Step& step : bench.space.steps()) {
        const Tendency moves = tendencies(bench.protocol, bench.space, step)[answer.when];
        for (const bool appears : {false, true}) {
            if (moves == Tendency::same || (appears ? is_worse : is_safer)) {
                continue;
            }
            const SearchResult result =
                bench.find({{answer.when, appears ? does_not_hold : holds, false, true},
                            {answer.when, appears ? holds : does_not_hold, true, true}},
                           &step);
            if (result.found) {
                verdict.faults.push_back({ProtocolFault::Kind::worse_asks_less, answer.id,
                                          "a worse finding changes the answer that follows from "
                                          "it to one that asks for less",
                                          describe(bench, *result.found, &step)});
                return;
            }
        }
    }
}

}  // namespace

void prove_worse_asks_no_less(const ProofBench& bench, ProtocolVerdict& verdict) {
    WorseProof(bench, verdict).run();
}

void prove_readings_add_up(const ProofBench& bench, ProtocolVerdict& verdict) {
    for (const Contradiction& contradiction : bench.protocol.contradictions) {
        prove_contradiction(bench, contradiction, verdict);
    }
    for (const DerivedAnswer& answer : bench.protocol.derived_answers) {
        prove_following_answer(bench, answer, verdict);
    }
}

}  // namespace waybourne::triage
