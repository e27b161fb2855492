#include "server/messages/texted_values.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

namespace waybourne::server {

namespace {

/// Fields that are spans of time, and the unit the protocol asks for.
struct TimeField {
    std::string_view name;
    TimeUnit unit;
    TimeUnit longest;  ///< nobody counts it in longer ones
};

constexpr std::array time_fields{
    TimeField{"gestation_weeks", TimeUnit::weeks, TimeUnit::weeks},
    TimeField{"days_postpartum", TimeUnit::days, TimeUnit::weeks},
    TimeField{"labour_hours", TimeUnit::hours, TimeUnit::days},
    TimeField{"second_stage_hours", TimeUnit::hours, TimeUnit::hours},
    TimeField{"membranes_hours", TimeUnit::hours, TimeUnit::weeks},
    TimeField{"placenta_minutes", TimeUnit::minutes, TimeUnit::hours},
};

const TimeField* find_time_field(std::string_view name) {
    const auto* found = std::find_if(time_fields.begin(), time_fields.end(),
                                     [&](const TimeField& field) { return field.name == name; });
    return found == time_fields.end() ? nullptr : found;
}

double minutes_in(TimeUnit unit) {
    constexpr std::array minutes{1.0, 60.0, 1'440.0, 10'080.0};
    return minutes.at(static_cast<std::size_t>(unit));
}

/// The number in the field's own unit; none when it does not fit the field.
std::optional<double> in_unit_of(const triage::Field& field, const TextNumber& number) {
    const TimeField* time = find_time_field(field.name);
    if (time == nullptr) {
        if (number.unit && *number.unit != TimeUnit::minutes) {
            return std::nullopt;  // `fever 3 days` says nothing of degrees
        }
        if (field.whole && !number.is_whole) {
            constexpr double thousand = 1'000;
            return number.is_grouped ? std::optional(number.value * thousand) : std::nullopt;
        }
        return number.value;
    }
    const TimeUnit unit = number.unit.value_or(time->unit);
    if (unit > time->longest) {
        return std::nullopt;
    }
    const double value = number.value * minutes_in(unit) / minutes_in(time->unit);
    return field.whole ? std::floor(value) : value;
}

/// Which of two states of a woman holds when both are named: the later one. None: it cannot be
/// said.
std::optional<std::string> later_status(const std::string& one, const std::string& other) {
    constexpr std::array<std::string_view, 3> course{"pregnant", "in_labour", "postpartum"};
    const auto place = [&](const std::string& status) {
        return std::find(course.begin(), course.end(), status) - course.begin();
    };
    const auto last = static_cast<std::ptrdiff_t>(course.size());
    if (place(one) < last && place(other) < last) {
        return place(one) < place(other) ? other : one;
    }
    if (one == "pregnant" || other == "pregnant") {
        return one == "pregnant" ? other : one;
    }
    return std::nullopt;
}

/// Of two choices of one field the one that counts: see TextedValues. None: it cannot be said.
std::optional<std::string> of_two(const triage::Field& field, const std::string& one,
                                  const std::string& other) {
    if (one == other) {
        return one;
    }
    if (field.name == "status") {
        return later_status(one, other);
    }
    if (!field.ordered) {
        return std::nullopt;
    }
    const auto place = [&](const std::string& choice) {
        return std::find(field.choices.begin(), field.choices.end(), choice);
    };
    return place(one) < place(other) ? other : one;
}

}  // namespace

bool TextedValues::put_number(const std::string& name, const TextNumber& number) {
    const auto value = in_unit_of(field(name), number);
    if (!value) {
        return false;
    }
    if (field(name).of_reading == triage::ReadingPart::pulse) {
        auto& readings = findings_.readings;
        if (readings.empty() || readings.back().pulse) {
            new_reading();
        }
        readings.back().pulse = static_cast<int>(*value);
        return true;
    }
    return findings_.values.emplace(name, *value).second;
}

void TextedValues::put_pressure(int systolic, std::optional<int> diastolic) {
    auto& readings = findings_.readings;
    const bool is_next = readings.empty() || readings.back().systolic;
    triage::Reading& reading = is_next ? new_reading() : readings.back();
    reading.systolic = systolic;
    reading.diastolic = diastolic;
}

bool TextedValues::can_be_denied(const TextFact& fact) const {
    return field(fact.first).type == triage::FieldType::sign && fact.second == "yes";
}

std::optional<std::string> TextedValues::put_fact(const TextFact& fact, bool is_denied) {
    const triage::Field& stated = field(fact.first);
    if (stated.type == triage::FieldType::sign) {
        put_sign(stated, fact.second == "yes" && !is_denied);
        return std::nullopt;
    }
    return put_choice(stated, fact.second);
}

void TextedValues::put_sign(const triage::Field& field, bool holds) {
    const auto answer = holds ? triage::Answer::yes : triage::Answer::no;
    const auto [place, is_new] = findings_.values.emplace(field.name, answer);
    const bool is_safer = field.safer && field.safer->contains(holds ? 1 : 0);
    if (!is_new && !is_safer) {
        place->second = answer;
    }
}

std::optional<std::string> TextedValues::put_choice(const triage::Field& field,
                                                    const std::string& choice) {
    const auto [place, is_new] = findings_.values.emplace(field.name, choice);
    if (is_new) {
        return std::nullopt;
    }
    const std::string before = std::get<std::string>(place->second);
    if (const auto counts = of_two(field, before, choice)) {
        place->second = *counts;
        return std::nullopt;
    }
    in_doubt_.insert(field.name);
    return before + " or " + choice;
}

triage::Findings TextedValues::take() {
    for (const std::string& name : in_doubt_) {
        findings_.values.erase(name);
    }
    return std::move(findings_);
}

triage::Reading& TextedValues::new_reading() {
    triage::Reading& reading = findings_.readings.emplace_back();
    reading.taken_at = now_;
    return reading;
}

}  // namespace waybourne::server
