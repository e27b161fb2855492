#pragma once
/// The proofs a protocol must pass before anybody is triaged by it.
///
/// `check_protocol` proves, for every finding whose values the protocol accepts (each field
/// answered with any accepted value or not at all, in every combination):
///
///  1. Every finding gets an answer. Each comparison can be both true and false for accepted
///  values;
///     a field marked `never_ignored` makes some rule fire at its worst, whatever else is known;
///     every field is read by a rule or a caution, unless it is marked `note_only`; and there is no
///     gap: care asked for at one value of a field is not dropped at a worse value.
///  2. Every rule, dose, withholding, caution and contradiction can be reached.
///  3. A worse value or an added danger sign never asks for less or for later, and taking back a
///     field's safer answer does not either (unknown is not no). What is worse is declared by each
///     field (`worse`, `ordered`, `safer`; `clinical.md` e.7).
///  4. Every rule, action and dose names a source.
///  5. Every drug has dose, route, maximum (or the words "none stated in the source") and
///     contraindications.
///  6. Every text it refers to is in the catalogue. (Names of fields, terms, capabilities and so on
///     are resolved when the file is read; `check_protocol_file` reports those errors too.)
///
/// Why this is a proof and not a trial. Let F(x) be the rules that fire for finding x.
///
///  a. Rules see a finding only through the leaves of their conditions, so findings are grouped
///  into
///     finitely many cells of equal leaf truths, found by trying every accepted whole number, step,
///     sign and choice, every limit of the other numbers and a value between each two
///     (`internal/finding_space.hpp`). Nothing is drawn at random.
///  b. "y asks for no less than x": for each need of each rule of F(x) some rule of F(y) has a need
///     with the same alternatives (or fewer, see d), as critical, within the same time or sooner,
///     and if a rule of F(x) says to leave now, so does one of F(y). This relation is transitive,
///     so it is enough to show it for the smallest steps: one field, to the next worse value.
///  c. For one step, a rule is safe by its shape if every leaf that the step moves stands where it
///     can only make the rule more true (`all` and `any` keep the order no < unknown < yes, `not`
///     and `unless_sure` turn it round, `unanswered` may do anything). Such a rule that fired still
///     fires. For every other rule the checker looks for a finding in which it fires before the
///     step, does not after it, and one of its needs is taken over by no rule that fires after it.
///     The search tries all cells of all fields of the rules involved and cuts only branches in
///     which a wish is already impossible (`internal/finding_search.hpp`). A find is a
///     counter-example, no find is a proof, and giving up is reported as a fault: `not_proven`.
///  d. Merged needs (`clinical.md` COM-2, COM-3) inherit this: a group of alternatives keeps the
///     earliest limit and the criticality of every wider group asked for. A narrower group G' may
///     take over for G only where every group of the protocol inside G contains G'; then G' is the
///     narrowest of them and inherits all that G or a group inside it would have.
///  e. `assess` adds to this: answers that follow from others, and contradictions, of which every
///     reading counts. A step may only make a contradiction appear whose readings include the
///     findings as given, and may not make one disappear (taking back an answer may: it was one of
///     those that contradict each other); a following answer may only disappear if
///     it was the safer one and appear if it is the worse one. Each is then a chain of steps
///     already proven, or a union over readings each of which is.
///
/// Outside the proof: refused values (they count as unknown, and the extreme ones as not
/// recordable) and the choice between repeated readings. A counter-example may join values that
/// would be refused together, such as a systolic below the diastolic; the check is then stricter
/// than needed, never laxer.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "triage/protocol.hpp"
#include "vocabulary/message.hpp"

namespace waybourne::triage {

/// A finding that shows what is wrong. Fields it does not list do not matter: not answered.
struct CounterExample {
    struct Line {
        std::string field;
        std::string value;
        bool operator==(const Line&) const = default;
    };
    std::vector<Line> findings;
    /// The field that gets worse, if the fault is about a change: its value before and after. It is
    /// not among `findings`.
    struct Change {
        std::string field;
        std::string before;
        std::string after;
        bool operator==(const Change&) const = default;
    };
    std::optional<Change> change;
    /// What is asked for before the change and not after it, and what is asked for after it.
    std::string lost;
    std::string instead;
    bool operator==(const CounterExample&) const = default;
};

/// One reason why a protocol must not be used.
struct ProtocolFault {
    enum class Kind : std::uint8_t {
        unreadable,       ///< the file has a wrong, missing or unknown part
        worse_asks_less,  ///< a worse value or an added sign loses a need
        later_deadline,   ///< a worse value gives more time, or no longer says to leave now
        gap,              ///< care is asked for at a value and at a still worse one, not between
        unknown_taken_as_no,  ///< taking back the safer answer loses a need or gives more time
        ignored,              ///< a finding that must not be ignored fires no rule
        unreachable,          ///< no finding reaches it
        no_source,
        incomplete_dose,
        missing_text,
        not_proven,  ///< the search gave up: make the rule simpler
    };
    Kind kind = Kind::unreadable;
    /// The rule, or the field, dose, action, text or place in the file.
    std::string where;
    std::string explanation;
    std::optional<CounterExample> counter_example;
};

/// What was proven, and what was not.
struct ProtocolVerdict {
    /// Empty: the protocol may be used.
    std::vector<ProtocolFault> faults;
    std::size_t rules = 0;
    /// Smallest changes for the worse that were looked at.
    std::size_t steps = 0;
    /// Pairs of such a step and a rule that reads its field, by how the rule was shown safe.
    std::size_t safe_by_shape = 0;
    std::size_t safe_by_enumeration = 0;

    bool passed() const { return faults.empty(); }
};

/// Proves the list above. Pure. A few seconds at most for a table of a hundred rules; O(steps ×
/// conditions) plus the searches, which give up after a million branches each.
ProtocolVerdict check_protocol(const Protocol& protocol, const Catalogue& texts);

/// Reads a protocol file and checks it. What cannot be read is reported as faults `unreadable`,
/// each with its place in the file; then nothing else is proven.
ProtocolVerdict check_protocol_file(std::string_view json, const Catalogue& texts);

/// A fault as lines of plain text for the person who edits the protocol.
std::string to_text(const ProtocolFault& fault);

}  // namespace waybourne::triage
