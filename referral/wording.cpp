#include "referral/wording.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <optional>
#include <variant>

#include "vocabulary/error.hpp"

namespace waybourne::referral {

namespace {

constexpr std::string_view joint = " or ";

std::string two_digits(long value) {
    return (value < 10 ? "0" : "") + std::to_string(value);
}

std::string joined(const std::vector<std::string>& words, std::string_view by) {
    std::string all;
    for (const std::string& word : words) {
        all += all.empty() ? "" : by;
        all += word;
    }
    return all;
}

std::string joint_of(const Catalogue& catalogue) {
    constexpr std::string_view id = "referral.or";
    return catalogue.has(id) ? " " + catalogue.text(id) + " " : std::string(joint);
}

std::string replaced(std::string text, char what, char with) {
    std::replace(text.begin(), text.end(), what, with);
    return text;
}

std::string plain_number(double value) {
    std::array<char, 32> text{};
    const bool is_whole = std::abs(value - std::round(value)) < 1e-9;
    std::snprintf(text.data(), text.size(), is_whole ? "%.0f" : "%.1f", value);
    return text.data();
}

/// The kinds of care that a value names; empty unless it names nothing else.
triage::CapabilitySet care_named(std::string_view value) {
    triage::CapabilitySet named;
    for (std::size_t at = 0; at <= value.size();) {
        const std::size_t end = std::min(value.find(joint, at), value.size());
        const auto capability =
            triage::find_capability(replaced(std::string(value.substr(at, end - at)), ' ', '_'));
        if (!capability) {
            return {};
        }
        named.insert(*capability);
        at = end + joint.size();
        if (end == value.size()) {
            break;
        }
    }
    return named;
}

std::optional<Instant> find_instant(const std::string& value) {
    // 2026-03-04T09:40:00Z: nothing else that a message carries looks like it.
    constexpr std::size_t length = 20;
    if (value.size() != length || value[10] != 'T' || value.back() != 'Z') {
        return std::nullopt;
    }
    try {
        return parse_rfc3339(value);
    } catch (const InputError&) {
        return std::nullopt;
    }
}

}  // namespace

std::string care_value(triage::Capability capability) {
    return replaced(std::string(to_name(capability)), '_', ' ');
}

std::string care_value(triage::CapabilitySet any_of) {
    std::vector<std::string> names;
    for (const triage::Capability capability : any_of.members()) {
        names.push_back(care_value(capability));
    }
    return joined(names, joint);
}

std::string care_in_words(triage::Capability capability, const Catalogue& catalogue) {
    const std::string id = "triage.capability." + std::string(to_name(capability));
    return catalogue.has(id) ? catalogue.text(std::string_view{id}) : care_value(capability);
}

std::string care_in_words(triage::CapabilitySet any_of, const Catalogue& catalogue) {
    std::vector<std::string> words;
    for (const triage::Capability capability : any_of.members()) {
        words.push_back(care_in_words(capability, catalogue));
    }
    return joined(words, joint_of(catalogue));
}

std::string field_in_words(const std::string& field, const Catalogue& catalogue) {
    const std::string id = "triage.field." + field;
    if (catalogue.has(id)) {
        return catalogue.text(std::string_view{id});
    }
    std::string words = field;
    std::replace(words.begin(), words.end(), '_', ' ');
    return words;
}

std::string answer_name(const triage::FindingValue& value) {
    if (const auto* answer = std::get_if<triage::Answer>(&value)) {
        return *answer == triage::Answer::yes  ? "yes"
               : *answer == triage::Answer::no ? "no"
                                               : "unknown";
    }
    const auto* choice = std::get_if<std::string>(&value);
    return choice == nullptr ? "" : *choice;
}

std::string finding_in_words(const std::string& field, const triage::FindingValue& value,
                             const Catalogue& catalogue) {
    if (const double* number = std::get_if<double>(&value)) {
        const std::string id = "referral.note.value." + field;
        const std::string shown = plain_number(*number);
        return catalogue.has(id) ? catalogue.text(Message{id, {{"value", shown}}})
                                 : field_in_words(field, catalogue) + " " + shown;
    }
    const std::string choice = answer_name(value);
    const std::string id = "triage.fact." + field + "." + choice;
    return catalogue.has(id) ? catalogue.text(std::string_view{id})
                             : field_in_words(field, catalogue) + ": " + choice;
}

Message with_care_in_words(Message message, const Catalogue& catalogue) {
    for (auto& [name, value] : message.values) {
        if (const auto named = care_named(value); !named.empty()) {
            value = care_in_words(named, catalogue);
        } else if (const std::string id = "facilities.resource." + replaced(value, ' ', '_');
                   catalogue.has(id)) {
            value = catalogue.text(std::string_view{id});
        }
    }
    return message;
}

std::string clock_time(Instant at, Seconds utc_offset) {
    const Instant local = at + utc_offset;
    const Seconds of_day = local - std::chrono::floor<std::chrono::days>(local);
    const long minutes = static_cast<long>(of_day.count() / 60);
    return two_digits(minutes / 60) + ":" + two_digits(minutes % 60);
}

std::string date_and_time(Instant at, Seconds utc_offset) {
    return to_rfc3339(at + utc_offset).substr(0, 10) + " " + clock_time(at, utc_offset);
}

std::string in_words(const Message& message, const Catalogue& catalogue, Seconds utc_offset,
                     Instant now) {
    Message worded = with_care_in_words(message, catalogue);
    for (auto& [name, value] : worded.values) {
        if (const auto instant = find_instant(value)) {
            value = std::chrono::abs(*instant - now) > 12h ? date_and_time(*instant, utc_offset)
                                                           : clock_time(*instant, utc_offset);
        }
    }
    return catalogue.text(worded);
}

}  // namespace waybourne::referral
