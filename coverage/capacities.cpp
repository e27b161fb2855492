#include "coverage/capacities.hpp"

#include "coverage/internal/rows.hpp"

namespace waybourne::coverage {

namespace {

/// More than are born in any country (a slip of data entry, not a figure).
constexpr double most_births = 1e9;

const Columns capacity_columns{{"facility", "births_per_year"}, {"facility", "births_per_year"}};

}  // namespace

std::vector<Capacity> read_capacities(std::string_view csv) {
    std::vector<Row> rows = rows_of_csv(csv, capacity_columns);
    refuse_twice(rows, "facility");
    std::vector<Capacity> capacities;
    capacities.reserve(rows.size());
    for (Row& row : rows) {
        Capacity made{FacilityId(row.id("facility"))};
        row.needed_text("births_per_year");
        made.births_per_year = row.number("births_per_year", 0, most_births).value_or(0);
        capacities.push_back(std::move(made));
    }
    refuse_bad(rows);
    return capacities;
}

}  // namespace waybourne::coverage
