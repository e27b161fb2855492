#include "server/json/coverage_request.hpp"

#include <algorithm>
#include <array>

#include "facilities/opening_hours.hpp"
#include "server/json/object_reader.hpp"
#include "server/json/point.hpp"
#include "server/json/request.hpp"
#include "server/json/road_change.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;

// Far beyond one district (ours, no source).
constexpr std::size_t most_capacities = 2000;
constexpr std::size_t most_costs = 2000;
constexpr std::size_t most_phases = 20;
constexpr std::size_t most_zones = 20;
constexpr std::size_t most_scenarios = 10;
constexpr std::size_t most_changes = 50;
constexpr std::size_t most_months = 20'000;
constexpr std::size_t longest_name = 80;
constexpr double most_money = 1e15;
constexpr double most_people = 1e9;
constexpr double most_of_a_month = 100'000;
constexpr Seconds longest_mobilisation = 24h;

std::string item(ObjectReader& body, const std::string& list, std::size_t i) {
    return body.pointer_to(list) + "/" + std::to_string(i);
}

FacilityId read_facility(ObjectReader& reader) {
    reader.require("facility");
    return FacilityId{reader.text("facility").value_or("")};
}

std::vector<coverage::Capacity> read_capacities(ObjectReader& body, Errors& errors) {
    std::vector<coverage::Capacity> capacities;
    const auto* const given = body.list("capacities", most_capacities);
    for (std::size_t i = 0; given != nullptr && i < given->size(); ++i) {
        ObjectReader reader{(*given)[i], item(body, "capacities", i), errors};
        coverage::Capacity one{read_facility(reader)};
        reader.require("births_per_year");
        one.births_per_year = reader.number("births_per_year", {0, most_people}).value_or(0);
        const bool is_twice =
            std::any_of(capacities.begin(), capacities.end(),
                        [&](const auto& other) { return other.facility == one.facility; });
        if (is_twice) {
            reader.refuse("facility", "stands twice");
        }
        reader.finish();
        capacities.push_back(std::move(one));
    }
    return capacities;
}

CoverageRequest read_coverage(ObjectReader& body, Errors& errors) {
    static const std::array<std::string, 3> readiness{"as_registered", "by_hour", "as_reported"};
    static const std::array<std::string, 3> transport{"at_hand", "on_foot", "sent"};
    constexpr double minutes_of_a_day = 24 * 60;
    constexpr double highest_birth_rate = 100;
    CoverageRequest request;
    body.require("needs");
    request.question.needed = parse_capabilities(body, "needs", errors);
    if (request.question.needed.empty() && errors.empty()) {
        body.refuse("needs", "names no capability");
    }
    if (const auto minutes = body.whole_number("within_minutes", {0, minutes_of_a_day})) {
        request.question.standard = std::chrono::minutes{*minutes};
    }
    request.readiness =
        static_cast<coverage::ReadinessAssumption>(body.choice("readiness", readiness).value_or(0));
    request.transport =
        static_cast<coverage::Transport>(body.choice("transport", transport).value_or(0));
    request.means = read_means(body);
    request.leave_at = body.instant("leave_at");
    request.road_conditions = parse_conditions(body, errors);
    request.births_per_1000 = body.number("births_per_1000", {0, highest_birth_rate});
    request.capacities = read_capacities(body, errors);
    return request;
}

coverage::UpgradeCost read_cost(const JsonValue& value, const std::string& pointer,
                                Errors& errors) {
    ObjectReader reader{value, pointer, errors};
    coverage::UpgradeCost cost;
    reader.require("facility");
    reader.require("cost");
    cost.facility = FacilityId{reader.text("facility").value_or("")};
    cost.capital = reader.number("cost", {0, most_money}).value_or(0);
    cost.running = reader.number("running_per_year", {0, most_money}).value_or(0);
    const std::string choice = reader.text("choice").value_or("free");
    const auto found = coverage::find_choice(choice);
    if (!found) {
        reader.refuse("choice", "is one of free, in, out");
    }
    cost.choice = found.value_or(coverage::Choice::free);
    reader.finish();
    return cost;
}

GeoPoint read_point(ObjectReader& body, const std::string& name, Errors& errors) {
    body.require(name);
    const JsonValue* const value = body.take(name);
    if (value == nullptr) {
        return {Latitude{0}, Longitude{0}};
    }
    ObjectReader reader{*value, body.pointer_to(name), errors};
    const GeoPoint point = read_point(reader);
    reader.finish();
    return point;
}

triage::CapabilitySet read_some_capabilities(ObjectReader& reader, Errors& errors) {
    reader.require("capabilities");
    const std::size_t before = errors.size();
    const auto set = parse_capabilities(reader, "capabilities", errors);
    if (set.empty() && errors.size() == before) {
        reader.refuse("capabilities", "names no capability");
    }
    return set;
}

facilities::OpeningHours read_hours(ObjectReader& reader) {
    reader.require("hours");
    const auto text = reader.text("hours");
    try {
        return text ? facilities::parse_opening_hours(*text) : facilities::OpeningHours{};
    } catch (const InputError& error) {
        reader.refuse("hours", error.what());
        return {};
    }
}

std::string read_name(ObjectReader& reader, const std::string& otherwise) {
    std::string name = reader.text("name").value_or(otherwise);
    if (name.empty() || name.size() > longest_name) {
        reader.refuse("name", "must have 1 to 80 bytes");
    }
    return name;
}

/// @param number counts the changes of the scenario, from 1
coverage::Change read_change(const JsonValue& value, const std::string& pointer, std::size_t number,
                             Errors& errors) {
    static const std::array<std::string, 9> kinds{"service",      "hours",        "facility",
                                                  "waiting_home", "vehicle_post", "new_bridge",
                                                  "bridged",      "paved",        "closed"};
    ObjectReader reader{value, pointer, errors};
    reader.require("kind");
    const auto kind = reader.choice("kind", kinds);
    if (!kind) {
        return coverage::ClosedRoad{};
    }
    const auto read = [&]() -> coverage::Change {
        switch (*kind) {
            case 0:
                return coverage::AddedService{read_facility(reader),
                                              read_some_capabilities(reader, errors)};
            case 1:
                return coverage::ExtendedHours{read_facility(reader),
                                               parse_capabilities(reader, "capabilities", errors),
                                               read_hours(reader)};
            case 2: {
                const std::string name =
                    read_name(reader, "Planned facility " + std::to_string(number));
                return coverage::AddedFacility{FacilityId{"planned-" + std::to_string(number)},
                                               name, read_point(reader),
                                               read_some_capabilities(reader, errors)};
            }
            case 3:
                reader.require("births_per_year");
                return coverage::WaitingHome{
                    read_facility(reader),
                    reader.number("births_per_year", {0, most_people}).value_or(0)};
            case 4: {
                constexpr double minutes = 60;
                const std::string name =
                    read_name(reader, "Planned post " + std::to_string(number));
                const GeoPoint point = read_point(reader);
                const routing::Means means = read_means(reader);
                reader.require("mobilisation_minutes");
                const auto call = reader.whole_number(
                    "mobilisation_minutes",
                    {0, static_cast<double>(longest_mobilisation.count()) / minutes});
                return coverage::VehiclePost{name, point, means,
                                             std::chrono::minutes{call.value_or(0)}};
            }
            case 5:
                reader.require("speed_kmh");
                return coverage::NewBridge{read_point(reader, "from", errors),
                                           read_point(reader, "to", errors),
                                           reader.number("speed_kmh", {1, 140}).value_or(1)};
            default:
                break;
        }
        reader.require("where");
        const routing::Where where = parse_where(reader, "where", errors);
        if (*kind == 6) {
            return coverage::BridgedRoad{where};
        }
        return *kind == 7 ? coverage::Change{coverage::PavedRoad{where}}
                          : coverage::Change{coverage::ClosedRoad{where}};
    };
    coverage::Change change = read();
    reader.finish();
    return change;
}

coverage::Scenario read_scenario(const JsonValue& value, const std::string& pointer,
                                 Errors& errors) {
    ObjectReader reader{value, pointer, errors};
    coverage::Scenario scenario;
    reader.require("name");
    scenario.name = read_name(reader, "-");
    reader.require("changes");
    const auto* const changes = reader.list("changes", most_changes);
    for (std::size_t i = 0; changes != nullptr && i < changes->size(); ++i) {
        scenario.changes.push_back(
            read_change((*changes)[i], item(reader, "changes", i), i + 1, errors));
    }
    if (changes != nullptr && changes->empty()) {
        reader.refuse("changes", "is empty: a scenario changes something");
    }
    reader.finish();
    return scenario;
}

std::vector<coverage::Scenario> read_scenarios(ObjectReader& body, Errors& errors) {
    std::vector<coverage::Scenario> all;
    const auto* const scenarios = body.list("scenarios", most_scenarios);
    for (std::size_t i = 0; scenarios != nullptr && i < scenarios->size(); ++i) {
        all.push_back(read_scenario((*scenarios)[i], item(body, "scenarios", i), errors));
    }
    return all;
}

coverage::Month read_month_of(ObjectReader& reader, const std::string& name) {
    reader.require(name);
    const auto text = reader.text(name);
    const auto month = text ? coverage::find_month(*text) : std::nullopt;
    if (text && !month) {
        reader.refuse(name, "is not a month such as 2026-03");
    }
    return month.value_or(coverage::Month{});
}

coverage::MonthlyCount read_month(const JsonValue& value, const std::string& pointer,
                                  Errors& errors) {
    ObjectReader reader{value, pointer, errors};
    coverage::MonthlyCount row;
    row.facility = read_facility(reader);
    row.month = read_month_of(reader, "month");
    const auto count = [&](const char* name, std::optional<double>& counted) {
        counted = reader.number(name, {0, most_of_a_month});
    };
    count("births", row.counts.births);
    count("caesareans", row.counts.caesareans);
    count("complications", row.counts.complications);
    count("direct_deaths", row.counts.direct_deaths);
    count("indirect_deaths", row.counts.indirect_deaths);
    count("intrapartum_deaths", row.counts.intrapartum_deaths);
    count("first_day_deaths", row.counts.first_day_deaths);
    reader.finish();
    return row;
}

IndicatorRequest read_indicators(ObjectReader& body, Errors& errors) {
    constexpr double highest_birth_rate = 100;
    IndicatorRequest request;
    const auto* const months = body.list("months", most_months);
    for (std::size_t i = 0; months != nullptr && i < months->size(); ++i) {
        request.months.push_back(read_month((*months)[i], item(body, "months", i), errors));
    }
    request.last = read_month_of(body, "last_month");
    request.population = body.number("population", {0, most_people});
    request.births_per_1000 = body.number("births_per_1000", {0, highest_birth_rate});
    request.functioning = body.number("functioning", {0, most_people});
    request.functioning_comprehensive = body.number("functioning_comprehensive", {0, most_people});
    request.from_journal = body.boolean("from_journal").value_or(false);
    return request;
}

coverage::Zone read_zone(const JsonValue& value, const std::string& pointer, Errors& errors) {
    constexpr double minutes_of_a_day = 24 * 60;
    ObjectReader reader{value, pointer, errors};
    reader.require("until_minutes");
    reader.require("weight");
    const auto until = reader.whole_number("until_minutes", {0, minutes_of_a_day});
    const coverage::Zone zone{std::chrono::minutes{until.value_or(0)},
                              reader.number("weight", {0, 1}).value_or(0)};
    reader.finish();
    return zone;
}

CompetitionRequest read_competition(ObjectReader& body, Errors& errors) {
    static const std::array<std::string, 2> catchments{"two_step", "three_step"};
    CompetitionRequest request;
    request.coverage = read_coverage(body, errors);
    request.catchment =
        static_cast<coverage::Catchment>(body.choice("catchment", catchments).value_or(0));
    if (const auto* const zones = body.list("zones", most_zones)) {
        request.zones.clear();
        for (std::size_t i = 0; i < zones->size(); ++i) {
            request.zones.push_back(read_zone((*zones)[i], item(body, "zones", i), errors));
        }
        if (zones->empty()) {
            body.refuse("zones", "is empty: nobody would reach anything");
        }
    }
    return request;
}

UpgradeRequest read_upgrades(ObjectReader& body, Errors& errors) {
    constexpr double most_count = 10'000;
    constexpr double most_years = 50;
    static const std::array<std::string, 4> objectives{"covering", "capacity", "median", "centre"};
    UpgradeRequest request;
    request.coverage = read_coverage(body, errors);
    request.objective =
        static_cast<UpgradeObjective>(body.choice("objective", objectives).value_or(0));
    if (const auto count = body.whole_number("count", {0, most_count})) {
        request.limit.count = static_cast<std::size_t>(*count);
    }
    request.limit.budget = body.number("budget", {0, most_money});
    const auto* const costs = body.list("costs", most_costs);
    for (std::size_t i = 0; costs != nullptr && i < costs->size(); ++i) {
        request.costs.push_back(read_cost((*costs)[i], item(body, "costs", i), errors));
    }
    request.years = body.whole_number("years", {1, most_years}).value_or(1);
    const auto* const phases = body.list("phases", most_phases);
    for (std::size_t i = 0; phases != nullptr && i < phases->size(); ++i) {
        const JsonValue& budget = (*phases)[i];
        if (budget.kind() != JsonKind::number || !(budget.number() > 0) ||
            budget.number() > most_money) {
            errors.push_back({item(body, "phases", i), "is not a budget above 0"});
        } else {
            request.phases.push_back(budget.number());
        }
    }
    request.is_robust = body.boolean("robust").value_or(false);
    const int ways =
        (request.limit.count || request.limit.budget ? 1 : 0) + (request.phases.empty() ? 0 : 1);
    if (ways != 1 && errors.empty()) {
        body.refuse("budget", "give a count, a budget or both; or phases, and neither");
    }
    if (request.is_robust && !request.phases.empty()) {
        body.refuse("robust", "does not go together with phases");
    }
    if (request.is_robust && request.objective != UpgradeObjective::covering) {
        body.refuse("robust", "goes together with the objective covering only");
    }
    return request;
}

}  // namespace

CoverageRequest parse_coverage_request(std::string_view json) {
    return parse_body(json, read_coverage);
}

CompetitionRequest parse_competition_request(std::string_view json) {
    return parse_body(json, read_competition);
}

UpgradeRequest parse_upgrade_request(std::string_view json) {
    return parse_body(json, read_upgrades);
}

ReportRequest parse_report_request(std::string_view json) {
    return parse_body(json, [](ObjectReader& body, Errors& errors) {
        ReportRequest request;
        request.upgrades = read_upgrades(body, errors);
        request.scenarios = read_scenarios(body, errors);
        if (const JsonValue* const given = body.take("indicators")) {
            ObjectReader reader{*given, body.pointer_to("indicators"), errors};
            request.indicators = read_indicators(reader, errors);
            reader.finish();
        }
        return request;
    });
}

WhatIfRequest parse_what_if_request(std::string_view json) {
    return parse_body(json, [](ObjectReader& body, Errors& errors) {
        WhatIfRequest request;
        request.coverage = read_coverage(body, errors);
        body.require("scenarios");
        request.scenarios = read_scenarios(body, errors);
        return request;
    });
}

IndicatorRequest parse_indicator_request(std::string_view json) {
    return parse_body(json, read_indicators);
}

}  // namespace waybourne::server
