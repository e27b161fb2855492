#include "tests/triage/random_findings.hpp"

#include <algorithm>
#include <cmath>
#include <sstream>

#include "tests/triage/support.hpp"
#include "triage/plausible.hpp"

namespace waybourne::triage {

double RandomFindings::between(double from, double to, bool whole) {
    if (whole) {
        return static_cast<double>(std::uniform_int_distribution<int>(
            static_cast<int>(from), static_cast<int>(to))(random_));
    }
    const double value = std::uniform_real_distribution<>(from, to)(random_);
    return std::clamp(std::round(value * 10) / 10, from, to);
}

double RandomFindings::value_of(FieldId id) {
    const Field& field = protocol_.fields[id];
    if (!field.choices.empty()) {
        return static_cast<double>(below(field.choices.size()));
    }
    const auto& cuts = protocol_.conditions.cuts(id);
    if (!cuts.empty() && chance(0.7)) {
        const double step = field.whole ? 1 : 0.1;
        const double cut = cuts[below(cuts.size())].at;
        const double offset = static_cast<double>(below(3)) - 1;
        const double value = std::round((cut + offset * step) * 10) / 10;
        return std::clamp(value, field.accept.from, field.accept.to);
    }
    return between(field.accept.from, field.accept.to, field.whole);
}

Case RandomFindings::draw() {
    Case given{Situation(protocol_.fields.size()), {}};
    const double known = between(0.05, 0.9, false);
    for (FieldId id = 0; id < protocol_.fields.size(); ++id) {
        const Field& field = protocol_.fields[id];
        if (field.of_reading != ReadingPart::none || !chance(known)) {
            continue;
        }
        // Signs are mostly no, or every woman would have everything at once.
        const bool no = field.type == FieldType::sign && chance(0.75);
        given.answers.set(id, no ? 0 : value_of(id));
    }
    const std::size_t readings = chance(0.2) ? below(4) : (chance(0.85) ? 1 : 0);
    for (std::size_t i = 0; i < readings; ++i) {
        const Instant taken_at = test_now - std::chrono::minutes(4 * below(12));
        ReadingNumbers numbers;
        for (const FieldId field : reading_fields(protocol_.reading)) {
            if (chance(0.85)) {
                numbers[*part_of_reading(protocol_, field)] = value_of(field);
            }
        }
        given.readings.push_back(check_reading(protocol_, taken_at, numbers));
    }
    return given;
}

namespace {

FindingValue in_findings(const Field& field, double value) {
    if (field.type == FieldType::sign) {
        return value == 1 ? Answer::yes : Answer::no;
    }
    if (field.type == FieldType::choice) {
        return field.choices[static_cast<std::size_t>(value)];
    }
    return value;
}

std::optional<int> whole(const std::optional<double>& number) {
    return number ? std::optional(static_cast<int>(*number)) : std::nullopt;
}

}  // namespace

Findings to_findings(const Protocol& protocol, const Case& given) {
    Findings findings;
    for (FieldId id = 0; id < protocol.fields.size(); ++id) {
        if (given.answers.is_known(id)) {
            const Field& field = protocol.fields[id];
            findings.values[field.name] = in_findings(field, given.answers.value(id));
        }
    }
    for (const CheckedReading& reading : given.readings) {
        findings.readings.push_back({reading.taken_at, whole(reading.given[0]),
                                     whole(reading.given[1]), whole(reading.given[2])});
    }
    return findings;
}

std::optional<std::size_t> part_of_reading(const Protocol& protocol, FieldId field) {
    const auto fields = reading_fields(protocol.reading);
    const auto place = std::find(fields.begin(), fields.end(), field);
    return place == fields.end() ? std::nullopt
                                 : std::optional(static_cast<std::size_t>(place - fields.begin()));
}

OneField::OneField(const Protocol& protocol, const Case& given, FieldId field, std::size_t reading)
    : protocol_(protocol),
      given_(given),
      field_(field),
      part_(part_of_reading(protocol, field)),
      reading_(reading) {}

std::optional<double> OneField::value() const {
    if (part_) {
        return given_.readings.empty() ? std::nullopt : given_.readings[reading_].given[*part_];
    }
    return given_.answers.is_known(field_) ? std::optional(given_.answers.value(field_))
                                           : std::nullopt;
}

Case OneField::with(std::optional<double> value) const {
    Case changed = given_;
    if (part_) {
        CheckedReading& reading = changed.readings[reading_];
        ReadingNumbers numbers = reading.given;
        numbers[*part_] = value;
        reading = check_reading(protocol_, reading.taken_at, numbers);
    } else if (value) {
        changed.answers.set(field_, *value);
    } else {
        changed.answers.forget(field_);
    }
    return changed;
}

std::string in_words(const Findings& findings) {
    std::ostringstream words;
    const auto number = [&](const std::optional<int>& value) {
        return value ? std::to_string(*value) : std::string("-");
    };
    for (const Reading& reading : findings.readings) {
        words << (reading.taken_at - test_now).count() / 60 << "min:" << number(reading.systolic)
              << '/' << number(reading.diastolic) << ',' << number(reading.pulse) << ' ';
    }
    for (const auto& [name, value] : findings.values) {
        words << name << '=';
        if (const auto* answer = std::get_if<Answer>(&value)) {
            words << (*answer == Answer::yes ? "yes" : *answer == Answer::no ? "no" : "unknown");
        } else if (const auto* text = std::get_if<std::string>(&value)) {
            words << *text;
        } else {
            words << std::get<double>(value);
        }
        words << ' ';
    }
    return words.str();
}

}  // namespace waybourne::triage
