#include "referral/situation.hpp"

#include <algorithm>
#include <string>

#include "facilities/offered.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::referral {

std::optional<CallAnswer> Situation::call_answer(std::size_t position) const {
    const auto found = start->calls.find(place(position).id);
    return found == start->calls.end() ? std::nullopt : std::optional{found->second};
}

bool Situation::offers_any(std::size_t position, std::span<const std::size_t> needs) const {
    return std::any_of(needs.begin(), needs.end(), [&](std::size_t index) {
        return offers[position].intersects(need(index).any_of);
    });
}

namespace {

bool may_be_recommended(const Situation& situation, std::size_t position) {
    if (!situation.snaps[position].has_value() ||
        situation.place(position).id == situation.start->at_facility) {
        return false;
    }
    const auto answer = situation.call_answer(position);
    return answer != CallAnswer::refused && answer != CallAnswer::no_answer;
}

}  // namespace

Seconds departure_delay(const triage::Assessment& assessment, const Start& start,
                        const ChoiceSettings& settings) {
    return start.ready_in.value_or(assessment.leave_now ? settings.departure_delay_when_now
                                                        : settings.departure_delay);
}

Situation situation_of(const triage::Assessment& assessment,
                       const facilities::FacilityRegister& facilities,
                       std::span<const std::optional<routing::Snap>> snaps, const Start& start,
                       const ChoiceSettings& settings, Instant now) {
    const auto places = facilities.facilities();
    if (snaps.size() != places.size()) {
        throw InputError(std::to_string(snaps.size()) + " places on the roads were given for " +
                         std::to_string(places.size()) + " facilities");
    }
    Situation situation{.assessment = &assessment,
                        .facilities = &facilities,
                        .snaps = snaps,
                        .start = &start,
                        .settings = &settings,
                        .now = now,
                        .phoned_at = now,
                        .departs = now + departure_delay(assessment, start, settings)};
    for (std::size_t index = 0; index < assessment.needs.size(); ++index) {
        auto& kind =
            assessment.needs[index].available_here ? situation.met_here : situation.to_meet;
        kind.push_back(index);
    }
    for (std::size_t position = 0; position < places.size(); ++position) {
        situation.offers.push_back(facilities::offered_by(places[position]));
        situation.is_considered.push_back(may_be_recommended(situation, position));
    }
    return situation;
}

Situation with_unanswered(const Situation& situation) {
    Situation more = situation;
    for (std::size_t position = 0; position < more.is_considered.size(); ++position) {
        if (more.snaps[position] && more.call_answer(position) == CallAnswer::no_answer &&
            more.place(position).id != more.start->at_facility) {
            more.is_considered[position] = true;
        }
    }
    return more;
}

Situation only_confirmed(const Situation& situation) {
    Situation sure = situation;
    sure.counts_unconfirmed = false;
    return sure;
}

Situation delayed(const Situation& situation, Seconds delay) {
    Situation later = situation;
    later.phoned_at += delay;
    later.departs += delay;
    return later;
}

}  // namespace waybourne::referral
