#pragma once
/// The single proofs of `protocol_check`, each adding the faults it finds.

#include "triage/internal/proof_bench.hpp"

namespace waybourne::triage {

/// A worse value, an added sign and an unanswered field ask for no less (proof 3, and the gaps of
/// 1).
void prove_worse_asks_no_less(const ProofBench& bench, ProtocolVerdict& verdict);

/// Contradictions and following answers keep proof 3 intact.
void prove_readings_add_up(const ProofBench& bench, ProtocolVerdict& verdict);

/// Rules, doses, withholdings, cautions, contradictions and comparisons can be reached (proof 2).
void prove_all_reachable(const ProofBench& bench, ProtocolVerdict& verdict);

/// What must not be ignored fires a rule, and every field is read (proof 1).
void prove_nothing_ignored(const ProofBench& bench, ProtocolVerdict& verdict);

/// Sources, the parts of doses, texts (4 to 6).
void check_parts(const ProofBench& bench, const Catalogue& texts, ProtocolVerdict& verdict);

}  // namespace waybourne::triage
