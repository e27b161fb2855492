#pragma once
/// The parts of a protocol file, read one after the other into a protocol.

#include <map>
#include <string>
#include <vector>

#include "triage/internal/condition_reader.hpp"
#include "triage/internal/text_tree.hpp"
#include "triage/protocol.hpp"

namespace waybourne::triage {

/// Reads a whole tree. Every error goes to `errors`; the protocol is of use only when there is
/// none.
class ProtocolReader {
public:
    ProtocolReader(const TextTree& tree, std::vector<FieldError>& errors);
    Protocol read();

private:
    /// Ids of rules, actions or doses, and where they stand.
    using Places = std::map<std::string, std::size_t, std::less<>>;

    // protocol_reader.cpp
    void read_head(TreeReader head);
    void read_terms();
    void read_ratios();
    void read_reading(TreeReader reading);
    void read_derived_answers();
    void read_contradictions();
    WayOfReading read_way(TreeReader reader);
    void finish();
    bool is_new_name(const TreeReader& reader, const std::string& name) const;
    ConditionId condition_at(TreeReader& reader, std::string_view key);
    std::optional<ConditionId> condition_if_any(TreeReader& reader, std::string_view key);
    FieldId field_at(TreeReader& reader, std::string_view key);
    FieldId sign_at(TreeReader& reader, std::string_view key);
    FieldId field(const TreeReader& reader) const;
    std::vector<FieldId> fields_at(TreeReader& reader, std::string_view key) const;

    // field_reader.cpp
    void read_fields();
    Field read_field(TreeReader& reader);
    void read_number(TreeReader& reader, Field& field);
    static void read_safer(TreeReader& reader, Field& field);
    static void read_worse(TreeReader& reader, Field& field);
    void read_not_asked_when();

    // rule_reader.cpp
    void read_doses();
    void read_actions();
    void read_rules();
    void read_hidden_rules();
    void read_cautions();
    Rule read_rule(TreeReader& reader);
    std::vector<WantedCare> read_needs(TreeReader& reader);
    Withholding read_withholding(TreeReader reader);
    static Places place_of(const std::vector<TreeReader>& items);
    static std::vector<std::size_t> places_at(TreeReader& reader, std::string_view key,
                                              const Places& places);

    TreeReader root_;
    std::vector<FieldError>& errors_;
    Protocol protocol_;
    ConditionNames names_;
    Places doses_;
    Places actions_;
    Places rules_;
};

/// Two numbers, the first not above the second.
Interval read_interval(const TreeReader& reader);

/// A whole number of minutes, at least one.
Seconds read_minutes(const TreeReader& reader);

}  // namespace waybourne::triage
