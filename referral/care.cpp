#include "referral/care.hpp"

#include <array>
#include <tuple>

#include "facilities/capable.hpp"
#include "referral/care_begins.hpp"

namespace waybourne::referral {

namespace {

using facilities::Readiness;
using facilities::ReadinessState;

/// Whether care that begins then, with that readiness, comes before `best`.
bool is_better(Instant begins, const Readiness& readiness, const Care& best) {
    const bool is_confirmed = readiness.state != ReadinessState::unconfirmed;
    return std::tuple{begins, !is_confirmed} < std::tuple{best.begins, !best.is_confirmed()};
}

}  // namespace

Readiness readiness_for(const Situation& situation, std::size_t place,
                        triage::Capability capability, Instant arrival) {
    const std::optional<Instant> called_ahead_at =
        situation.can_phone(place) ? std::optional{situation.phoned_at} : std::nullopt;
    Readiness readiness =
        facilities::readiness_at(*situation.facilities, place, capability,
                                 {arrival, situation.now, called_ahead_at, situation.reasons});
    if (readiness.state == ReadinessState::unconfirmed && readiness.ready_at &&
        situation.call_answer(place) == CallAnswer::accepted) {
        readiness.state =
            *readiness.ready_at <= arrival ? ReadinessState::ready : ReadinessState::ready_by;
        readiness.chance = 1;
        readiness.reported_at = situation.now;
    }
    return readiness;
}

std::vector<Care> care_at(const Situation& situation, std::size_t place, Instant arrival,
                          std::span<const std::size_t> needs) {
    const Instant too_late = situation.now + situation.settings->unmet_after;
    std::array<std::optional<Readiness>, triage::capability_count> known;
    std::vector<Care> all;
    for (const std::size_t need : needs) {
        std::optional<Care> best;
        const auto able = situation.need(need).any_of & situation.offers[place];
        for (const triage::Capability capability : able.members()) {
            auto& readiness = known.at(static_cast<std::size_t>(capability));
            if (!readiness) {
                readiness = readiness_for(situation, place, capability, arrival);
            }
            const bool counts =
                situation.counts_unconfirmed || readiness->state != ReadinessState::unconfirmed;
            if (!readiness->ready_at || !counts) {
                continue;
            }
            const Instant begins =
                care_begins(arrival, situation.settings->handover, *readiness->ready_at);
            if (begins < too_late && (!best || is_better(begins, *readiness, *best))) {
                best = Care{need, capability, begins, *readiness};
            }
        }
        if (best) {
            all.push_back(std::move(*best));
        }
    }
    return all;
}

std::optional<Instant> latest_arrival(const Situation& situation, std::size_t place,
                                      const Care& care, Instant deadline, Instant earliest) {
    const Seconds handover = situation.settings->handover;
    const auto is_in_time = [&](Instant arrival) {
        const Readiness readiness = readiness_for(situation, place, care.capability, arrival);
        return readiness.ready_at &&
               care_begins(arrival, handover, *readiness.ready_at) <= deadline;
    };
    Instant too_late = deadline - handover + 1s;
    if (too_late <= earliest || !is_in_time(earliest)) {
        return std::nullopt;
    }
    if (is_in_time(too_late - 1s)) {
        return too_late - 1s;
    }
    Instant in_time = earliest;
    while (too_late - in_time > 1s) {
        const Instant middle = in_time + (too_late - in_time) / 2;
        (is_in_time(middle) ? in_time : too_late) = middle;
    }
    return in_time;
}

}  // namespace waybourne::referral
