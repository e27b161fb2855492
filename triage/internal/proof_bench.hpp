#pragma once
/// What the proofs of `protocol_check` share, and how a find becomes a readable counter-example.

#include <string>

#include "triage/internal/finding_search.hpp"
#include "triage/protocol_check.hpp"

namespace waybourne::triage {

/// One protocol, laid out for its proofs.
struct ProofBench {
    explicit ProofBench(const Protocol& given)
        : protocol(given), space(given), truths(given, space) {}
    const Protocol& protocol;
    FindingSpace space;
    PossibleTruths truths;

    SearchResult find(const std::vector<Wish>& wishes, const Step* step = nullptr) const {
        return find_findings(protocol, space, truths, wishes, step);
    }
};

/// A value as the file would have it: `38`, `yes`, `heavy`; `not answered` for not a number.
std::string value_text(const Field& field, double value);

/// A finding that grants the wishes of a search, before or after its step.
Situation situation_of(const ProofBench& bench, const Choices& choices, const Step* step,
                       bool after_step);

/// The answered fields of a find; with a step, its field as the change.
CounterExample describe(const ProofBench& bench, const Choices& choices,
                        const Step* step = nullptr);

/// A finding for which the condition holds, if there is one.
std::optional<CounterExample> witness(const ProofBench& bench, ConditionId condition);

/// "blood_transfusion or iv_fluids, critical, within 120 minutes".
std::string need_text(const WantedCare& need, const std::optional<Seconds>& within);

}  // namespace waybourne::triage
