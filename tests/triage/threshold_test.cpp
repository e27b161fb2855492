#include <doctest/doctest.h>

#include <cmath>

#include "tests/triage/support.hpp"

namespace waybourne::triage {
namespace {

TEST_CASE(
    "At each limit of the table a rule fires on the right side, one step below, at and above") {
    // Source: named in every row of the table.
    const auto rows = rows_of("thresholds");
    REQUIRE(rows.size() == 50);
    for (const auto& row : rows) {
        const std::string name = row["name"];
        CAPTURE(name);
        CHECK_FALSE(row["source"].get<std::string>().empty());
        const double limit = row["limit"];
        const double step = row["step"];
        const std::string field = row["field"];
        const std::string rule = row["rule"];
        const auto fires_with = [&](double value) {
            auto flat = row["others"];
            flat[field] = std::round(value * 10) / 10;
            return fires(assessed(findings_from(flat)), rule);
        };
        CHECK(fires_with(limit - step) == row["fires_below"].get<bool>());
        CHECK(fires_with(limit) == row["fires_at"].get<bool>());
        CHECK(fires_with(limit + step) == row["fires_above"].get<bool>());
    }
}

}  // namespace
}  // namespace waybourne::triage
