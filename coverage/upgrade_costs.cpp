#include "coverage/upgrade_costs.hpp"

#include <algorithm>
#include <array>

#include "coverage/internal/rows.hpp"

namespace waybourne::coverage {

namespace {

/// More than any district spends (a slip of data entry, not a figure).
constexpr double most_money = 1e15;

const Columns cost_columns{{"facility", "cost", "running_per_year", "choice"},
                           {"facility", "cost"}};

UpgradeCost cost_of(Row& row) {
    UpgradeCost made;
    made.facility = FacilityId(row.id("facility"));
    row.needed_text("cost");
    made.capital = row.number("cost", 0, most_money).value_or(0);
    made.running = row.number("running_per_year", 0, most_money).value_or(0);
    const std::string choice = row.text("choice");
    const auto found = choice.empty() ? std::optional(Choice::free) : find_choice(choice);
    if (!found) {
        row.note("choice", "is one of free, in, out");
    }
    made.choice = found.value_or(Choice::free);
    return made;
}

}  // namespace

std::optional<Choice> find_choice(std::string_view name) {
    constexpr std::array<std::string_view, 3> names{"free", "in", "out"};
    const auto* const found = std::find(names.begin(), names.end(), name);
    return found == names.end() ? std::nullopt
                                : std::optional(static_cast<Choice>(found - names.begin()));
}

std::vector<UpgradeCost> read_upgrade_costs(std::string_view csv) {
    std::vector<Row> rows = rows_of_csv(csv, cost_columns);
    refuse_twice(rows, "facility");
    std::vector<UpgradeCost> costs;
    costs.reserve(rows.size());
    for (Row& row : rows) {
        costs.push_back(cost_of(row));
    }
    refuse_bad(rows);
    return costs;
}

}  // namespace waybourne::coverage
