#include "triage/internal/condition_reader.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "vocabulary/nearest_name.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::triage {

namespace {

using Kind = Condition::Kind;

constexpr std::array<std::string_view, 6> reserved{"all",  "any",         "not",
                                                   "sure", "unless_sure", "unanswered"};

/// Reads one condition after the other into one table.
class ConditionReader {
public:
    ConditionReader(ConditionNames& names, ConditionTable& table) : names_(names), table_(table) {}

    ConditionId read(const TreeReader& reader) {
        if (reader.is_text()) {
            return read_term(reader);
        }
        const auto entries = reader.entries();
        if (entries.size() != 1) {
            if (reader.is_object()) {
                reader.refuse("has " + std::to_string(entries.size()) +
                              " keys where a condition has one");
            }
            return never();
        }
        const auto& [key, value] = entries.front();
        if (key == "all" || key == "any") {
            return read_list(key == "all" ? Kind::all : Kind::any, value);
        }
        if (key == "not") {
            return whole(Kind::opposite, value);
        }
        if (key == "sure") {
            return whole(Kind::sure, value);
        }
        if (key == "unless_sure") {
            return whole(Kind::unless_sure, value);
        }
        if (key == "unanswered") {
            return read_unanswered(value);
        }
        return read_comparison(key, value);
    }

private:
    ConditionId never() { return table_.add({.kind = Kind::any}); }

    ConditionId whole(Kind kind, const TreeReader& part) {
        return table_.add({.kind = kind, .parts = {read(part)}});
    }

    ConditionId read_term(const TreeReader& reader) {
        const std::string name = reader.text();
        if (std::find(names_.begun.begin(), names_.begun.end(), name) != names_.begun.end()) {
            reader.refuse("'" + name + "' is a part of its own condition");
            return never();
        }
        if (names_.terms.contains(name) || names_.waiting.contains(name)) {
            return term_condition(name, names_, table_);
        }
        if (names_.field_places.contains(name)) {
            reader.refuse("'" + name + R"(' is a field: say which answer, e.g. {")" + name +
                          R"(": "yes"})");
        } else {
            reader.refuse(names_.not_known(name));
        }
        return never();
    }

    ConditionId read_list(Kind kind, const TreeReader& list) {
        Condition condition{.kind = kind};
        for (const TreeReader& item : list.items()) {
            condition.parts.push_back(read(item));
        }
        if (condition.parts.empty() && list.is_list()) {
            list.refuse("is an empty list of conditions");
        }
        return table_.add(condition);
    }

    ConditionId read_unanswered(const TreeReader& reader) {
        if (reader.is_text()) {
            const auto field = names_.field_places.find(reader.text());
            if (field != names_.field_places.end()) {
                return table_.add({.kind = Kind::unanswered_field, .field = field->second});
            }
        }
        return whole(Kind::unanswered, reader);
    }

    ConditionId read_comparison(const std::string& name, const TreeReader& reader) {
        const auto ratio = names_.ratios.find(name);
        if (ratio != names_.ratios.end()) {
            return table_.add({.kind = Kind::ratio_in,
                               .field = ratio->second,
                               .range = tenfold(read_range(reader), reader)});
        }
        const auto place = names_.field_places.find(name);
        if (place == names_.field_places.end()) {
            reader.refuse(names_.not_known(name));
            return never();
        }
        const Field& field = (*names_.fields)[place->second];
        if (field.type == FieldType::number || field.type == FieldType::step) {
            return table_.add(
                {.kind = Kind::number_in, .field = place->second, .range = read_range(reader)});
        }
        Condition condition{.kind = Kind::one_of, .field = place->second};
        const auto accept = [&](const TreeReader& item) {
            condition.values |= std::uint64_t{1} << static_cast<unsigned>(read_choice(item, field));
        };
        if (reader.is_list()) {
            for (const TreeReader& item : reader.items()) {
                accept(item);
            }
        } else {
            accept(reader);
        }
        return table_.add(condition);
    }

    static void read_limit(TreeReader& reader, std::string_view key, bool included,
                           std::optional<Limit>& limit) {
        if (!reader.has(key)) {
            return;
        }
        if (limit) {
            reader.refuse("sets the same end of a range twice");
        }
        limit = Limit{reader.number_at(key), included};
    }

    static Range read_range(TreeReader reader) {
        Range range;
        if (!reader.is_object()) {
            reader.refuse("is " + kind_in_words(reader.tree()) +
                          R"( where a comparison such as {"at_least": 140} is expected)");
            return range;
        }
        read_limit(reader, "at_least", true, range.from);
        read_limit(reader, "more_than", false, range.from);
        read_limit(reader, "at_most", true, range.to);
        read_limit(reader, "less_than", false, range.to);
        reader.refuse_unknown_keys();
        if (!range.from && !range.to) {
            reader.refuse("compares with nothing: at_least, more_than, at_most or less_than");
        } else if (range.from && range.to && !(range.from->value <= range.to->value)) {
            reader.refuse("no number lies in this range");
        }
        return range;
    }

    /// Limits of a ratio, in tenths.
    static Range tenfold(Range range, const TreeReader& reader) {
        for (auto* limit : {&range.from, &range.to}) {
            if (*limit) {
                const double tenths = std::round((*limit)->value * 10);
                if (std::abs(tenths - (*limit)->value * 10) > 1e-6) {
                    reader.refuse("is finer than the tenths in which ratios are compared");
                }
                (*limit)->value = tenths;
            }
        }
        return range;
    }

    ConditionNames& names_;
    ConditionTable& table_;
};

}  // namespace

bool is_reserved(std::string_view name) {
    return std::find(reserved.begin(), reserved.end(), name) != reserved.end();
}

bool ConditionNames::knows(std::string_view name) const {
    return field_places.contains(name) || terms.contains(name) || ratios.contains(name) ||
           waiting.contains(name);
}

std::string ConditionNames::not_known(std::string_view name) const {
    std::vector<std::string> known;
    for (const auto& [field, place] : field_places) {
        known.push_back(field);
    }
    for (const auto& [term, place] : terms) {
        known.push_back(term);
    }
    for (const auto& [ratio, place] : ratios) {
        known.push_back(ratio);
    }
    for (const auto& [term, condition] : waiting) {
        known.push_back(term);
    }
    const auto nearest = nearest_name(name, known);
    return "'" + shortened(name, 60) + "' is not known" +
           (nearest ? "; did you mean '" + *nearest + "'?" : "");
}

ConditionId read_condition(const TreeReader& reader, ConditionNames& names, ConditionTable& table) {
    return ConditionReader(names, table).read(reader);
}

ConditionId term_condition(const std::string& name, ConditionNames& names, ConditionTable& table) {
    const auto read = names.terms.find(name);
    if (read != names.terms.end()) {
        return read->second;
    }
    const TreeReader condition = names.waiting.extract(name).mapped();
    names.begun.push_back(name);
    const ConditionId id = read_condition(condition, names, table);
    names.begun.pop_back();
    names.terms.emplace(name, id);
    return id;
}

double read_choice(const TreeReader& reader, const Field& field) {
    const std::string name = reader.text();
    const auto place = std::find(field.choices.begin(), field.choices.end(), name);
    if (place == field.choices.end()) {
        if (!name.empty()) {
            const auto nearest = nearest_name(name, field.choices);
            reader.refuse("'" + shortened(name, 60) + "' is no answer to " + field.name +
                          (nearest ? "; did you mean '" + *nearest + "'?" : ""));
        }
        return 0;
    }
    return static_cast<double>(place - field.choices.begin());
}

}  // namespace waybourne::triage
