#include "server/json/report_inputs.hpp"

#include <array>

#include "journal/digest.hpp"
#include "server/json/internal/coverage_parts.hpp"
#include "server/upgrade_goal.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

namespace {

/// As a file of costs names them.
constexpr std::array choices{"free", "in", "out"};

void write_upgrades(JsonWriter& json, const UpgradeRequest& request) {
    json.key("upgrades").begin_object().member("objective", to_name(request.objective));
    if (request.limit.count) {
        json.member("count", *request.limit.count);
    }
    write_maybe(json, "budget", request.limit.budget);
    json.key("phases").begin_list();
    for (const double budget : request.phases) {
        json.value(budget, decimals);
    }
    json.end_list().member("years", request.years).member("robust", request.is_robust);
    json.key("costs").begin_list();
    for (const coverage::UpgradeCost& cost : request.costs) {
        json.begin_object().member("facility", cost.facility);
        json.key("cost").value(cost.capital, decimals);
        json.key("running_per_year").value(cost.running, decimals);
        json.member("choice", choices.at(static_cast<std::size_t>(cost.choice))).end_object();
    }
    json.end_list().end_object();
}

std::string fingerprint(const std::vector<coverage::MonthlyCount>& months) {
    JsonWriter json;
    json.begin_list();
    for (const coverage::MonthlyCount& row : months) {
        json.begin_object().member("facility", row.facility);
        json.member("month", coverage::to_text(row.month));
        const coverage::Counts& counts = row.counts;
        for (const auto& [name, value] :
             {std::pair("births", counts.births), std::pair("caesareans", counts.caesareans),
              std::pair("complications", counts.complications),
              std::pair("direct_deaths", counts.direct_deaths),
              std::pair("indirect_deaths", counts.indirect_deaths),
              std::pair("intrapartum_deaths", counts.intrapartum_deaths),
              std::pair("first_day_deaths", counts.first_day_deaths)}) {
            write_maybe(json, name, value);
        }
        json.end_object();
    }
    return sha256(json.end_list().take());
}

void write_indicators(JsonWriter& json, const CoverageReport& report) {
    const IndicatorAnswer& answer = report.indicators;
    json.key("indicators").begin_object().member("edition", answer.profile.id);
    json.member("first_month", coverage::to_text(answer.first));
    json.member("last_month", coverage::to_text(answer.last));
    write_maybe(json, "population", answer.counts.population);
    write_maybe(json, "births_per_1000", answer.counts.birth_rate);
    const std::vector<coverage::MonthlyCount> none;
    const auto& months = report.request.indicators ? report.request.indicators->months : none;
    json.member("monthly_counts", months.size());
    json.member("monthly_counts_sha256", fingerprint(months)).end_object();
}

}  // namespace

void write_report_inputs(JsonWriter& json, const CoverageReport& report) {
    write_upgrades(json, report.request.upgrades);
    json.key("what_ifs").begin_list();
    for (const coverage::Scenario& scenario : report.request.scenarios) {
        json.value(scenario.name);
    }
    json.end_list();
    write_indicators(json, report);
    if (report.journal_head) {
        json.key("journal").begin_object();
        json.member("entries", static_cast<std::int64_t>(report.journal_head->sequence));
        json.member("hash", journal::to_hex(report.journal_head->hash)).end_object();
    }
}

}  // namespace waybourne::server
