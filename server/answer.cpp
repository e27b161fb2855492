#include "server/answer.hpp"

#include <algorithm>

#include "facilities/capable.hpp"
#include "referral/recommend.hpp"
#include "referral/referral_note.hpp"
#include "referral/situation.hpp"
#include "routing/careful_router.hpp"
#include "server/roads_ahead.hpp"
#include "server/ways.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// Times a little ahead count as now; later ones are refused.
triage::Findings with_times_checked(triage::Findings findings, Instant now) {
    std::vector<FieldError> errors;
    const auto check = [&](Instant& instant, const std::string& pointer) {
        if (instant > now + clock_tolerance) {
            errors.push_back(
                {pointer, to_rfc3339(instant) + " is in the future; it is now " + to_rfc3339(now)});
        }
        instant = std::min(instant, now);
    };
    if (findings.at) {
        check(*findings.at, "#/at");
    }
    for (std::size_t i = 0; i < findings.readings.size(); ++i) {
        check(findings.readings[i].taken_at, "#/readings/" + std::to_string(i) + "/taken_at");
    }
    if (!errors.empty()) {
        throw InputError("a time lies in the future", errors);
    }
    return findings;
}

void check_calls(const Snapshot& snapshot, const RecommendationRequest& request) {
    for (const auto& [facility, answer] : request.calls) {
        snapshot.facilities.facility(facility);  // throws for an unknown one
    }
}

/// All but where she is.
referral::Start start_of(const RecommendationRequest& request) {
    referral::Start start;
    if (const auto* facility = std::get_if<FacilityId>(&request.from)) {
        start.at_facility = *facility;
    }
    start.means = request.transport.means;
    start.ready_in = request.transport.ready_in;
    start.can_phone = request.can_phone;
    start.calls = request.calls;
    return start;
}

/// Whether the chosen plan begins by day and does not arrive before dusk.
bool gets_dark_on_the_way(const RoadsAhead& ahead, const referral::Recommendation& answer,
                          Instant leaves) {
    return answer.chosen && ahead.conditions(leaves).light == routing::Light::day &&
           ahead.conditions(leaves, answer.chosen->stages.back().arrival.allow - 1s).light ==
               routing::Light::night;
}

referral::NoteHeader note_header(const Snapshot& snapshot, const RecommendationRequest& request,
                                 const std::string& code, Instant now) {
    referral::NoteHeader header;
    header.code = code;
    header.written_at = now;
    header.utc_offset = snapshot.zone.period_at(now).offset;
    if (const auto* id = std::get_if<FacilityId>(&request.from)) {
        const facilities::Facility& facility = snapshot.facilities.facility(*id);
        header.sending_site = facility.name;
        header.sending_phone = facility.phones.empty() ? "" : facility.phones.front();
    }
    return header;
}

}  // namespace

triage::Assessment answer_assessment(const Snapshot& snapshot, const triage::Findings& findings,
                                     Instant now) {
    return triage::assess(snapshot.protocol, with_times_checked(findings, now), now);
}

Answer answer_recommendation(const Snapshot& snapshot, const RecommendationRequest& request,
                             Instant now, const Catalogue& note_words) {
    check_calls(snapshot, request);
    const triage::Findings findings = with_times_checked(request.findings, now);
    Answer answer;
    answer.assessment = triage::assess(snapshot.protocol, findings, now);
    const RoadsAhead ahead(snapshot, *snapshot.roads, request.transport.means,
                           request.road_conditions);
    routing::CarefulRouter router(ahead);
    referral::Start start = start_of(request);
    const Instant leaves =
        now + referral::departure_delay(answer.assessment, start, snapshot.settings);
    const Roads::State roads = ahead.state(leaves);
    start.from = snap_of(snapshot, roads, request.from, "#/from");
    answer.recommendation =
        referral::recommend(answer.assessment, snapshot.facilities, roads.facility_snaps(), router,
                            start, snapshot.settings, now);
    if (gets_dark_on_the_way(ahead, answer.recommendation, leaves)) {
        answer.recommendation.remarks.push_back({"referral.dark_on_the_way"});
    }
    answer.referral_note = write_note(snapshot, request, answer, "", now, note_words);
    return answer;
}

std::string write_note(const Snapshot& snapshot, const RecommendationRequest& request,
                       const Answer& answer, const std::string& code, Instant now,
                       const Catalogue& words) {
    return referral::referral_note(note_header(snapshot, request, code, now),
                                   with_times_checked(request.findings, now), answer.assessment,
                                   answer.recommendation, snapshot.facilities, words);
}

std::vector<PlaceAnswer> answer_places(const Snapshot& snapshot, const PlacesRequest& request,
                                       Instant now) {
    const RoadsAhead ahead(snapshot, *snapshot.roads, request.means, request.road_conditions);
    const Roads::State roads = ahead.state(now);
    const routing::Snap from = snap_of(snapshot, roads, request.from, "#/from");
    std::vector<routing::Snap> targets;
    for (const auto& snap : roads.facility_snaps()) {
        targets.push_back(snap.value_or(routing::Snap{}));
    }
    const auto times = routing::CarefulRouter(ahead).travel_times({from, now}, targets,
                                                                  snapshot.settings.search_limit);
    std::vector<PlaceAnswer> places;
    for (std::size_t i = 0; i < times.size(); ++i) {
        const facilities::Facility& facility = snapshot.facilities.facilities()[i];
        const Instant arrival = times[i] ? now + times[i]->allow : now;
        places.push_back({facility.id, times[i],
                          facilities::readiness(snapshot.facilities, facility.id,
                                                request.capability, arrival, now, now)});
    }
    std::stable_sort(places.begin(), places.end(), [](const auto& a, const auto& b) {
        return a.travel_time && (!b.travel_time || a.travel_time->typical < b.travel_time->typical);
    });
    return places;
}

std::vector<facilities::Readiness> answer_readiness(const Snapshot& snapshot,
                                                    const FacilityId& facility, Instant now) {
    std::vector<facilities::Readiness> all;
    for (const facilities::Service& service : snapshot.facilities.facility(facility).services) {
        all.push_back(
            facilities::readiness(snapshot.facilities, facility, service.capability, now, now));
    }
    return all;
}

}  // namespace waybourne::server
