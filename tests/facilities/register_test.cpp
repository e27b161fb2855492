#include "facilities/register.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "tests/facilities/places.hpp"

namespace waybourne::facilities {
namespace {

using triage::Capability;

std::vector<FieldError> refusal(const std::vector<Facility>& facilities) {
    try {
        FacilityRegister{facilities};
    } catch (const InputError& error) {
        return error.fields();
    }
    return {};
}

Facility clinic_with_stock(const char* id) {
    Facility clinic = always_open(id);
    clinic.resources = {resource("oxytocin", ResourceKind::stock),
                        resource("fridge", ResourceKind::equipment)};
    clinic.services = {service(Capability::uterotonics, {{"oxytocin", 1}, {"fridge", 1}})};
    return clinic;
}

TEST_CASE("Facilities are found by id and come in the order of their ids") {
    const FacilityRegister facilities(
        {always_open("north"), clinic_with_stock("east"), always_open("west")});
    REQUIRE(facilities.facilities().size() == 3);
    CHECK(facilities.facilities()[0].id.value() == "east");
    CHECK(facilities.facilities()[2].id.value() == "west");
    CHECK(facilities.facility(FacilityId("north")).name == "north");
    CHECK(facilities.position(FacilityId("west")) == 2);
    CHECK(facilities.find_facility(FacilityId("south")) == nullptr);
    CHECK_THROWS_AS(facilities.facility(FacilityId("south")), NotFound);
    CHECK(facilities.facilities_with(Capability::uterotonics) == std::vector{FacilityId("east")});
    CHECK(facilities.facilities_with(Capability::critical_care).empty());
    CHECK(FacilityRegister().facilities().empty());
}

TEST_CASE("A new report makes a new register and leaves the old one as it was") {
    const Facility clinic = clinic_with_stock("east");
    const FacilityRegister before({clinic, always_open("west")});
    const auto says = ready(clinic, ResourceName{"oxytocin"}, wednesday_noon);
    const FacilityRegister after = before.with(says);
    CHECK(before.reports().empty());
    CHECK(before.report_count() == 0);
    CHECK(after.reports() == std::vector{says});
    CHECK(readiness(before, clinic.id, Capability::uterotonics, wednesday_noon, wednesday_noon) !=
          readiness(after, clinic.id, Capability::uterotonics, wednesday_noon, wednesday_noon));
    // The facilities themselves are shared, not copied.
    CHECK(before.facilities().data() == after.facilities().data());
    CHECK(&before.heard(1) == &after.heard(1));
    CHECK(&before.heard(0) != &after.heard(0));
}

TEST_CASE("In whatever order reports come in, the same ones count") {
    const Facility clinic = clinic_with_stock("east");
    std::vector<Report> reports;
    for (int minute = 0; minute < 3; ++minute) {
        for (const bool is_ready : {true, false}) {
            Report report = ready(clinic, ResourceName{"oxytocin"}, wednesday_noon + 60s * minute);
            report.is_ready = is_ready;
            report.units = is_ready ? 5 + minute : 0;
            reports.push_back(report);
        }
    }
    const FacilityRegister silent({clinic});
    std::mt19937 random(7);
    for (int round = 0; round < 50; ++round) {
        std::shuffle(reports.begin(), reports.end(), random);
        const auto kept = silent.with(reports).reports();
        REQUIRE(kept.size() == 1);
        CHECK(kept[0].at == wednesday_noon + 2min);
        CHECK(!kept[0].is_ready);  // of two from the same second the one that is not ready
    }
}

TEST_CASE("A report that cannot be is refused, and nothing changes") {
    const Facility clinic = clinic_with_stock("east");
    const FacilityRegister facilities({clinic});
    const auto refused = [&](const Report& report) -> std::string {
        try {
            facilities.with(report);
        } catch (const InputError& error) {
            return error.fields().at(0).pointer + ": " + error.fields().at(0).detail;
        }
        return "accepted";
    };
    Report report = ready(clinic, ResourceName{"oxytocin"}, wednesday_noon);
    SUBCASE("about a resource it does not have") {
        report.about = ResourceName{"oxytocine"};
        CHECK(refused(report) ==
              "#/about: 'oxytocine' is not a resource of east; did you mean 'oxytocin'?");
    }
    SUBCASE("about what it does not offer") {
        report.about = Capability::critical_care;
        CHECK(refused(report) == "#/about: east does not offer critical_care");
    }
    SUBCASE("about fewer than none") {
        report.units = -1;
        CHECK(refused(report) == "#/units: -1 is below 0");
    }
    SUBCASE("counting what is not counted") {
        report.about = ResourceName{"fridge"};
        report.units = 1;
        CHECK(refused(report) == "#/units: 'fridge' is not stock, blood or space");
        report.about = WholeFacility{};
        CHECK(refused(report) == "#/units: only stock, blood and space have units");
    }
    SUBCASE("about times that contradict each other") {
        report.since = wednesday_noon + 1s;
        CHECK(refused(report).starts_with("#/since"));
        report.since.reset();
        report.until = wednesday_noon;
        CHECK(refused(report).starts_with("#/until"));
        report.until.reset();
        report.backup_until = wednesday_noon + 1h;
        CHECK(refused(report).starts_with("#/backup_until"));
        report.backup_until.reset();
        report.is_ready = false;
        report.expires_at = wednesday_noon + 1h;
        CHECK(refused(report).starts_with("#/expires_at"));
    }
    SUBCASE("from a place nobody knows") {
        report.facility = FacilityId("eastt");
        CHECK_THROWS_WITH_AS(facilities.with(report), "no facility 'eastt'; did you mean 'east'?",
                             NotFound);
    }
    CHECK(facilities.report_count() == 0);
}

TEST_CASE("A register is refused with everything that is wrong in it, at once") {
    Facility bad = clinic_with_stock("East Wing");
    bad.name = "";
    bad.time_zone = "Afrika/Blantyre";
    bad.services.push_back(service(Capability::uterotonics, {{"oxitocin", 0}}));
    bad.resources.push_back(resource("uterotonics", ResourceKind::stock));
    bad.resources[1].call_in = 5min;
    const auto errors = refusal({always_open("same"), always_open("same"), bad});
    const auto has = [&](const std::string& pointer, const std::string& detail) {
        return std::any_of(errors.begin(), errors.end(), [&](const FieldError& error) {
            return error.pointer == pointer && error.detail.find(detail) != std::string::npos;
        });
    };
    CHECK(has("#/facilities/1/id", "'same' is already the id of facility 0"));
    CHECK(has("#/facilities/2/id", "'East Wing' is not an id"));
    CHECK(has("#/facilities/2/name", "a name"));
    CHECK(has("#/facilities/2/time_zone", "did you mean 'Africa/Blantyre'?"));
    CHECK(has("#/facilities/2/services/uterotonics", "stands twice"));
    CHECK(has("#/facilities/2/services/uterotonics/needs/0", "did you mean 'oxytocin'?"));
    CHECK(has("#/facilities/2/services/uterotonics/needs/0/units", "1 to 1000"));
    CHECK(has("#/facilities/2/resources/uterotonics", "means something else in reports"));
    CHECK(has("#/facilities/2/resources/fridge/call_in_minutes", "needs on_call"));
    CHECK(errors.size() == 9);
}

TEST_CASE("A caesarean without drips is a doubt, not an error") {
    // Source: clinical specification d.1, "Implications between codes".
    Facility hospital = always_open("hospital");
    hospital.services = {service(Capability::operative_delivery, {}),
                         service(Capability::iv_fluids, {}), service(Capability::oxygen, {})};
    const auto doubts = doubts_about(hospital);
    REQUIRE(doubts.size() == 1);
    CHECK(doubts[0].pointer == "#/services/operative_delivery");
    CHECK(doubts[0].detail ==
          "offers operative_delivery without parenteral_antibiotics: is that so?");
    hospital.services.push_back(service(Capability::parenteral_antibiotics, {}));
    CHECK(doubts_about(hospital).empty());
    hospital.services.push_back(service(Capability::blood_transfusion, {}));
    hospital.services.push_back(service(Capability::antenatal_corticosteroid, {}));
    CHECK(doubts_about(hospital).size() == 2);
    CHECK(problems_of(hospital).empty());
}

}  // namespace
}  // namespace waybourne::facilities
