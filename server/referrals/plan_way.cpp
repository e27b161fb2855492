#include "server/referrals/plan_way.hpp"

#include <algorithm>

#include "server/ways.hpp"

namespace waybourne::server {

namespace {

const referral::Choice* choice_to(const referral::Recommendation& recommendation,
                                  const FacilityId& to) {
    const auto leads_there = [&](const referral::Choice& choice) {
        return !choice.stages.empty() && choice.stages.front().facility == to;
    };
    if (recommendation.chosen && leads_there(*recommendation.chosen)) {
        return &*recommendation.chosen;
    }
    const auto found = std::find_if(recommendation.alternatives.begin(),
                                    recommendation.alternatives.end(), leads_there);
    return found == recommendation.alternatives.end() ? nullptr : &*found;
}

MadeFrom made_from(const Snapshot& snapshot, const triage::Assessment& assessment) {
    return {snapshot.map_sha256,
            assessment.protocol.id,
            assessment.protocol.version,
            assessment.protocol.sha256,
            snapshot.facilities.facilities().size(),
            snapshot.report_count,
            snapshot.known};
}

void take_choice(PlannedWay& way, const triage::Assessment& assessment,
                 const referral::Choice& choice) {
    const referral::Stage& stage = choice.stages.front();
    const auto times = referral::watch_times(assessment, stage);
    way.travel_time = stage.travel_time;
    way.arrival = stage.arrival;
    way.leave_by = stage.leave_by;
    way.deadline = times.deadline;
    way.line = stage.route.line();
    if (choice.stages.size() > 1) {
        way.onward = choice.stages[1].facility;
    }
}

void take_route(PlannedWay& way, const Snapshot& snapshot, const RecommendationRequest& request,
                const Answer& answer, Instant now) {
    const Instant leaves = now + request.transport.ready_in.value_or(Seconds{0});
    RouteRequest asked;
    asked.from = request.from;
    asked.to = way.to;
    asked.means = request.transport.means;
    asked.leave_at = leaves;
    asked.road_conditions = request.road_conditions;
    way.deadline = answer.assessment.earliest_deadline;
    const RouteAnswer found = answer_route(snapshot, asked, now);
    if (!found.route) {
        return;
    }
    const routing::TravelTime& time = found.route->travel_time;
    way.travel_time = time;
    way.arrival = referral::Expected{leaves + time.typical, leaves + time.allow};
    way.line = found.route->line();
    if (way.deadline) {
        way.leave_by = *way.deadline - time.allow;
    }
}

}  // namespace

PlannedWay plan_way(const Snapshot& snapshot, const RecommendationRequest& request,
                    const Answer& answer, const FacilityId& to, Instant now) {
    PlannedWay way;
    way.to = to;
    way.means = request.transport.means;
    way.planned_at = now;
    way.made_from = made_from(snapshot, answer.assessment);
    if (const referral::Choice* choice = choice_to(answer.recommendation, to)) {
        take_choice(way, answer.assessment, *choice);
    } else {
        take_route(way, snapshot, request, answer, now);
    }
    return way;
}

PlannedWay way_of_transport(const Snapshot& snapshot, const triage::Assessment& assessment,
                            const dispatch::Way& transport, routing::Means means, Instant now) {
    const referral::Choice& choice = *transport.recommendation.chosen;
    PlannedWay way;
    way.to = choice.stages.front().facility;
    way.means = means;
    way.planned_at = now;
    way.made_from = made_from(snapshot, assessment);
    take_choice(way, assessment, choice);
    return way;
}

std::string note_to(const Snapshot& snapshot, const RecommendationRequest& request,
                    const Answer& answer, const PlannedWay& way, const std::string& code) {
    Answer told = answer;
    referral::Recommendation& recommendation = told.recommendation;
    const referral::Choice* choice = choice_to(answer.recommendation, way.to);
    const bool is_chosen = choice != nullptr && answer.recommendation.chosen &&
                           choice == &*answer.recommendation.chosen;
    if (!is_chosen) {
        referral::Choice asked;
        if (choice != nullptr) {
            asked = *choice;
        } else {
            // Chosen by somebody who knows more than we do: phone first.
            asked.stages.push_back({way.to,
                                    {},
                                    {},
                                    way.leave_by,
                                    way.arrival.value_or(referral::Expected{}),
                                    {},
                                    way.travel_time.value_or(routing::TravelTime{})});
            asked.is_unconfirmed = true;
        }
        std::erase_if(recommendation.alternatives, [&](const referral::Choice& other) {
            return !other.stages.empty() && other.stages.front().facility == way.to;
        });
        if (recommendation.chosen) {
            recommendation.alternatives.insert(recommendation.alternatives.begin(),
                                               *recommendation.chosen);
        }
        recommendation.chosen = std::move(asked);
    }
    return write_note(snapshot, request, told, code, way.planned_at, snapshot.catalogue);
}

}  // namespace waybourne::server
