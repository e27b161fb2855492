#include "coverage/upgrade_costs.hpp"

#include <doctest/doctest.h>

#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::coverage;

TEST_CASE("Costs are read with what runs on each year, and what must or must not be raised") {
    const auto costs = read_upgrade_costs(
        "facility,cost,running_per_year,choice\n"
        "a,100,20,in\n"
        "b,\"50\",,\n"
        "c,0,1.5,out\n");
    REQUIRE(costs.size() == 3);
    CHECK(costs[0] == UpgradeCost{FacilityId("a"), 100, 20, Choice::forced_in});
    CHECK(costs[1] == UpgradeCost{FacilityId("b"), 50, 0, Choice::free});
    CHECK(costs[2] == UpgradeCost{FacilityId("c"), 0, 1.5, Choice::forced_out});
}

TEST_CASE(
    "A cost that is none, a place twice and an unknown choice are named, each with its line") {
    try {
        read_upgrade_costs(
            "facility,cost,choice\n"
            "a,-1,\n"
            "b,much,\n"
            "c,1,maybe\n"
            "c,2,in\n"
            "d,,in\n");
        FAIL("bad costs were taken");
    } catch (const InputError& error) {
        REQUIRE(error.fields().size() == 5);
        CHECK(error.fields()[0].pointer == "line 2, column cost");
        CHECK(error.fields()[1].pointer == "line 3, column cost");
        CHECK(error.fields()[2].pointer == "line 4, column choice");
        CHECK(error.fields()[3].pointer == "line 5, column facility");
        CHECK(error.fields()[4].pointer == "line 6, column cost");
    }
    CHECK_THROWS_AS(read_upgrade_costs("facility\na\n"), InputError);
    CHECK_THROWS_AS(read_upgrade_costs("facility,cost,colour\na,1,blue\n"), InputError);
}
