#include <algorithm>

#include "triage/internal/protocol_reader.hpp"

namespace waybourne::triage {

namespace {

constexpr std::size_t most_choices = 64;  // one bit each in a condition

std::optional<FieldType> find_type(std::string_view name) {
    if (name == "number") {
        return FieldType::number;
    }
    if (name == "step") {
        return FieldType::step;
    }
    if (name == "sign") {
        return FieldType::sign;
    }
    return name == "choice" ? std::optional(FieldType::choice) : std::nullopt;
}

std::optional<ReadingPart> find_part(std::string_view name) {
    if (name == "systolic") {
        return ReadingPart::systolic;
    }
    if (name == "diastolic") {
        return ReadingPart::diastolic;
    }
    return name == "pulse" ? std::optional(ReadingPart::pulse) : std::nullopt;
}

bool is_number(const Field& field) {
    return field.type == FieldType::number || field.type == FieldType::step;
}

void read_choices(TreeReader& reader, Field& field) {
    const TreeReader choices = reader.at("choices");
    for (const TreeReader& item : choices.items()) {
        const std::string choice = item.text();
        if (std::find(field.choices.begin(), field.choices.end(), choice) != field.choices.end()) {
            item.refuse("'" + choice + "' stands twice");
        }
        field.choices.push_back(choice);
    }
    if (choices.is_list() && (field.choices.size() < 2 || field.choices.size() > most_choices)) {
        choices.refuse("is not 2 to 64 choices");
    }
    field.ordered = reader.at("ordered").truth();
}

}  // namespace

void ProtocolReader::read_number(TreeReader& reader, Field& field) {
    field.accept = read_interval(reader.at("accept"));
    if (field.type == FieldType::step) {
        field.whole = true;
        return;
    }
    field.unit = reader.text_at("unit");
    field.whole = reader.at("whole").truth();
    if (reader.has("confirm")) {
        field.confirm = read_interval(reader.at("confirm"));
    }
    if (reader.has("wrong_unit")) {
        TreeReader wrong = reader.at("wrong_unit");
        field.wrong_unit =
            WrongUnit{{wrong.number_at("from"), wrong.number_at("to")}, wrong.text_at("text")};
        wrong.refuse_unknown_keys();
    }
    if (reader.has("of_reading")) {
        const TreeReader part = reader.at("of_reading");
        const auto found = find_part(part.text());
        if (!found) {
            part.refuse("is not systolic, diastolic or pulse");
        } else if (!field.whole) {
            part.refuse("the numbers of a reading are whole");
        }
        field.of_reading = found.value_or(ReadingPart::none);
    }
}

void ProtocolReader::read_safer(TreeReader& reader, Field& field) {
    if (!reader.has("safer")) {
        return;
    }
    const TreeReader safer = reader.at("safer");
    if (!is_number(field)) {
        const double choice = read_choice(safer, field);
        field.safer = Interval{choice, choice};
        return;
    }
    field.safer = read_interval(safer);
    if (!field.accept.contains(field.safer->from) || !field.accept.contains(field.safer->to)) {
        safer.refuse("reaches outside what is accepted");
    }
}

void ProtocolReader::read_worse(TreeReader& reader, Field& field) {
    if (!reader.has("worse")) {
        return;
    }
    TreeReader worse = reader.at("worse");
    if (is_number(field)) {
        if (worse.has("up_from")) {
            field.worse.up_from = worse.number_at("up_from");
        }
        if (worse.has("down_from")) {
            field.worse.down_from = worse.number_at("down_from");
        }
        worse.refuse_unknown_keys();
    } else if (field.type == FieldType::sign) {
        const double answer = read_choice(worse, field);
        field.worse.chains.push_back({1 - answer, answer});
    } else {
        for (const TreeReader& chain : worse.items()) {
            std::vector<double>& values = field.worse.chains.emplace_back();
            for (const TreeReader& choice : chain.items()) {
                values.push_back(read_choice(choice, field));
            }
        }
    }
}

Field ProtocolReader::read_field(TreeReader& reader) {
    Field field{.name = reader.text_at("name")};
    const TreeReader type = reader.at("type");
    const auto found = find_type(type.text());
    if (!found) {
        if (type.is_text()) {
            type.refuse("is not number, step, sign or choice");
        }
        return field;
    }
    field.type = *found;
    field.question = reader.text_at("question");
    if (is_number(field)) {
        read_number(reader, field);
    } else if (field.type == FieldType::choice) {
        read_choices(reader, field);
    } else {
        field.choices = {"no", "yes"};
    }
    read_safer(reader, field);
    read_worse(reader, field);
    field.danger = reader.truth_or_no_at("danger");
    if (field.danger && field.type != FieldType::sign) {
        reader.refuse("only a sign can be part of the grouped question");
    }
    field.never_ignored = reader.truth_or_no_at("never_ignored");
    field.note_only = reader.truth_or_no_at("note_only");
    reader.has("not_asked_when");  // read once all names are known
    reader.refuse_unknown_keys();
    return field;
}

void ProtocolReader::read_fields() {
    TreeReader list = root_.at("fields");
    std::vector<std::size_t> of_part(4);
    for (TreeReader& reader : list.items()) {
        Field field = read_field(reader);
        const FieldId place = protocol_.fields.size();
        if (is_new_name(reader, field.name)) {
            names_.field_places.emplace(field.name, place);
        }
        ++of_part[static_cast<std::size_t>(field.of_reading)];
        ReadingRules& reading = protocol_.reading;
        if (field.of_reading == ReadingPart::systolic) {
            reading.systolic = place;
        } else if (field.of_reading == ReadingPart::diastolic) {
            reading.diastolic = place;
        } else if (field.of_reading == ReadingPart::pulse) {
            reading.pulse = place;
        }
        protocol_.fields.push_back(std::move(field));
    }
    if (list.is_list()) {
        constexpr const char* names[] = {"", "systolic", "diastolic", "pulse"};
        for (std::size_t part = 1; part < 4; ++part) {
            if (of_part[part] != 1) {
                list.refuse(std::to_string(of_part[part]) + " fields are the " + names[part] +
                            " of a reading where one is needed");
            }
        }
    }
}

void ProtocolReader::read_not_asked_when() {
    const auto readers = root_.at("fields").items();
    for (FieldId field = 0; field < protocol_.fields.size(); ++field) {
        TreeReader reader = readers[field];
        protocol_.fields[field].not_asked_when = condition_if_any(reader, "not_asked_when");
    }
}

}  // namespace waybourne::triage
