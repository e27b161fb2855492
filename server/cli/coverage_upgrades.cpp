#include <fmt/format.h>

#include <ostream>

#include "server/cli/coverage_shared.hpp"
#include "server/json/coverage.hpp"
#include "server/json/coverage_csv.hpp"
#include "server/upgrade_goal.hpp"

namespace waybourne::server {

namespace {

using Values = std::vector<std::pair<std::string, std::string>>;

/// Prints one answer, each part by the measure that was asked for.
class UpgradePrinter {
public:
    UpgradePrinter(const Asked& from, const UpgradeRequest& request, const UpgradeAnswer& answer,
                   std::ostream& out)
        : from_(from), words_(from.words()), request_(request), answer_(answer), out_(out) {}

    void print() {
        print_total(request_.coverage, answer_.before, words_, out_);
        print_plan();
        for (const Upgrade& upgrade : answer_.upgrades) {
            print_upgrade(upgrade);
        }
        if (answer_.minutes && !answer_.minutes->beyond_any_plan.empty()) {
            std::vector<std::string> names;
            names.reserve(answer_.minutes->beyond_any_plan.size());
            for (const std::size_t i : answer_.minutes->beyond_any_plan) {
                names.push_back(answer_.before.settlements[i].name);
            }
            line("beyond_any_plan", {{"names", joined(names)}}, "");
        }
        if (!answer_.without_capacity.empty()) {
            line("room_unknown", {{"names", names_of(answer_.without_capacity)}}, "");
        }
        for (std::size_t year = 0; year < answer_.phases.size(); ++year) {
            const UpgradePhase& phase = answer_.phases[year];
            line("phase", {{"year", std::to_string(year + 1)},
                           {"names", phase.facilities.empty() ? "-" : names_of(phase.facilities)},
                           {"births", number(phase.births_gained)}});
        }
        for (const BudgetPoint& point : answer_.curve) {
            print_point(point);
        }
    }

private:
    void line(const std::string& id, const Values& values, const char* indent = "  ") {
        out_ << indent << words_.text(Message{"server.coverage." + id, values}) << '\n';
    }
    std::string names_of(const std::vector<std::size_t>& facilities) const {
        std::vector<std::string> names;
        names.reserve(facilities.size());
        for (const std::size_t facility : facilities) {
            names.push_back(from_.snapshot->facilities.facilities()[facility].name);
        }
        return joined(names);
    }
    static std::string minutes(double value) { return fmt::format("{:.1f}", value); }
    /// Of the objective's measure, as minutes: of the median, over births.
    std::string minutes_of(double worth) const {
        const bool is_mean = request_.objective == UpgradeObjective::median;
        const double births = answer_.before.total.births;
        return minutes(is_mean && births > 0 ? worth / births : worth);
    }

    void print_plan() {
        const std::string cost = fmt::format("{:.10g}", answer_.plan.cost);
        if (answer_.minutes) {
            line("plan_" + std::string(to_name(request_.objective)),
                 {{"cost", cost},
                  {"before", minutes(answer_.minutes->before)},
                  {"after", minutes(answer_.minutes->after)},
                  {"bound", minutes(answer_.minutes->no_plan_has_less_than)}},
                 "");
        } else {
            const bool is_room = request_.objective == UpgradeObjective::capacity;
            line(is_room                    ? "plan_capacity"
                 : request_.is_robust       ? "plan_robust"
                 : answer_.plan.is_proven() ? "plan_proven"
                                            : "plan_within",
                 {{"births", number(answer_.plan.value)},
                  {"cost", cost},
                  {"bound", number(answer_.plan.bound)},
                  {"gap", percent(answer_.plan.gap())}},
                 "");
        }
        if (request_.objective != UpgradeObjective::covering) {
            line(answer_.plan.is_proven() ? "proven" : "gap_left",
                 {{"gap", percent(answer_.plan.gap())}}, "");
        }
    }

    void print_upgrade(const Upgrade& upgrade) {
        const std::string& name = from_.snapshot->facilities.facilities()[upgrade.facility].name;
        if (answer_.minutes) {
            line("upgrade_minutes",
                 {{"name", name}, {"minutes", minutes_of(upgrade.worth_only_by_it)}});
        } else if (request_.objective == UpgradeObjective::capacity) {
            line("upgrade_room", {{"name", name}, {"births", number(upgrade.worth_only_by_it)}});
        } else {
            line(upgrade.is_rank_sure() ? "upgrade" : "upgrade_unsure",
                 {{"name", name}, {"births", number(upgrade.births_only_by_it)}});
        }
    }

    void print_point(const BudgetPoint& point) {
        const std::string budget = fmt::format("{:.10g}", point.budget);
        if (answer_.minutes) {
            line("budget_minutes", {{"budget", budget}, {"minutes", minutes_of(point.worth)}});
        } else {
            const bool is_room = request_.objective == UpgradeObjective::capacity;
            line(is_room ? "budget_room" : "budget_point",
                 {{"budget", budget},
                  {"births", number(is_room ? point.worth : point.births_gained)}});
        }
    }

    const Asked& from_;
    Words words_;
    const UpgradeRequest& request_;
    const UpgradeAnswer& answer_;
    std::ostream& out_;
};

}  // namespace

int run_coverage_upgrades(const CoverageOptions& options, Terminal& terminal) {
    check_format(options);
    const UpgradeRequest request = upgrade_request_of(options, terminal);
    const Asked from = asked(options, terminal);
    const UpgradeAnswer answer = answer_upgrades(*from.snapshot, request, from.now, from.work);
    if (options.csv) {
        terminal.out << upgrades_csv(*from.snapshot, answer);
    } else if (options.geojson) {
        terminal.out << upgrades_geojson(*from.snapshot, answer) << '\n';
    } else if (options.common.json) {
        terminal.out << json_of(
            [&](JsonWriter& json) { write_upgrade_answer(json, *from.snapshot, request, answer); });
    } else {
        UpgradePrinter(from, request, answer, terminal.out).print();
    }
    return 0;
}

}  // namespace waybourne::server
