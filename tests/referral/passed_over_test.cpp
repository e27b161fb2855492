#include <doctest/doctest.h>

#include "tests/referral/small_district.hpp"

using namespace waybourne;
using namespace waybourne::referral;
using Places = std::vector<std::string>;

namespace {

constexpr Capability theatre = Capability::operative_delivery;
constexpr Capability blood = Capability::blood_transfusion;

SmallDistrict with_hospital() {
    SmallDistrict district;
    district.place("hospital", {theatre, blood}).way("hospital", 90min);
    return district;
}

const auto wanted = {critical({theatre}, 120min), critical({blood}, 120min)};

}  // namespace

TEST_CASE("A nearer place is passed over with each kind of care that it does not give") {
    auto district = with_hospital();
    district.place("post", {Capability::oxygen}).way("post", 10min);
    const auto answer = district.ask(wanted);
    REQUIRE(answer.passed_over.size() == 1);
    CHECK(answer.passed_over[0].travel_time == routing::TravelTime{10min, 10min});
    const auto& reasons = answer.passed_over[0].reasons;
    REQUIRE(reasons.size() == 2);
    CHECK(reasons[0] == Message{"referral.does_not_give", {{"care", "operative delivery"}}});
    CHECK(reasons[1] == Message{"referral.does_not_give", {{"care", "blood transfusion"}}});
}

TEST_CASE("A nearer place is passed over because it is closed, with the time it opens") {
    auto district = with_hospital();
    district.place("clinic", {theatre, blood}).way("clinic", 10min);
    district.facility("clinic").hours = facilities::parse_opening_hours("Mo-Su 14:00-20:00");
    const auto answer = district.ask(wanted);
    const auto reasons = reasons_against(answer, "clinic");
    // Closed is said once, being too late for each of the two needs.
    CHECK(reasons == Places{"facilities.closed_until", "referral.too_late", "referral.too_late"});
}

TEST_CASE("A nearer place is passed over because no way leads there now") {
    auto district = with_hospital();
    // Made after the hospital, so it lies farther east: as the crow flies not nearer.
    district.place("beyond", {theatre, blood});
    CHECK(reasons_against(district.ask(wanted), "beyond").empty());
    district.facility("beyond").point = {Latitude{0}, Longitude{0.005}};
    const auto answer = district.ask(wanted);
    CHECK(reasons_against(answer, "beyond") == Places{"referral.no_way"});
    CHECK_FALSE(answer.passed_over.front().travel_time.has_value());
}

TEST_CASE("A place that lies off the map is always named") {
    auto district = with_hospital();
    district.place("unmapped", {theatre, blood});
    district.off_the_map = FacilityId{"unmapped"};
    CHECK(reasons_against(district.ask(wanted), "unmapped") == Places{"referral.off_the_map"});
}

TEST_CASE("Places farther than the chosen one are not explained") {
    auto district = with_hospital();
    district.place("far", {theatre, blood}).way("far", 100min);
    CHECK(reasons_against(district.ask(wanted), "far").empty());
}

TEST_CASE("The nearest place passed over comes first, and none is without a reason") {
    auto district = with_hospital();
    district.place("b", {theatre}).way("b", 30min);
    district.place("a", {blood}).way("a", 60min);
    const auto answer = district.ask(wanted);
    REQUIRE(answer.passed_over.size() == 2);
    CHECK(answer.passed_over[0].facility.value() == "b");
    CHECK(answer.passed_over[1].facility.value() == "a");
    for (const PassedOver& passed : answer.passed_over) {
        CHECK_FALSE(passed.reasons.empty());
    }
}

TEST_CASE("A place typically nearer but less surely so is passed over for that") {
    SmallDistrict district;
    district.place("track", {theatre}).way("track", 60min, 110min);
    district.place("road", {theatre}).way("road", 70min, 80min);
    const auto answer = district.ask({critical({theatre}, 120min)});
    CHECK(places_of(answer.chosen.value()) == Places{"road"});
    const auto& reasons = answer.passed_over.at(0).reasons;
    CHECK(reasons.at(0) == Message{"referral.care_begins_later", {{"minutes", "30"}}});
}
