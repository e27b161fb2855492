#include "triage/plausible.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "vocabulary/error.hpp"
#include "vocabulary/nearest_name.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::triage {

namespace {

/// Puts the given values into a situation, noting every error.
class FindingsReader {
public:
    FindingsReader(const Protocol& protocol, Instant now) : protocol_(protocol), now_(now) {}

    CheckedFindings read(const Findings& findings);

private:
    void read_value(const std::string& name, const FindingValue& given);
    void read_number(FieldId id, const FindingValue& given);
    void read_choice(FieldId id, const FindingValue& given);
    void read_reading(std::size_t place, const Reading& reading);
    void note_reading(const CheckedReading& checked);
    void note(FieldId field, Doubt doubt, double value, const ReadingNumbers& given = {});
    void refuse_later(const std::string& pointer, Instant instant);
    std::string not_known(const std::string& name) const;

    const Protocol& protocol_;
    Instant now_;
    CheckedFindings checked_{Situation(protocol_.fields.size()), {}, {}, {}, {}};
    std::vector<std::pair<FieldId, Refused>> refused_;
    std::vector<std::pair<FieldId, Refused>> confirm_;
    std::vector<FieldError> errors_;
};

Message doubt_in_words(const Field& field, Doubt doubt, double value, const ReadingNumbers& given) {
    switch (doubt) {
        case Doubt::wrong_unit:
            return {field.wrong_unit->text, {{"value", to_words(value)}}};
        case Doubt::gap:
        case Doubt::confirm_gap:
            return {doubt == Doubt::gap ? "triage.refused.gap" : "triage.confirm.gap",
                    {{"systolic", to_words(given[0].value_or(0))},
                     {"diastolic", to_words(given[1].value_or(0))}}};
        default: {
            const bool refused = doubt == Doubt::outside;
            const Interval limits = refused ? field.accept : field.confirm.value_or(field.accept);
            return {refused ? "triage.refused.outside" : "triage.confirm.outside",
                    {{"value", to_words(value)},
                     {"lowest", to_words(limits.from)},
                     {"highest", to_words(limits.to)}}};
        }
    }
}

void FindingsReader::note(FieldId field, Doubt doubt, double value, const ReadingNumbers& given) {
    if (doubt == Doubt::none) {
        return;
    }
    const Field& of = protocol_.fields[field];
    (is_refused(doubt) ? refused_ : confirm_)
        .emplace_back(field,
                      Refused{of.name, to_words(value), doubt_in_words(of, doubt, value, given)});
}

void FindingsReader::refuse_later(const std::string& pointer, Instant instant) {
    if (instant > now_) {
        errors_.push_back(
            {pointer, to_rfc3339(instant) + " is later than now, " + to_rfc3339(now_)});
    }
}

std::string FindingsReader::not_known(const std::string& name) const {
    std::vector<std::string> names;
    for (const auto& [known, place] : protocol_.fields_by_name) {
        names.push_back(known);
    }
    const auto nearest = nearest_name(name, names);
    return "is not a field of this protocol" +
           (nearest ? "; did you mean '" + *nearest + "'?" : "");
}

void FindingsReader::read_number(FieldId id, const FindingValue& given) {
    const Field& field = protocol_.fields[id];
    const std::string pointer = "#/findings/" + field.name;
    const double* value = std::get_if<double>(&given);
    if (value == nullptr || !std::isfinite(*value)) {
        errors_.push_back({pointer, "is no number where a number is expected"});
        return;
    }
    if (field.whole && *value != std::floor(*value)) {
        errors_.push_back({pointer, to_words(*value) + " is not a whole number"});
        return;
    }
    const Doubt doubt = check_number(field, *value);
    note(id, doubt, *value);
    if (!is_refused(doubt)) {
        checked_.answers.set(id, *value);
    }
}

void FindingsReader::read_choice(FieldId id, const FindingValue& given) {
    const Field& field = protocol_.fields[id];
    const std::string pointer = "#/findings/" + field.name;
    std::string choice;
    if (const auto* text = std::get_if<std::string>(&given)) {
        choice = *text;
    } else if (const auto* answer = std::get_if<Answer>(&given)) {
        choice = *answer == Answer::yes ? "yes" : "no";
    } else {
        errors_.push_back({pointer, "is a number where an answer is expected"});
        return;
    }
    const auto place = std::find(field.choices.begin(), field.choices.end(), choice);
    if (place != field.choices.end()) {
        checked_.answers.set(id, static_cast<double>(place - field.choices.begin()));
    } else if (choice != "unknown") {
        const auto nearest = nearest_name(choice, field.choices);
        std::string allowed;
        for (const std::string& one : field.choices) {
            allowed += one + ", ";
        }
        errors_.push_back({pointer, "'" + shortened(choice, 60) + "' is none of " + allowed +
                                        "unknown" +
                                        (nearest ? "; did you mean '" + *nearest + "'?" : "")});
    }
}

void FindingsReader::read_value(const std::string& name, const FindingValue& given) {
    const auto id = protocol_.find_field(name);
    if (!id) {
        errors_.push_back({"#/findings/" + shortened(name, 60), not_known(name)});
        return;
    }
    const Field& field = protocol_.fields[*id];
    if (field.of_reading != ReadingPart::none) {
        errors_.push_back({"#/findings/" + name, "belongs to a reading: give it in 'readings'"});
        return;
    }
    const auto* answer = std::get_if<Answer>(&given);
    if (answer != nullptr && *answer == Answer::unknown) {
        return;
    }
    if (field.type == FieldType::number || field.type == FieldType::step) {
        read_number(*id, given);
    } else {
        read_choice(*id, given);
    }
}

void FindingsReader::note_reading(const CheckedReading& checked) {
    const auto fields = reading_fields(protocol_.reading);
    for (std::size_t part = 0; part < 3; ++part) {
        if (checked.given[part]) {
            note(fields[part], checked.doubts[part], *checked.given[part], checked.given);
        }
    }
}

void FindingsReader::read_reading(std::size_t place, const Reading& reading) {
    refuse_later("#/readings/" + std::to_string(place) + "/taken_at", reading.taken_at);
    const ReadingNumbers given{reading.systolic, reading.diastolic, reading.pulse};
    checked_.readings.push_back(check_reading(protocol_, reading.taken_at, given));
    note_reading(checked_.readings.back());
}

/// In the order of the fields, then of what was given: the same whatever the order of the readings.
void put_in_order(std::vector<std::pair<FieldId, Refused>>& notes) {
    std::sort(notes.begin(), notes.end(), [](const auto& a, const auto& b) {
        return std::tie(a.first, a.second.given, a.second.why.values) <
               std::tie(b.first, b.second.given, b.second.why.values);
    });
}

CheckedFindings FindingsReader::read(const Findings& findings) {
    if (findings.at) {
        refuse_later("#/at", *findings.at);
    }
    if (findings.readings.size() > most_readings) {
        errors_.push_back({"#/readings", std::to_string(findings.readings.size()) +
                                             " readings are too many: give the newest " +
                                             std::to_string(most_readings) + " or fewer"});
    } else {
        for (std::size_t place = 0; place < findings.readings.size(); ++place) {
            read_reading(place, findings.readings[place]);
        }
    }
    for (const auto& [name, given] : findings.values) {
        read_value(name, given);
    }
    if (!errors_.empty()) {
        throw InputError("the findings are not valid", errors_);
    }
    put_in_order(refused_);
    put_in_order(confirm_);
    for (auto& [field, refused] : refused_) {
        if (checked_.refused_fields.empty() || checked_.refused_fields.back() != field) {
            checked_.refused_fields.push_back(field);
        }
        checked_.refused.push_back(std::move(refused));
    }
    for (auto& [field, confirm] : confirm_) {
        checked_.confirm.push_back(std::move(confirm));
    }
    return std::move(checked_);
}

}  // namespace

std::array<FieldId, 3> reading_fields(const ReadingRules& rules) {
    return {rules.systolic, rules.diastolic, rules.pulse};
}

Doubt check_number(const Field& field, double value) {
    if (!field.accept.contains(value)) {
        return field.wrong_unit && field.wrong_unit->looks_like.contains(value) ? Doubt::wrong_unit
                                                                                : Doubt::outside;
    }
    return field.confirm && !field.confirm->contains(value) ? Doubt::confirm_outside : Doubt::none;
}

CheckedReading check_reading(const Protocol& protocol, Instant taken_at,
                             const ReadingNumbers& given) {
    const ReadingRules& rules = protocol.reading;
    const auto fields = reading_fields(rules);
    CheckedReading checked{.taken_at = taken_at, .given = given, .accepted = given};
    for (std::size_t part = 0; part < 3; ++part) {
        if (given[part]) {
            checked.doubts[part] = check_number(protocol.fields[fields[part]], *given[part]);
        }
    }
    const auto below = [&](std::size_t part) {
        return given[part] && *given[part] < protocol.fields[fields[part]].accept.from;
    };
    const auto above = [&](std::size_t part) {
        return given[part] && *given[part] > protocol.fields[fields[part]].accept.to;
    };
    checked.not_recordable = below(0) || below(1) || above(2);
    if (given[0] && given[1]) {
        const double gap = *given[0] - *given[1];
        if (gap < rules.least_gap) {
            const bool swapped = -gap >= rules.confirm_gap.from && *given[1] >= rules.low_systolic;
            checked.not_recordable |= *given[0] < rules.low_systolic && !swapped;
            checked.doubts[0] = checked.doubts[1] = Doubt::gap;
        } else if (!rules.confirm_gap.contains(gap) && checked.doubts[0] == Doubt::none) {
            checked.doubts[0] = Doubt::confirm_gap;
        }
    }
    for (std::size_t part = 0; part < 3; ++part) {
        if (is_refused(checked.doubts[part])) {
            checked.accepted[part].reset();
        }
    }
    return checked;
}

CheckedFindings check_findings(const Protocol& protocol, const Findings& findings, Instant now) {
    return FindingsReader(protocol, now).read(findings);
}

std::string to_words(double number) {
    return fmt::format("{}", number);
}

}  // namespace waybourne::triage
