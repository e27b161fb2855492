#include "server/coverage.hpp"

#include <array>

namespace waybourne::server {

namespace {

/// A proposal: nobody has measured how far off free-flow speeds are here; elsewhere they were off
/// by more than this (Banke-Thomas et al., BMJ Glob Health 6, 2021, e004318: Lagos).
constexpr std::array time_factors{0.8, 1.0, 1.25, 1.5};

const coverage::Scenario as_it_is{};

/// The settlements that are in both: a scenario only adds some at the end.
ScenarioAnswer compared(const CoverageAnswer& before, const std::string& name,
                        CoverageAnswer after) {
    ScenarioAnswer made{name, std::move(after), {}, {}};
    const std::size_t both = before.settlements.size();
    const auto accesses = std::span(made.after.accesses).first(both);
    made.lost = coverage::loss(before.settlements, before.accesses, accesses);
    made.gained = coverage::loss(before.settlements, accesses, before.accesses);
    return made;
}

}  // namespace

CoverageAnswer answer_coverage(const Snapshot& snapshot, const CoverageRequest& request,
                               Instant now, const coverage::Work& work) {
    return AccessStudy(snapshot, request, as_it_is, now, work).ask(request.question);
}

WhatIfAnswer answer_what_if(const Snapshot& snapshot, const WhatIfRequest& request, Instant now,
                            const coverage::Work& work) {
    WhatIfAnswer answer;
    answer.before = answer_coverage(snapshot, request.coverage, now, work);
    for (const coverage::Scenario& scenario : request.scenarios) {
        AccessStudy study(snapshot, request.coverage, scenario, now, work);
        answer.scenarios.push_back(
            compared(answer.before, scenario.name, study.ask(request.coverage.question)));
    }
    return answer;
}

std::vector<CareGroup> report_care(const coverage::IndicatorProfile& profile) {
    using enum triage::Capability;
    std::vector<CareGroup> care;
    for (const triage::Capability one : profile.comprehensive.members()) {
        care.push_back({std::string(triage::to_name(one)), {one}});
    }
    care.push_back({"basic", profile.basic});
    care.push_back({"comprehensive", profile.comprehensive});
    care.push_back(
        {"operative_delivery+blood_transfusion", {operative_delivery, blood_transfusion}});
    return care;
}

std::vector<ReportTime> report_times(const Snapshot& snapshot, Instant now) {
    constexpr Seconds day = 24h;
    const LocalTime local = snapshot.zone.local(now);
    const Seconds midnight = local.since_1970 - local.since_1970 % day;
    const auto at = [&](Seconds hour) { return snapshot.zone.earliest({midnight + hour}); };
    std::vector<ReportTime> times;
    for (const auto surface : {routing::Surface::dry, routing::Surface::wet}) {
        times.push_back({{surface, routing::Light::day}, at(12h)});
        times.push_back({{surface, routing::Light::night}, at(24h)});
    }
    return times;
}

OverviewAnswer answer_overview(const Snapshot& snapshot, const CoverageRequest& request,
                               const coverage::IndicatorProfile& profile, Instant now,
                               const coverage::Work& work) {
    OverviewAnswer answer;
    answer.care = report_care(profile);
    answer.times = report_times(snapshot, now);
    answer.totals.resize(answer.care.size() * answer.times.size());
    for (std::size_t column = 0; column < answer.times.size(); ++column) {
        CoverageRequest then = request;
        then.leave_at = answer.times[column].leave_at;
        then.road_conditions = answer.times[column].conditions;
        AccessStudy study(snapshot, then, as_it_is, now, work);
        for (std::size_t row = 0; row < answer.care.size(); ++row) {
            answer.totals[row * answer.times.size() + column] =
                study.total({answer.care[row].needed, request.question.standard});
        }
    }
    return answer;
}

LossesAnswer answer_losses(const Snapshot& snapshot, const CoverageRequest& request, Instant now,
                           const coverage::Work& work) {
    const auto times = report_times(snapshot, now);
    const auto accesses_at = [&](const ReportTime& time) {
        CoverageRequest then = request;
        then.leave_at = time.leave_at;
        then.road_conditions = time.conditions;
        return answer_coverage(snapshot, then, now, work);
    };
    LossesAnswer answer;
    answer.dry_noon = times.at(0);
    CoverageAnswer before = accesses_at(answer.dry_noon);
    for (const std::size_t then : {2U, 1U, 3U}) {
        const CoverageAnswer after = accesses_at(times.at(then));
        answer.losses.push_back(
            {times.at(then), coverage::loss(before.settlements, before.accesses, after.accesses)});
    }
    answer.settlements = std::move(before.settlements);
    return answer;
}

std::vector<SensitivityPoint> answer_sensitivity(const Snapshot& snapshot,
                                                 const CoverageRequest& request, Instant now,
                                                 const coverage::Work& work) {
    std::vector<SensitivityPoint> points;
    for (const double factor : time_factors) {
        AccessStudy study(snapshot, request, as_it_is, now, work, {.time_factor = factor});
        points.push_back({factor, study.total(request.question)});
    }
    return points;
}

}  // namespace waybourne::server
