#include "server/upgrade_goal.hpp"

#include <algorithm>
#include <array>

namespace waybourne::server {

namespace {

using coverage::Choice;

double minutes_of(Seconds span) {
    return static_cast<double>(span.count()) / 60;
}

void set_options(const Snapshot& snapshot, const UpgradeRequest& request, AccessStudy& study,
                 std::vector<coverage::Option>& options) {
    for (const coverage::UpgradeCost& cost : request.costs) {
        coverage::Option& option = options[snapshot.facilities.position(cost.facility)];
        option.cost = cost.capital + cost.running * request.years;
        option.choice = cost.choice;
    }
    bool is_any_free = false;
    for (std::size_t place = 0; place < options.size(); ++place) {
        if (study.clock().offers(place, request.coverage.question.needed)) {
            options[place].choice = Choice::forced_out;
        }
        is_any_free = is_any_free || options[place].choice != Choice::forced_out;
    }
    if (!is_any_free) {
        throw InputError("every facility offers all of it already, or must not be raised");
    }
}

/// Until care begins: as it is where it is known to be ready, and at each facility if it were
/// raised. Typical times.
coverage::MinutesModel minutes_model(AccessStudy& study, const CoverageAnswer& before,
                                     const std::vector<double>& births) {
    coverage::MinutesModel model;
    model.births = births;
    for (const coverage::SettlementAccess& access : before.accesses) {
        model.now.push_back(access.care ? std::optional(minutes_of(access.care->typical))
                                        : std::nullopt);
    }
    const Seconds around = study.assumptions().preparation + study.assumptions().handover;
    for (std::size_t place = 0; place < study.clock().places(); ++place) {
        std::vector<std::optional<double>> with;
        for (std::size_t i = 0; i < births.size(); ++i) {
            const auto way = study.ways().at(i, place);
            with.push_back(way ? std::optional(minutes_of(way->typical + around)) : std::nullopt);
        }
        model.with.push_back(std::move(with));
    }
    return model;
}

coverage::RoomModel room_model(const UpgradeRequest& request, AccessStudy& study,
                               const CoverageAnswer& before, const std::vector<double>& births,
                               Seconds way) {
    const coverage::AccessQuestion& question = request.coverage.question;
    coverage::RoomModel model;
    model.births = births;
    for (std::size_t place = 0; place < study.clock().places(); ++place) {
        coverage::Room there{before.capacities[place], {}};
        coverage::Room with{before.capacities[place], {}};
        for (std::uint32_t i = 0; i < births.size(); ++i) {
            const coverage::CareTime care = study.clock().care(i, place, question.needed);
            const auto drive = study.ways().at(i, place);
            if (care.ready == coverage::Known::yes && care.begins &&
                care.begins->allow <= question.standard) {
                there.in_time.push_back(i);
            }
            if (drive && drive->allow <= way) {
                with.in_time.push_back(i);
            }
        }
        model.there.push_back(std::move(there));
        model.with.push_back(std::move(with));
    }
    return model;
}

std::vector<std::size_t> without_capacity(const CoverageAnswer& before) {
    std::vector<std::size_t> places;
    for (std::size_t place = 0; place < before.capacities.size(); ++place) {
        if (!before.capacities[place]) {
            places.push_back(place);
        }
    }
    return places;
}

}  // namespace

std::string_view to_name(UpgradeObjective objective) {
    static constexpr std::array<std::string_view, 4> names{"covering", "capacity", "median",
                                                           "centre"};
    return names.at(static_cast<std::size_t>(objective));
}

UpgradeGoal upgrade_goal(const Snapshot& snapshot, const UpgradeRequest& request,
                         AccessStudy& study) {
    const CoverageAnswer before = study.ask(request.coverage.question);
    std::vector<double> births;
    UpgradeGoal goal;
    goal.objective = request.objective;
    for (std::size_t i = 0; i < before.accesses.size(); ++i) {
        births.push_back(before.settlements[i].births_per_year);
        goal.is_in_time.push_back(before.accesses[i].access == coverage::AccessClass::in_time);
    }
    const coverage::CareAssumptions& assumed = study.assumptions();
    const Seconds way = request.coverage.question.standard - assumed.preparation - assumed.handover;
    goal.covering = coverage::covering(study.ways(), births, way, goal.is_in_time);
    set_options(snapshot, request, study, goal.options());
    switch (request.objective) {
        case UpgradeObjective::covering:
            break;
        case UpgradeObjective::capacity:
            goal.room = room_model(request, study, before, births, way);
            goal.with_room_now = coverage::births_with_room(goal.room, {});
            goal.without_capacity = without_capacity(before);
            break;
        case UpgradeObjective::median:
        case UpgradeObjective::centre:
            goal.minutes = minutes_model(study, before, births);
            goal.minutes.options = goal.options();
            break;
    }
    return goal;
}

double worth_of(const UpgradeGoal& goal, std::span<const std::uint32_t> facilities) {
    switch (goal.objective) {
        case UpgradeObjective::covering:
            break;
        case UpgradeObjective::capacity:
            return coverage::births_with_room(goal.room, facilities) - goal.with_room_now;
        case UpgradeObjective::median:
            return coverage::birth_minutes(goal.minutes, {}) -
                   coverage::birth_minutes(goal.minutes, facilities);
        case UpgradeObjective::centre:
            return coverage::greatest_minutes(goal.minutes, {}) -
                   coverage::greatest_minutes(goal.minutes, facilities);
    }
    return coverage::value_of(goal.covering, facilities);
}

coverage::Plan best_plan(const UpgradeGoal& goal, const coverage::Limit& limit, Seconds time,
                         const coverage::Work& work) {
    const auto saved = [](const coverage::MinutesPlan& plan, double before) {
        return coverage::Plan{plan.options, plan.cost, before - plan.minutes,
                              before - plan.at_least};
    };
    if (goal.objective == UpgradeObjective::covering) {
        return coverage::exact_plan(goal.covering, limit, time, 0, work);
    }
    if (goal.objective == UpgradeObjective::capacity) {
        coverage::RoomModel model = goal.room;
        model.options = goal.options();
        return coverage::room_plan(model, limit, time, work);
    }
    coverage::MinutesModel model = goal.minutes;
    model.options = goal.options();
    return goal.objective == UpgradeObjective::median
               ? saved(coverage::least_minutes(model, limit, time, work),
                       coverage::birth_minutes(model, {}))
               : saved(coverage::least_greatest_minutes(model, limit, time, work),
                       coverage::greatest_minutes(goal.minutes, {}));
}

}  // namespace waybourne::server
