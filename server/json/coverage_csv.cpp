#include "server/json/coverage_csv.hpp"

#include <fmt/format.h>

#include "server/json/coverage.hpp"
#include "server/json/internal/coverage_parts.hpp"

namespace waybourne::server {

std::string journeys_csv(const JourneysAnswer& answer) {
    std::vector<std::string> lines;
    const auto seconds = [](const std::optional<Seconds>& span) {
        return span ? std::to_string(span->count()) : std::string();
    };
    for (const DelayGroup& group : answer.groups) {
        for (const auto& [name, spread] : group.delays) {
            lines.push_back(fmt::format("{},{},{},{},{}", csv_value(group.name), name, spread.count,
                                        seconds(spread.median), seconds(spread.ninetieth)));
        }
    }
    return table("group,delay,recorded,median_s,ninetieth_s", lines,
                 [](const std::string& line) { return line; });
}

std::string settlements_csv(const CoverageAnswer& answer) {
    std::string text =
        "id,name,births_per_year,access,facility,care_allow_s,way_typical_s,way_allow_s\n";
    const auto seconds = [](const std::optional<routing::TravelTime>& time, bool is_allow) {
        return time ? std::to_string((is_allow ? time->allow : time->typical).count())
                    : std::string();
    };
    for (std::size_t i = 0; i < answer.settlements.size(); ++i) {
        const auto& settlement = answer.settlements[i];
        const auto& access = answer.accesses[i];
        text += fmt::format(
            "{},{},{},{},{},{},{},{}\n", settlement.id.value(), csv_value(settlement.name),
            figure(settlement.births_per_year), coverage::to_name(access.access),
            facility_at(answer.facilities, access.place), seconds(access.care, true),
            seconds(access.way, false), seconds(access.way, true));
    }
    return text;
}

std::string links_csv(const LinksAnswer& answer) {
    return table(
        "road,road_id,road_class,bridge,ford,ferry,length_m,births_lost,births_cut_off,"
        "birth_minutes_added",
        answer.links, [](const LinkFailure& link) {
            return fmt::format("{},{},{},{},{},{},{:.0f},{},{},{:.0f}", csv_value(link.road),
                               link.road_id.value, link.road_class, link.is_bridge, link.is_ford,
                               link.is_ferry, link.length.value(), figure(link.failure.births_lost),
                               figure(link.failure.births_cut_off),
                               link.failure.birth_minutes_added);
        });
}

std::string losses_csv(const LossesAnswer& answer) {
    std::vector<std::string> lines;
    for (const SeasonLoss& one : answer.losses) {
        for (const std::size_t i : one.loss.lost) {
            const coverage::Settlement& settlement = answer.settlements[i];
            lines.push_back(fmt::format("{},{},{},{}", to_name(one.then.conditions),
                                        settlement.id.value(), csv_value(settlement.name),
                                        figure(settlement.births_per_year)));
        }
    }
    return table("when,id,name,births_per_year", lines,
                 [](const std::string& text) { return text; });
}

std::string overview_csv(const OverviewAnswer& answer) {
    std::vector<std::string> lines;
    for (std::size_t row = 0; row < answer.care.size(); ++row) {
        for (std::size_t column = 0; column < answer.times.size(); ++column) {
            const coverage::AccessTotal& total = answer.at(row, column);
            lines.push_back(fmt::format(
                "{},{},{},{},{}", answer.care[row].name, to_name(answer.times[column].conditions),
                figure(total.births), figure(total.in_time), figure(total.unknown)));
        }
    }
    return table("care,when,births_per_year,in_time,unknown", lines,
                 [](const std::string& text) { return text; });
}

std::string upgrades_csv(const Snapshot& snapshot, const UpgradeAnswer& answer) {
    return table("facility,name,cost,births_lost_without_it,worth_lost_without_it,rank_is_sure",
                 answer.upgrades, [&](const Upgrade& upgrade) {
                     const auto& facility = snapshot.facilities.facilities()[upgrade.facility];
                     return fmt::format("{},{},{},{},{},{}", facility.id.value(),
                                        csv_value(facility.name), figure(upgrade.cost),
                                        figure(upgrade.births_only_by_it),
                                        figure(upgrade.worth_only_by_it), upgrade.is_rank_sure());
                 });
}

std::string what_if_csv(const WhatIfAnswer& answer) {
    const auto line = [](const std::string& name, const coverage::AccessTotal& total) {
        return fmt::format("{},{},{},{},{},{},{}", csv_value(name), figure(total.births),
                           figure(total.in_time), figure(total.beyond), figure(total.no_route),
                           figure(total.unknown), figure(total.way_in_time));
    };
    std::vector<std::string> lines{line("now", answer.before.total)};
    for (const ScenarioAnswer& scenario : answer.scenarios) {
        lines.push_back(line(scenario.name, scenario.after.total));
    }
    return table("scenario,births_per_year,in_time,beyond,no_route,unknown,way_in_time", lines,
                 [](const std::string& text) { return text; });
}

std::string indicators_csv(const IndicatorAnswer& answer) {
    std::vector<std::string> lines;
    const auto add = [&](const char* from, const std::vector<coverage::Indicator>& indicators) {
        for (const coverage::Indicator& one : indicators) {
            std::string missing;
            for (const std::string& name : one.missing) {
                missing += (missing.empty() ? "" : " ") + name;
            }
            const char* const judged = !one.is_acceptable ? "" : *one.is_acceptable ? "yes" : "no";
            lines.push_back(fmt::format("{},{},{},{},{},{},{}", from, coverage::to_name(one.kind),
                                        figure(one.numerator), figure(one.denominator),
                                        figure(one.value), judged, csv_value(missing)));
        }
    };
    add("facilities", answer.indicators);
    if (answer.journal) {
        add("referrals", answer.journal->indicators);
    }
    return table("counted_by,indicator,numerator,denominator,value,acceptable,missing", lines,
                 [](const std::string& line) { return line; });
}

}  // namespace waybourne::server
