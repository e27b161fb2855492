#include "server/practice.hpp"

#include <algorithm>

namespace waybourne::server {

namespace {

const Message caution{"server.practice.caution"};

/// The note with another title; what stands on the right of that line stays where it is as long as
/// there is room.
std::string with_title(const std::string& note, const std::string& title, const std::string& old) {
    if (!note.starts_with(old)) {
        return title + "\n" + note;
    }
    std::size_t spaces = 0;
    while (old.size() + spaces < note.size() && note[old.size() + spaces] == ' ') {
        ++spaces;
    }
    const std::size_t longer = title.size() > old.size() ? title.size() - old.size() : 0;
    const std::size_t kept = spaces > longer + 1 ? spaces - longer : 1;
    return title + std::string(kept, ' ') + note.substr(old.size() + spaces);
}

}  // namespace

void mark_as_practice(triage::Assessment& assessment) {
    assessment.cautions.insert(assessment.cautions.begin(), caution);
}

void mark_as_practice(Answer& answer, const Catalogue& catalogue) {
    mark_as_practice(answer.assessment);
    auto& cautions = answer.recommendation.cautions;
    cautions.insert(cautions.begin(), caution);
    answer.referral_note = with_title(
        answer.referral_note, catalogue.text(std::string_view{"server.practice.note_title"}),
        catalogue.text(std::string_view{"referral.note.title"}));
}

}  // namespace waybourne::server
