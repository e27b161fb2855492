#pragma once
/// Findings in, assessment out.

#include "triage/assessment.hpp"
#include "triage/findings.hpp"
#include "triage/protocol.hpp"

namespace waybourne::triage {

/// Whether the questions are worked out too: they cost most of the time.
enum class Questions : bool { leave_out, work_out };

/// What may be wrong and what she needs. Pure: the same findings, protocol and moment give the same
/// assessment, whatever the order in which things were given.
/// @throws InputError for a field that the protocol does not declare (with the nearest one it
/// does),
///         a value of the wrong type or choice, an unknown choice, or a time after `now`
Assessment assess(const Protocol& protocol, const Findings& findings, Instant now,
                  Questions questions = Questions::work_out);

}  // namespace waybourne::triage
