#pragma once
/// From the form of a condition in a protocol file to a place in the table of conditions.

#include <map>
#include <string>
#include <vector>

#include "triage/internal/text_tree.hpp"
#include "triage/protocol.hpp"

namespace waybourne::triage {

/// Every name a condition may use, and what it stands for.
struct ConditionNames {
    const std::vector<Field>* fields = nullptr;
    std::map<std::string, FieldId, std::less<>> field_places = {};
    std::map<std::string, ConditionId, std::less<>> terms = {};
    std::map<std::string, std::size_t, std::less<>> ratios = {};
    /// The conditions of terms that nobody has read yet: terms may stand in any order.
    std::map<std::string, TreeReader, std::less<>> waiting = {};
    /// Terms that are being read: one that stands in its own condition is an error.
    std::vector<std::string> begun = {};

    bool knows(std::string_view name) const;
    /// "is not known", with the nearest name that is.
    std::string not_known(std::string_view name) const;
};

/// Words with a meaning of their own in conditions: nothing else may be called so.
bool is_reserved(std::string_view name);

/// Reads one condition. Where it is wrong the error is noted and a condition that never holds
/// stands in for it.
ConditionId read_condition(const TreeReader& reader, ConditionNames& names, ConditionTable& table);

/// The condition of a term, read now if it was waiting.
ConditionId term_condition(const std::string& name, ConditionNames& names, ConditionTable& table);

/// The value of a sign or choice in a `Situation`; an unknown one is an error and reads as 0.
double read_choice(const TreeReader& reader, const Field& field);

}  // namespace waybourne::triage
