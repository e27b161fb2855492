#pragma once
/// A rule's condition over what is known: it holds, it does not, or it is open.
///
/// Conditions are kept in one table, each different one once, parts before wholes. A reader of
/// protocol files adds to the table; afterwards it is only read, by any number of threads.

#include <cstdint>
#include <limits>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <tuple>
#include <vector>

#include "triage/answer.hpp"

namespace waybourne::triage {

/// The place of a field in `Protocol::fields`.
using FieldId = std::size_t;
/// The place of a condition in its table.
using ConditionId = std::size_t;

/// What is known, field by field. A number or step is itself; a sign is 0 for no and 1 for yes; a
/// choice is its place in the list of choices.
class Situation {
public:
    explicit Situation(std::size_t fields) : values_(fields, not_known) {}

    bool is_known(FieldId field) const { return values_[field] == values_[field]; }
    /// Meaningless where the field is not known.
    double value(FieldId field) const { return values_[field]; }
    void set(FieldId field, double value) { values_[field] = value; }
    void forget(FieldId field) { values_[field] = not_known; }

    /// Whether the two parts of a ratio were measured close enough in time to be divided.
    bool taken_together() const { return taken_together_; }
    void set_taken_together(bool together) { taken_together_ = together; }

    std::size_t size() const { return values_.size(); }

private:
    static constexpr double not_known = std::numeric_limits<double>::quiet_NaN();
    std::vector<double> values_;
    bool taken_together_ = true;
};

/// One end of a range of numbers.
struct Limit {
    double value = 0;
    bool included = true;
    bool operator==(const Limit&) const = default;
};

/// From one limit to another, each of which may be missing.
struct Range {
    std::optional<Limit> from;
    std::optional<Limit> to;
    bool contains(double value) const {
        return (!from || value > from->value || (from->included && value == from->value)) &&
               (!to || value < to->value || (to->included && value == to->value));
    }
    bool operator==(const Range&) const = default;
};

/// One field divided by another, e.g. the shock index. Both are whole numbers and the divisor is
/// above zero, so that limits in whole tenths are compared exactly: 10 × divided ≥ tenths ×
/// divisor.
struct Ratio {
    std::string name;
    std::string meaning;
    FieldId divided = 0;
    FieldId divisor = 0;
    /// A larger divisor counts as this.
    double divisor_at_most = 0;
    bool operator==(const Ratio&) const = default;
};

/// How a condition is made up.
struct Condition {
    enum class Kind : std::uint8_t {
        all,
        any,
        opposite,
        sure,              ///< yes where the part is yes, else no
        unless_sure,       ///< no where the part is yes, else yes
        unanswered,        ///< yes where the part is unknown, else no
        unanswered_field,  ///< yes where the field is not known, else no
        one_of,            ///< a sign or choice has one of some values
        number_in,         ///< a number or step lies in a range
        ratio_in,          ///< a ratio lies in a range; its limits are in tenths
    };
    Kind kind = Kind::all;
    std::vector<ConditionId> parts = {};
    FieldId field = 0;         ///< for `ratio_in` the place in `ratios()`
    std::uint64_t values = 0;  ///< for `one_of`: one bit for each value
    Range range = {};
    bool operator==(const Condition&) const = default;
};

/// A value at which the truth of some condition changes: from `at` on, or just above it.
struct Cut {
    double at = 0;
    bool above = false;
    auto operator<=>(const Cut&) const = default;
};

/// All conditions of one protocol.
class ConditionTable {
public:
    ConditionTable() = default;
    explicit ConditionTable(std::size_t fields) : dependents_(fields), cuts_(fields) {}

    std::size_t add_ratio(Ratio ratio);
    /// The place of this condition, new or already there. Its parts must stand in the table.
    ConditionId add(const Condition& condition);

    std::size_t size() const { return conditions_.size(); }
    const Condition& condition(ConditionId id) const { return conditions_[id]; }
    const std::vector<Ratio>& ratios() const { return ratios_; }
    /// The fields whose value can matter to it, in order.
    const std::vector<FieldId>& fields_of(ConditionId id) const { return fields_of_[id]; }
    /// The conditions to which this field can matter, parts before wholes.
    const std::vector<ConditionId>& dependents(FieldId field) const { return dependents_[field]; }
    /// Where a number's own comparisons change, in order. Ratios are not included: where they
    /// change depends on the other field.
    const std::vector<Cut>& cuts(FieldId field) const { return cuts_[field]; }
    /// The tenths with which this ratio is compared, in order.
    const std::vector<double>& ratio_limits(std::size_t ratio) const {
        return ratio_limits_[ratio];
    }

    /// The truth of one condition. O(its parts).
    Answer evaluate(ConditionId id, const Situation& situation) const;
    /// The truth of every condition, into `truths` (as many as `size()`). About a microsecond.
    void evaluate_all(const Situation& situation, std::span<Answer> truths) const;
    /// Brings `truths` up to date after this field alone has changed.
    void evaluate_again(FieldId changed, const Situation& situation,
                        std::span<Answer> truths) const;

private:
    Answer evaluate_with(ConditionId id, const Situation& situation,
                         std::span<const Answer> truths) const;
    Answer evaluate_leaf(const Condition& condition, const Situation& situation) const;
    Answer evaluate_ratio(const Condition& condition, const Situation& situation) const;
    void note_cuts(const Condition& condition);

    std::vector<Condition> conditions_;
    std::vector<Ratio> ratios_;
    std::vector<std::vector<double>> ratio_limits_;
    std::vector<std::vector<FieldId>> fields_of_;
    std::vector<std::vector<ConditionId>> dependents_;
    std::vector<std::vector<Cut>> cuts_;
    std::multimap<std::size_t, ConditionId> places_;  ///< by a fingerprint, to find equal ones
};

}  // namespace waybourne::triage
