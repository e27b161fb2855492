#include "coverage/capacities.hpp"

#include <doctest/doctest.h>

#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::coverage;

TEST_CASE("Room for births is read by place; no room is a number, too") {
    const auto capacities = read_capacities("facility,births_per_year\nh-1,400\nh-2,0\n");
    REQUIRE(capacities.size() == 2);
    CHECK(capacities[0] == Capacity{FacilityId{"h-1"}, 400});
    CHECK(capacities[1] == Capacity{FacilityId{"h-2"}, 0});
}

TEST_CASE("Every bad row is named, and nothing is read") {
    try {
        read_capacities("facility,births_per_year\nh-1,-1\nh-2,many\nh-3,\nh-4,1\nh-4,2\n");
        FAIL("was taken");
    } catch (const InputError& error) {
        CHECK(error.fields().size() == 4);
        CHECK(error.fields().at(0).pointer.find("line 2") != std::string::npos);
    }
    CHECK_THROWS_AS(read_capacities("facility,beds\nh-1,4\n"), InputError);
}
