#include "referral/internal/note_facts.hpp"

#include <algorithm>
#include <array>
#include <variant>

#include "referral/wording.hpp"

namespace waybourne::referral {

namespace {

using triage::FindingValue;

constexpr std::array<std::string_view, 4> about_the_woman{"age_years", "status", "gestation_weeks",
                                                          "days_postpartum"};
constexpr std::array<std::string_view, 2> told_not_written{"safe_at_home", "baby_safe"};
constexpr std::array<std::string_view, 17> about_the_background{
    "previous_caesarean", "multiple_pregnancy",  "lie",
    "membranes_ruptured", "membranes_hours",     "placenta_delivered",
    "placenta_minutes",   "labour_hours",        "second_stage_hours",
    "cervix_cm",          "contractions",        "known_hypertension",
    "known_low_bp",       "known_epilepsy",      "known_diabetes",
    "weight_kg",          "known_heart_disease",
};

template <typename Names>
bool is_one_of(const Names& names, std::string_view field) {
    return std::find(names.begin(), names.end(), field) != names.end();
}

/// Where the fact stands among those that made rules fire; past the end when nowhere.
std::size_t place_among_reasons(const std::string& field, const triage::Assessment& assessment) {
    std::size_t place = 0;
    const std::string start = "triage.fact." + field;
    for (const triage::Suspicion& suspicion : assessment.suspected) {
        for (const triage::Because& because : suspicion.because) {
            for (const Message& fact : because.facts) {
                if (fact.id == start || fact.id.starts_with(start + ".")) {
                    return place;
                }
                ++place;
            }
        }
    }
    return place;
}

bool is_reassuring(const FindingValue& value) {
    const std::string choice = answer_name(value);
    return choice == "no" || choice == "none" || choice == "normal" || choice == "negative";
}

}  // namespace

NoteFacts note_facts(const triage::Findings& findings, const triage::Assessment& assessment,
                     const Catalogue& catalogue) {
    NoteFacts facts;
    std::vector<std::pair<std::size_t, std::string>> signs;
    for (const std::string_view field : about_the_woman) {
        const auto found = findings.values.find(field);
        if (found != findings.values.end() && answer_name(found->second) != "unknown") {
            facts.woman.push_back(finding_in_words(found->first, found->second, catalogue));
        }
    }
    for (const auto& [field, value] : findings.values) {
        if (answer_name(value) == "unknown" || is_one_of(about_the_woman, field) ||
            is_one_of(told_not_written, field)) {
            continue;
        }
        const std::string words = finding_in_words(field, value, catalogue);
        if (is_one_of(about_the_background, field)) {
            facts.background.push_back(words);
        } else if (std::holds_alternative<double>(value)) {
            facts.measured.push_back(words);
        } else if (is_reassuring(value)) {
            facts.not_found.push_back(words);
        } else {
            signs.emplace_back(place_among_reasons(field, assessment), words);
        }
    }
    std::stable_sort(signs.begin(), signs.end(),
                     [](const auto& a, const auto& b) { return a.first < b.first; });
    for (auto& [place, words] : signs) {
        facts.signs.push_back(std::move(words));
    }
    return facts;
}

}  // namespace waybourne::referral
