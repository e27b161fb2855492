#pragma once
/// What triage answers: what may be wrong, what she needs and by when, what to do, what to ask.

#include <optional>
#include <string>
#include <vector>

#include "triage/capability.hpp"
#include "vocabulary/message.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::triage {

/// Why a condition is suspected: the rule that fired and the facts that made it, each with its
/// limit.
struct Because {
    std::string rule;
    std::vector<Message> facts;
    bool operator==(const Because&) const = default;
};

/// One suspected condition, never a diagnosis.
struct Suspicion {
    std::string condition;  ///< stable id of the condition
    Message text;
    std::vector<Because> because;
    std::vector<std::string> sources;
    bool operator==(const Suspicion&) const = default;
};

/// Care she needs: any one capability of `any_of` meets it.
struct Need {
    CapabilitySet any_of;
    bool critical = false;
    /// From recognition to care begun. None: needed, but no rule that asks for it sets a limit.
    std::optional<Seconds> within;
    std::optional<Instant> deadline;
    std::vector<std::string> for_rules;
    /// The clinic she is at can meet it now (`clinical.md` COM-8).
    bool available_here = false;
    bool operator==(const Need&) const = default;
};

/// Something to do, with the sources it rests on. `text` is a complete instruction.
struct Instruction {
    std::string action;  ///< stable id, e.g. `A4`; for a dose `D2.nifedipine`
    Message text;
    std::vector<std::string> sources;
    bool operator==(const Instruction&) const = default;
};

/// Something the rules would advise but must not, here, and why.
struct Withheld {
    std::string action;
    /// What it is, in a few words.
    Message name;
    Message because;
    bool operator==(const Withheld&) const = default;
};

/// What the possible answers to one question alone would change, every accepted value counted. The
/// answers to a grouped question are "none of these" and each one of them alone.
struct Could {
    /// Needs that at least one answer would add, as sets of alternatives, in order of their masks.
    std::vector<CapabilitySet> add;
    /// The shortest time any answer could set, where that is shorter than now.
    std::optional<Seconds> shorten_to;
    bool operator==(const Could&) const = default;
};

/// A question whose answer is missing. Several fields: one grouped question, "any of these?".
struct Question {
    std::vector<std::string> fields;
    Message text;
    /// None: it serves care and the note, but changes neither needs nor deadline.
    std::optional<Could> could;
    bool operator==(const Question&) const = default;
};

/// A value that was refused as implausible and counts as unknown.
struct Refused {
    std::string field;
    std::string given;
    Message why;
    bool operator==(const Refused&) const = default;
};

/// When to measure again: after how long, and why.
struct MeasureAgain {
    Seconds after{};
    Message why;
    bool operator==(const MeasureAgain&) const = default;
};

/// Which protocol answered.
struct ProtocolStamp {
    std::string id;
    std::string version;
    std::string sha256;
    /// Nobody has signed it: every answer says that it is for training and trial.
    bool approved = false;
    bool operator==(const ProtocolStamp&) const = default;
};

struct Assessment {
    ProtocolStamp protocol;
    Instant assessed_at{};
    std::vector<Suspicion> suspected;
    /// Critical needs first, then by deadline, then in the order of the capabilities.
    std::vector<Need> needs;
    std::optional<Instant> earliest_deadline;
    std::optional<Seconds> within;
    bool leave_now = false;
    /// Something is needed that this clinic cannot give.
    bool refer = false;
    /// A repeat reading is due: the answer stands until it says otherwise.
    bool provisional = false;
    std::optional<MeasureAgain> measure_again;
    std::vector<Instruction> do_now;
    std::vector<Instruction> on_the_way;
    std::vector<Withheld> withheld;
    /// Refused values first, then those whose answer could change something, most decisive first:
    /// shortens most, then adds a critical need, then the order of `asked`.
    std::vector<Question> questions;
    /// The fields the rules ask for (`clinical.md` COM-5): refused values, then what the rules that
    /// fire ask for, shortest time first, then what is always asked. Empty when left out.
    std::vector<std::string> asked;
    std::vector<Refused> refused;
    /// Values accepted but to be confirmed with the health worker.
    std::vector<Refused> confirm;
    std::vector<Message> cautions;
    /// Every rule that fired, hidden ones too, in the order of the protocol.
    std::vector<std::string> fired;
    bool operator==(const Assessment&) const = default;
};

}  // namespace waybourne::triage
