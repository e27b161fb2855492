#include <doctest/doctest.h>

#include <set>

#include "tests/triage/support.hpp"

namespace waybourne::triage {
namespace {

/// Needs in one form on both sides: "iv_fluids!" or "a/b", sorted.
std::set<std::string> in_words(const std::vector<Need>& needs) {
    std::set<std::string> all;
    for (const Need& need : needs) {
        std::set<std::string> names;
        for (const Capability capability : need.any_of.members()) {
            names.emplace(to_name(capability));
        }
        std::string words;
        for (const std::string& name : names) {
            words += (words.empty() ? "" : "/") + name;
        }
        all.insert(words + (need.critical ? "!" : ""));
    }
    return all;
}

std::set<std::string> in_words(const nlohmann::json& needs) {
    std::set<std::string> all;
    for (const auto& need : needs) {
        std::string words;
        for (const auto& name : need["any_of"]) {
            words += (words.empty() ? "" : "/") + name.get<std::string>();
        }
        all.insert(words + (need["critical"] == true ? "!" : ""));
    }
    return all;
}

TEST_CASE("Each of the seventy worked cases gets the rules, needs, time and questions it should") {
    // Source: the table itself names one for every row.
    const auto rows = rows_of("worked_cases");
    REQUIRE(rows.size() == 70);
    for (const auto& row : rows) {
        const std::string name = row["name"];
        CAPTURE(name);
        CHECK_FALSE(row["source"].get<std::string>().empty());
        const Assessment assessment = assessed(findings_from(row["findings"]), Questions::work_out);
        CHECK(std::set<std::string>(assessment.fired.begin(), assessment.fired.end()) ==
              row["rules"].get<std::set<std::string>>());
        CHECK(in_words(assessment.needs) == in_words(row["needs"]));
        CHECK(minutes(assessment.within) ==
              (row["within_minutes"].is_null() ? -1 : row["within_minutes"].get<long>()));
        CHECK(assessment.leave_now == row["leave_now"].get<bool>());
        CHECK(assessment.asked == row["ask"].get<std::vector<std::string>>());
        std::vector<std::string> refused;
        for (const Refused& value : assessment.refused) {
            refused.push_back(value.field);
        }
        CHECK(refused == row["refused"].get<std::vector<std::string>>());
    }
}

}  // namespace
}  // namespace waybourne::triage
