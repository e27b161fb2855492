#include "triage/internal/protocol_reader.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace waybourne::triage {

Interval read_interval(const TreeReader& reader) {
    const auto items = reader.items();
    if (items.size() != 2) {
        if (reader.is_list()) {
            reader.refuse("is not two numbers, lowest and highest");
        }
        return {};
    }
    const Interval interval{items[0].number(), items[1].number()};
    if (interval.from > interval.to) {
        reader.refuse("has its lowest number above its highest");
    }
    return interval;
}

Seconds read_minutes(const TreeReader& reader) {
    constexpr double most = 100'000;  // about ten weeks: longer is no time limit
    const double minutes = reader.number();
    if (minutes != std::floor(minutes) || minutes < 1 || minutes > most) {
        if (!reader.is_null()) {
            reader.refuse("is not a whole number of minutes from 1 to 100000");
        }
        return 1min;
    }
    return std::chrono::minutes(static_cast<int>(minutes));
}

ProtocolReader::ProtocolReader(const TextTree& tree, std::vector<FieldError>& errors)
    : root_(tree, "#", errors), errors_(errors) {}

Protocol ProtocolReader::read() {
    read_head(root_.at("protocol"));
    read_fields();
    names_.fields = &protocol_.fields;
    // At least one: in a file without fields the first one stands in for every name.
    protocol_.conditions = ConditionTable(std::max<std::size_t>(1, protocol_.fields.size()));
    read_ratios();
    read_terms();
    read_not_asked_when();
    read_reading(root_.at("reading"));
    read_derived_answers();
    read_contradictions();
    read_doses();
    read_actions();
    read_rules();
    read_hidden_rules();
    protocol_.always_ask = fields_at(root_, "always_ask");
    protocol_.danger_question = root_.text_at("danger_question");
    read_cautions();
    root_.refuse_unknown_keys();
    finish();
    return std::move(protocol_);
}

void ProtocolReader::read_head(TreeReader head) {
    protocol_.id = head.text_at("id");
    protocol_.version = head.text_at("version");
    protocol_.title = head.text_at("title");
    protocol_.note = head.text_at("note");
    TreeReader approved = head.at("approved_by");
    if (!approved.is_null()) {
        Approval approval{approved.text_at("name"), approved.text_at("role"), {}};
        const TreeReader at = approved.at("at");
        try {
            approval.at = parse_rfc3339(at.text());
        } catch (const InputError& error) {
            at.refuse(error.what());
        }
        approved.refuse_unknown_keys();
        protocol_.approved_by = approval;
    }
    head.refuse_unknown_keys();
}

bool ProtocolReader::is_new_name(const TreeReader& reader, const std::string& name) const {
    if (name.empty()) {
        return false;
    }
    if (is_reserved(name)) {
        reader.refuse("'" + name + "' has a meaning of its own in conditions");
        return false;
    }
    if (names_.knows(name)) {
        reader.refuse("'" + name + "' is the name of something else already");
        return false;
    }
    return true;
}

void ProtocolReader::read_ratios() {
    for (auto& [name, reader] : root_.at("derived").entries()) {
        TreeReader parts = reader;
        Ratio ratio{.name = name, .meaning = parts.text_at("meaning")};
        ratio.divided = field_at(parts, "divide");
        ratio.divisor = field_at(parts, "by");
        ratio.divisor_at_most = parts.number_at("by_at_most");
        parts.refuse_unknown_keys();
        for (const FieldId part : {ratio.divided, ratio.divisor}) {
            if (part < protocol_.fields.size() && !protocol_.fields[part].whole) {
                reader.refuse("divides fields that are not whole numbers");
            }
        }
        if (ratio.divisor < protocol_.fields.size() &&
            protocol_.fields[ratio.divisor].accept.from <= 0) {
            reader.refuse("divides by a field that can be zero");
        }
        if (ratio.divisor_at_most <= 0) {
            reader.refuse("has no divisor above zero");
        }
        if (is_new_name(reader, name)) {
            names_.ratios.emplace(name, protocol_.conditions.add_ratio(ratio));
        }
    }
}

void ProtocolReader::read_terms() {
    for (auto& [name, reader] : root_.at("terms").entries()) {
        TreeReader parts = reader;
        const std::string meaning = parts.text_at("meaning");
        const TreeReader when = parts.at("when");
        parts.refuse_unknown_keys();
        if (is_new_name(reader, name)) {
            names_.waiting.emplace(name, when);
            protocol_.terms.push_back({name, meaning, 0});
        }
    }
    for (Term& term : protocol_.terms) {
        term.when = term_condition(term.name, names_, protocol_.conditions);
    }
}

void ProtocolReader::read_reading(TreeReader reading) {
    ReadingRules& rules = protocol_.reading;
    rules.not_recordable = sign_at(reading, "not_recordable");
    TreeReader was_severe = reading.at("was_severe");
    rules.was_severe = sign_at(was_severe, "field");
    rules.was_severe_when = condition_at(was_severe, "when");
    was_severe.refuse_unknown_keys();
    rules.least_gap = reading.number_at("least_gap");
    rules.confirm_gap = read_interval(reading.at("confirm_gap"));
    rules.low_systolic = reading.number_at("low_systolic");
    rules.together_within = read_minutes(reading.at("together_within_minutes"));
    rules.rest = read_minutes(reading.at("rest_minutes"));
    rules.abnormal = condition_at(reading, "abnormal");
    rules.severe = condition_at(reading, "severe");
    rules.danger = condition_at(reading, "danger");
    TreeReader watch = reading.at("watch_minutes");
    rules.watch_urgent = read_minutes(watch.at("urgent"));
    rules.watch_otherwise = read_minutes(watch.at("otherwise"));
    rules.urgent_within = read_minutes(watch.at("urgent_within"));
    rules.again_after_normal = 24 * 60 * read_minutes(reading.at("normal_again_days"));
    watch.refuse_unknown_keys();
    reading.refuse_unknown_keys();
}

void ProtocolReader::read_derived_answers() {
    for (TreeReader& reader : root_.at("derived_answers").items()) {
        DerivedAnswer answer{.id = reader.text_at("id"), .field = field_at(reader, "field")};
        if (!protocol_.fields.empty()) {
            answer.value = read_choice(reader.at("answer"), protocol_.fields[answer.field]);
        }
        answer.when = condition_at(reader, "when");
        reader.refuse_unknown_keys();
        protocol_.derived_answers.push_back(answer);
    }
}

WayOfReading ProtocolReader::read_way(TreeReader reader) {
    WayOfReading way;
    if (reader.has("set_aside")) {
        way.set_aside = fields_at(reader, "set_aside");
    }
    if (reader.has("set")) {
        for (const auto& [name, value] : reader.at("set").entries()) {
            const auto place = names_.field_places.find(name);
            if (place == names_.field_places.end()) {
                value.refuse(names_.not_known(name));
            } else {
                way.set.emplace_back(place->second,
                                     read_choice(value, protocol_.fields[place->second]));
            }
        }
    }
    reader.refuse_unknown_keys();
    return way;
}

void ProtocolReader::read_contradictions() {
    for (TreeReader& reader : root_.at("contradictions").items()) {
        Contradiction contradiction{.id = reader.text_at("id"),
                                    .when = condition_at(reader, "when"),
                                    .text = reader.text_at("text")};
        contradiction.ask = fields_at(reader, "ask");
        const TreeReader either = reader.at("either");
        for (const TreeReader& way : either.items()) {
            contradiction.either.push_back(read_way(way));
        }
        if (contradiction.either.empty() && either.is_list()) {
            either.refuse("gives no way of reading the findings");
        }
        reader.refuse_unknown_keys();
        protocol_.contradictions.push_back(std::move(contradiction));
    }
}

void ProtocolReader::finish() {
    auto& order = protocol_.rules_by_time;
    order.resize(protocol_.rules.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        constexpr Seconds never = Seconds::max();
        return protocol_.rules[a].within.value_or(never) <
               protocol_.rules[b].within.value_or(never);
    });
    protocol_.fields_by_name.assign(names_.field_places.begin(), names_.field_places.end());
}

ConditionId ProtocolReader::condition_at(TreeReader& reader, std::string_view key) {
    return read_condition(reader.at(key), names_, protocol_.conditions);
}

std::optional<ConditionId> ProtocolReader::condition_if_any(TreeReader& reader,
                                                            std::string_view key) {
    return reader.has(key) ? std::optional(condition_at(reader, key)) : std::nullopt;
}

FieldId ProtocolReader::field(const TreeReader& reader) const {
    const std::string name = reader.text();
    const auto place = names_.field_places.find(name);
    if (place == names_.field_places.end()) {
        if (!name.empty()) {
            reader.refuse(names_.not_known(name));
        }
        return 0;
    }
    return place->second;
}

FieldId ProtocolReader::field_at(TreeReader& reader, std::string_view key) {
    return field(reader.at(key));
}

FieldId ProtocolReader::sign_at(TreeReader& reader, std::string_view key) {
    const TreeReader named = reader.at(key);
    const FieldId sign = field(named);
    if (named.is_text() && !protocol_.fields.empty() &&
        protocol_.fields[sign].type != FieldType::sign) {
        named.refuse("does not name a sign");
    }
    return sign;
}

std::vector<FieldId> ProtocolReader::fields_at(TreeReader& reader, std::string_view key) const {
    std::vector<FieldId> fields;
    for (const TreeReader& item : reader.at(key).items()) {
        fields.push_back(field(item));
    }
    return fields;
}

}  // namespace waybourne::triage
