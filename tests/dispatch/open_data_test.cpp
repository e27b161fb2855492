#include <doctest/doctest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "dispatch/assignment.hpp"

// A published assignment with its known optimum: assign100 of the OR-Library (J.E. Beasley,
// European Journal of Operational Research 46, 1990, 409): 100 to 100, the least sum is 305. Not
// part of this project; licence: open (from memory).

namespace waybourne::dispatch {

TEST_CASE("A hundred women and a hundred vehicles: the published optimum, and proven to be it") {
    const char* const data = std::getenv("WAYBOURNE_DATA");
    const std::string path =
        std::string(data == nullptr ? "" : data) + "/planning/assign/assign100.txt";
    if (data == nullptr || !std::filesystem::exists(path)) {
        CHECK_MESSAGE(std::getenv("CI") == nullptr, "WAYBOURNE_DATA must be set where CI is");
        MESSAGE("not run: WAYBOURNE_DATA does not hold planning/assign/assign100.txt");
        return;
    }
    std::ifstream file(path);
    AssignmentProblem problem;
    file >> problem.women;
    REQUIRE(problem.women == 100);
    problem.vehicles = problem.women;
    for (std::size_t woman = 0; woman < problem.women; ++woman) {
        for (std::size_t vehicle = 0; vehicle < problem.vehicles; ++vehicle) {
            Cost cost = 0;
            file >> cost;
            REQUIRE(file.good());
            problem.options.push_back({{woman}, {vehicle}, cost});
        }
        problem.options.push_back({{woman}, {}, 1'000'000});  // dearer than all others together
    }
    const AssignmentPlan plan = assign(problem);
    CHECK(plan.cost == 305);
    CHECK(plan.is_optimal);
    CHECK(plan.chosen.size() == 100);
}

}  // namespace waybourne::dispatch
