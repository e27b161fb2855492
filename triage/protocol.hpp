#pragma once
/// What a district has adopted: which fields there are, which rules, and what each asks for.
///
/// Read from a file by `parse_protocol`, then never changed: any number of threads may share one.
/// `docs/protocol.md` explains the file to those who edit it; the names here are those of the file.

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "triage/capability.hpp"
#include "triage/condition.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::triage {

enum class FieldType : std::uint8_t { number, step, sign, choice };

/// Which of the three numbers of a reading a field is.
enum class ReadingPart : std::uint8_t { none, systolic, diastolic, pulse };

/// Both ends belong to it.
struct Interval {
    double from = 0;
    double to = 0;
    bool contains(double value) const { return from <= value && value <= to; }
    bool operator==(const Interval&) const = default;
};

/// Values that look like another unit (`clinical.md` PLA-4): asked about, never converted.
struct WrongUnit {
    Interval looks_like;
    std::string text;
    bool operator==(const WrongUnit&) const = default;
};

/// From where on a number gets worse, upwards and downwards (`clinical.md` e.7).
struct Worsens {
    std::optional<double> up_from;
    std::optional<double> down_from;
    /// Signs and choices: chains of values (as in `Situation`), each worse than the one before.
    std::vector<std::vector<double>> chains = {};
    bool operator==(const Worsens&) const = default;
};

/// One thing that can be measured or asked. Text ids name texts in the catalogues.
struct Field {
    std::string name;
    FieldType type = FieldType::sign;
    std::string unit = {};
    /// Only whole numbers are accepted. Steps are always whole.
    bool whole = false;
    /// Numbers and steps: values outside are refused and count as unknown.
    Interval accept = {};
    /// Numbers: values outside are to be confirmed.
    std::optional<Interval> confirm = std::nullopt;
    std::optional<WrongUnit> wrong_unit = std::nullopt;
    ReadingPart of_reading = ReadingPart::none;
    /// Choices, by wire name; signs have `no` and `yes`.
    std::vector<std::string> choices = {};
    /// The choices stand in order of urgency.
    bool ordered = false;
    std::string question = {};
    /// The answers for which the rules ask least, as values of a `Situation`. None: no answer of
    /// this field is safer than the others.
    std::optional<Interval> safer = std::nullopt;
    /// Part of the grouped question.
    bool danger = false;
    std::optional<ConditionId> not_asked_when = std::nullopt;
    Worsens worse = {};
    /// At its worst some rule must ask for care, whatever else is known.
    bool never_ignored = false;
    /// No rule reads it: it serves care and the note.
    bool note_only = false;
};

/// A condition with a name.
struct Term {
    std::string name;
    std::string meaning;
    ConditionId when = 0;
};

/// Care a rule asks for: any one of `any_of` will do.
struct WantedCare {
    CapabilitySet any_of;
    bool critical = false;
    bool operator==(const WantedCare&) const = default;
};

struct Rule {
    std::string id;
    /// The stable id of what is suspected; several rules may share one.
    std::string condition;
    std::string suspect;  ///< text id
    ConditionId when = 0;
    std::vector<WantedCare> needs = {};
    /// From recognition to care begun; a whole number of minutes. None: the rule sets no limit.
    std::optional<Seconds> within = std::nullopt;
    bool leave_now = false;
    std::vector<FieldId> ask = {};
    std::vector<std::size_t> do_now = {};      ///< places in `Protocol::actions`
    std::vector<std::size_t> on_the_way = {};  ///< places in `Protocol::actions`
    /// Milder rules that are not shown when this one fires; their needs still count.
    std::vector<std::size_t> hides = {};
    std::vector<std::string> sources = {};
    /// `proposal` where no published source stands behind it; empty otherwise.
    std::string label = {};
};

/// When something is not to be advised, and why.
struct Withholding {
    ConditionId when = 0;
    std::string because;  ///< text id
};

struct Action {
    std::string id;
    std::string text;                     ///< text id of the complete instruction
    std::vector<std::size_t> doses = {};  ///< places in `Protocol::doses`
    std::vector<Withholding> withheld = {};
    std::vector<std::string> sources = {};
};

/// A drug as the district's list gives it. Never computed or changed by the program.
struct Dose {
    std::string id;
    std::string drug;
    std::string text;  ///< text id of the complete instruction
    std::string dose;
    std::string route;
    /// Or the words "none stated in the source".
    std::string maximum;
    std::vector<std::string> contraindications = {};
    std::optional<ConditionId> given_when = std::nullopt;
    std::vector<Withholding> withheld = {};
    std::vector<std::string> sources = {};
    std::string label = {};
};

/// The text id of what an action or a dose is called, by its id. Those that can be withheld have
/// one.
std::string name_text(const std::string& id);

struct Caution {
    std::string text;  ///< text id
    /// None: always.
    std::optional<ConditionId> when = std::nullopt;
};

/// How readings are judged and repeated (`clinical.md` a.2 and a.4).
struct ReadingRules {
    FieldId systolic = 0;
    FieldId diastolic = 0;
    FieldId pulse = 0;
    /// The sign that a pressure or pulse cannot be found.
    FieldId not_recordable = 0;
    /// The sign that a pressure that counts no more was very high, and what that is.
    FieldId was_severe = 0;
    ConditionId was_severe_when = 0;
    double least_gap = 0;       ///< mmHg between systolic and diastolic
    Interval confirm_gap = {};  ///< mmHg; outside it the pair is to be confirmed
    double low_systolic = 0;    ///< mmHg; a refused pair below it counts as not recordable
    Seconds together_within{};  ///< pulse and pressure, to be divided by each other
    Seconds rest{};             ///< before an abnormal reading is repeated
    ConditionId abnormal = 0;
    ConditionId severe = 0;
    /// Any danger sign: nobody waits for the rest.
    ConditionId danger = 0;
    Seconds watch_urgent{};  ///< between readings while she waits, deadline near
    Seconds watch_otherwise{};
    Seconds urgent_within{};       ///< what a near deadline is
    Seconds again_after_normal{};  ///< the latest next reading after a normal repeat
};

/// An answer that follows from others while nobody has given it.
struct DerivedAnswer {
    std::string id;
    FieldId field = 0;
    double value = 0;
    ConditionId when = 0;
};

/// One way of reading findings that contradict each other.
struct WayOfReading {
    std::vector<FieldId> set_aside = {};
    std::vector<std::pair<FieldId, double>> set = {};
};

/// Findings that cannot all be right. Until somebody says which are, every way of reading them is
/// worked through and each rule that fires in any of them counts.
struct Contradiction {
    std::string id;
    ConditionId when = 0;
    std::string text;  ///< text id
    std::vector<FieldId> ask = {};
    std::vector<WayOfReading> either = {};
};

/// Who signed the protocol for use.
struct Approval {
    std::string name;
    std::string role;
    Instant at{};
    bool operator==(const Approval&) const = default;
};

/// A whole protocol. Places (`FieldId`, `ConditionId` and so on) are those of the vectors here.
struct Protocol {
    std::string id;
    std::string version;
    std::string title;
    std::string note;
    std::optional<Approval> approved_by;
    /// Of the file's bytes.
    std::string sha256;

    std::vector<Field> fields;
    ConditionTable conditions;
    std::vector<Term> terms;
    ReadingRules reading;
    std::vector<DerivedAnswer> derived_answers;
    std::vector<Contradiction> contradictions;
    std::vector<Rule> rules;
    std::vector<Action> actions;
    std::vector<Dose> doses;
    std::vector<FieldId> always_ask;
    std::string danger_question;  ///< text id
    std::vector<Caution> cautions;

    /// The places of `rules`, shortest time first, those without a limit last, else as in the file.
    std::vector<std::size_t> rules_by_time;
    /// Field names with their places, in order of name.
    std::vector<std::pair<std::string, FieldId>> fields_by_name;

    /// None for an unknown name. O(log fields).
    std::optional<FieldId> find_field(std::string_view name) const;
};

}  // namespace waybourne::triage
