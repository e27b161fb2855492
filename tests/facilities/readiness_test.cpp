#include <doctest/doctest.h>

#include "facilities/shelf_life.hpp"
#include "tests/facilities/places.hpp"

// Where a check names no other source, the rule is design.md's section on facilities and the
// expected value is worked out beside it.

namespace waybourne::facilities {
namespace {

using triage::Capability;

Readiness ask(const FacilityRegister& facilities, const Facility& facility, Capability capability,
              Instant arrival, Instant now = wednesday_noon) {
    return readiness(facilities, facility.id, capability, arrival, now);
}

TEST_CASE("What a place does not offer it is not ready for, and it says so") {
    const Facility clinic = always_open("clinic");
    const FacilityRegister facilities({clinic});
    const auto answer = ask(facilities, clinic, Capability::blood_transfusion, wednesday_noon);
    CHECK(answer.state == ReadinessState::not_ready);
    CHECK(!answer.ready_at);
    CHECK(answer.chance == 0);
    CHECK(words(answer) == "does not offer blood transfusion");
}

TEST_CASE("A place that is not in the register is an error that names the nearest") {
    const FacilityRegister facilities({always_open("hill-clinic")});
    CHECK_THROWS_WITH_AS(readiness(facilities, FacilityId("hil-clinic"), Capability::uterotonics,
                                   wednesday_noon, wednesday_noon),
                         "no facility 'hil-clinic'; did you mean 'hill-clinic'?", NotFound);
}

TEST_CASE("What nobody has ever reported is unconfirmed: unknown is never yes, and never no") {
    Facility clinic = always_open("clinic");
    clinic.services = {service(Capability::uterotonics, {})};
    const FacilityRegister facilities({clinic});
    const auto answer = ask(facilities, clinic, Capability::uterotonics, wednesday_noon);
    CHECK(answer.state == ReadinessState::unconfirmed);
    CHECK(answer.ready_at == wednesday_noon);
    CHECK(!answer.reported_at);
    CHECK(words(answer) == "uterotonics: never reported");
    // 0.80 for the staff it must rest on × the hours confirmed a day ago: 0.95 + 0.05·e^(-1/60).
    CHECK(answer.chance == doctest::Approx(0.80 * (0.95 + 0.05 * 0.983471)));
}

TEST_CASE("Confirmed an hour ago it is ready, and 12 hours and a second later no longer") {
    // Shelf life of staff 12 h: clinical specification d.2 (proposal).
    Facility clinic = always_open("clinic");
    clinic.resources = {resource("midwife", ResourceKind::staff)};
    clinic.services = {service(Capability::skilled_birth, {{"midwife", 1}})};
    const auto facilities = FacilityRegister({clinic}).with(
        ready(clinic, ResourceName{"midwife"}, wednesday_noon - 1h));
    SUBCASE("now") {
        const auto answer = ask(facilities, clinic, Capability::skilled_birth, wednesday_noon);
        CHECK(answer.state == ReadinessState::ready);
        CHECK(answer.ready_at == wednesday_noon);
        CHECK(answer.reported_at == wednesday_noon - 1h);
        CHECK(answer.reasons.empty());
        // 0.80 + 0.20·e^(-1/24) = 0.991838; hours as above 0.999174.
        CHECK(answer.chance == doctest::Approx(0.991838 * 0.999174).epsilon(1e-5));
    }
    SUBCASE("at the limit, when she arrives 11 hours from now") {
        CHECK(ask(facilities, clinic, Capability::skilled_birth, wednesday_noon + 11h).state ==
              ReadinessState::ready);
    }
    SUBCASE("a second beyond") {
        const Instant then = wednesday_noon + 11h + 1s;
        const auto answer = ask(facilities, clinic, Capability::skilled_birth, then, then);
        CHECK(answer.state == ReadinessState::unconfirmed);
        CHECK(answer.ready_at == then);
        CHECK(words(answer) == "midwife last confirmed 12 h ago");
    }
    SUBCASE("three days later the age is said in days") {
        const Instant then = wednesday_noon + 71h;
        CHECK(words(ask(facilities, clinic, Capability::skilled_birth, then, then)) ==
              "midwife last confirmed 3 days ago");
    }
    SUBCASE("what was said later than now is not known yet") {
        const auto answer =
            ask(facilities, clinic, Capability::skilled_birth, wednesday_noon, wednesday_noon - 2h);
        CHECK(answer.state == ReadinessState::unconfirmed);
    }
}

TEST_CASE("Each kind of thing has the shelf life of the clinical table") {
    // Source: clinical specification, table d.2 (proposal).
    CHECK(ageing_of(ResourceKind::staff).shelf_life == 12h);
    CHECK(ageing_of(ResourceKind::stock).shelf_life == 24h);
    CHECK(ageing_of(ResourceKind::blood).shelf_life == 6h);
    CHECK(ageing_of(ResourceKind::equipment).shelf_life == 7 * 24h);
    CHECK(ageing_of(ResourceKind::power).shelf_life == 12h);
    CHECK(ageing_of(ResourceKind::space).shelf_life == 6h);
    CHECK(ageing_of_hours().shelf_life == 30 * 24h);
    CHECK(ageing_of(Capability::blood_transfusion).shelf_life == 6h);
    CHECK(ageing_of(Capability::critical_care).shelf_life == 6h);
    CHECK(ageing_of(Capability::uterotonics).shelf_life == 12h);
    CHECK(shelf_life_label.starts_with("proposal"));
    CHECK(long_run_label.starts_with("assumption"));
}

TEST_CASE("Performed in the last three months counts up to the 92nd day") {
    // Source: clinical specification d.2 (proposal); 92 days is the longest three months.
    Service caesarean = service(Capability::operative_delivery, {});
    CHECK(!is_performed_lately(caesarean, wednesday_noon));
    caesarean.last_performed_at = wednesday_noon - 92 * 24h;
    CHECK(is_performed_lately(caesarean, wednesday_noon));
    CHECK(!is_performed_lately(caesarean, wednesday_noon + 1s));
}

TEST_CASE("The chance of an old report is that of a chain that breaks and is mended") {
    // Reference: the chain itself, integrated in steps of a second (Euler): in the long run π of
    // the time ready, leaving a state at a rate of π/τ (mended) and (1 − π)/τ (breaks).
    for (const ResourceKind kind :
         {ResourceKind::staff, ResourceKind::blood, ResourceKind::space}) {
        CAPTURE(to_name(kind));
        const Ageing& ageing = ageing_of(kind);
        const auto tau = static_cast<double>(ageing.relaxation.count());
        double after_ready = 1;
        double after_not_ready = 0;
        for (int second = 0; second <= 48 * 3600; ++second) {
            if (second % 3600 == 0) {
                const Seconds age(second);
                CHECK(chance_after_ready(ageing, age) ==
                      doctest::Approx(after_ready).epsilon(1e-4));
                CHECK(chance_after_not_ready(ageing, age) ==
                      doctest::Approx(after_not_ready).epsilon(1e-4));
            }
            for (double* chance : {&after_ready, &after_not_ready}) {
                *chance += (1 - *chance) * ageing.long_run_share / tau -
                           *chance * (1 - ageing.long_run_share) / tau;
            }
        }
    }
    // By hand: blood, π = 0.5, τ = 12 h; 6 h old: 0.5 + 0.5·e^(-1/2) = 0.803265.
    CHECK(chance_after_ready(ageing_of(ResourceKind::blood), 6h) == doctest::Approx(0.803265));
    CHECK(chance_after_ready(ageing_of(ResourceKind::blood), -1h) == 1);
    CHECK(chance_after_not_ready(ageing_of(ResourceKind::blood), 0s) == 0);
}

/// A hospital whose theatre needs a surgeon by day, a team on call, and power.
Facility theatre_hospital() {
    Facility hospital = always_open("hospital");
    Resource surgeon = resource("surgeon", ResourceKind::staff);
    surgeon.hours = parse_opening_hours("Mo-Fr 07:00-19:00");
    Resource team = resource("theatre_team", ResourceKind::staff);
    team.hours = parse_opening_hours("Mo-Fr 08:00-17:00");
    team.on_call = parse_opening_hours("24/7");
    team.call_in = 30min;
    hospital.resources = {surgeon, team, resource("power", ResourceKind::power)};
    hospital.services = {service(Capability::operative_delivery,
                                 {{"surgeon", 1}, {"theatre_team", 1}, {"power", 1}}),
                         service(Capability::oxygen, {{"power", 1}})};
    return hospital;
}

FacilityRegister all_confirmed(const Facility& hospital, Instant when) {
    FacilityRegister facilities({hospital});
    for (const Resource& each : hospital.resources) {
        facilities = facilities.with(ready(hospital, ResourceName{each.name}, when));
    }
    return facilities;
}

TEST_CASE("At night there is no surgeon until the morning, and Saturday means Monday") {
    const Facility hospital = theatre_hospital();
    SUBCASE("at 22:00 she waits for 07:00") {
        const Instant night = at("2026-03-04T22:00:00Z");
        const auto answer = ask(all_confirmed(hospital, night - 1h), hospital,
                                Capability::operative_delivery, night, night);
        CHECK(answer.state == ReadinessState::ready_by);
        CHECK(answer.ready_at == at("2026-03-05T07:00:00Z"));
        CHECK(words(answer) == "no surgeon until 07:00; theatre team called in: 30 min");
    }
    SUBCASE("on Saturday she waits for Monday, and by then the report is too old") {
        const Instant saturday = at("2026-03-07T10:00:00Z");
        const auto answer = ask(all_confirmed(hospital, saturday - 1h), hospital,
                                Capability::operative_delivery, saturday, saturday);
        CHECK(answer.state == ReadinessState::unconfirmed);
        CHECK(answer.ready_at == at("2026-03-09T07:00:00Z"));
        CHECK(words(answer).find("no surgeon until Monday 07:00") != std::string::npos);
        CHECK(words(answer).find("surgeon last confirmed 60 min ago") != std::string::npos);
    }
    SUBCASE("at 12:00 on Wednesday all are there") {
        CHECK(ask(all_confirmed(hospital, wednesday_noon - 1h), hospital,
                  Capability::operative_delivery, wednesday_noon)
                  .state == ReadinessState::ready);
    }
}

TEST_CASE("The theatre team is called in: half an hour from the call, not from her arrival") {
    const Facility hospital = theatre_hospital();
    const Instant evening = at("2026-03-04T18:00:00Z");
    const auto facilities = all_confirmed(hospital, evening - 1h);
    SUBCASE("nobody calls: from her arrival") {
        const auto answer =
            ask(facilities, hospital, Capability::operative_delivery, evening, evening);
        CHECK(answer.state == ReadinessState::ready_by);
        CHECK(answer.ready_at == evening + 30min);
        CHECK(words(answer) == "theatre team called in: 30 min");
    }
    SUBCASE("called 20 minutes before she comes: ten minutes left") {
        const auto answer = readiness(facilities, hospital.id, Capability::operative_delivery,
                                      evening + 20min, evening, evening);
        CHECK(answer.ready_at == evening + 30min);
    }
    SUBCASE("called in time: ready when she comes") {
        const auto answer = readiness(facilities, hospital.id, Capability::operative_delivery,
                                      evening + 30min, evening, evening);
        CHECK(answer.state == ReadinessState::ready);
        CHECK(answer.ready_at == evening + 30min);
    }
    SUBCASE("the team's own shift begins sooner than a call would bring it") {
        const Instant morning = at("2026-03-05T07:45:00Z");
        const auto answer = ask(all_confirmed(hospital, morning - 1h), hospital,
                                Capability::operative_delivery, morning, morning);
        CHECK(answer.ready_at == at("2026-03-05T08:00:00Z"));
    }
}

TEST_CASE("A service's lead time counts from the call, however much is there") {
    Facility hospital = always_open("hospital");
    Service blood = service(Capability::blood_transfusion, {});
    blood.lead = 45min;
    hospital.services = {blood};
    const auto facilities =
        FacilityRegister({hospital})
            .with(ready(hospital, Capability::blood_transfusion, wednesday_noon - 1h));
    const auto answer = ask(facilities, hospital, Capability::blood_transfusion, wednesday_noon);
    CHECK(answer.state == ReadinessState::ready_by);
    CHECK(answer.ready_at == wednesday_noon + 45min);
    CHECK(words(answer) == "blood transfusion needs 45 min to get ready");
    CHECK(readiness(facilities, hospital.id, Capability::blood_transfusion, wednesday_noon + 1h,
                    wednesday_noon, wednesday_noon)
              .state == ReadinessState::ready);
}

TEST_CASE("When the power goes, everything that needs it goes") {
    const Facility hospital = theatre_hospital();
    Report outage = not_ready(hospital, ResourceName{"power"}, at("2026-03-04T11:30:00Z"));
    outage.since = at("2026-03-04T04:10:00Z");
    const auto before = all_confirmed(hospital, at("2026-03-04T11:00:00Z"));
    SUBCASE("without a back-up neither theatre nor oxygen is ready") {
        const auto facilities = before.with(outage);
        for (const Capability capability : {Capability::operative_delivery, Capability::oxygen}) {
            const auto answer = ask(facilities, hospital, capability, wednesday_noon);
            CHECK(answer.state == ReadinessState::not_ready);
            CHECK(!answer.ready_at);
            CHECK(answer.chance == 0);
            CHECK(answer.reported_at == outage.at);
            CHECK(words(answer) == "power out since 04:10");
        }
    }
    SUBCASE("with a back-up until 13:00 it is ready until then, said with its limit") {
        outage.backup_until = at("2026-03-04T13:00:00Z");
        const auto facilities = before.with(outage);
        const auto now = ask(facilities, hospital, Capability::oxygen, wednesday_noon);
        CHECK(now.state == ReadinessState::ready);
        CHECK(words(now) == "power out since 04:10, back-up until 13:00");
        CHECK(ask(facilities, hospital, Capability::oxygen, at("2026-03-04T12:59:59Z")).state ==
              ReadinessState::ready);
        CHECK(ask(facilities, hospital, Capability::oxygen, at("2026-03-04T13:00:00Z")).state ==
              ReadinessState::not_ready);
    }
    SUBCASE("reported back, all is well again") {
        const auto facilities =
            before.with(outage).with(ready(hospital, ResourceName{"power"}, wednesday_noon));
        CHECK(ask(facilities, hospital, Capability::oxygen, wednesday_noon).state ==
              ReadinessState::ready);
    }
    SUBCASE("an outage nobody speaks of any more is a doubt after 12 hours, not a no") {
        const auto facilities = before.with(outage);
        const Instant limit = outage.at + 12h;
        CHECK(ask(facilities, hospital, Capability::oxygen, limit, limit).state ==
              ReadinessState::not_ready);
        const auto answer = ask(facilities, hospital, Capability::oxygen, limit + 1s, limit + 1s);
        CHECK(answer.state == ReadinessState::unconfirmed);
        CHECK(words(answer) == "power last reported not ready 12 h ago");
        // 0.85·(1 − e^(-1/2)) = 0.334449, times the hours: 36.0 h old, 0.95 + 0.05·e^(-1/40).
        CHECK(answer.chance == doctest::Approx(0.334449 * 0.998752).epsilon(1e-4));
    }
}

TEST_CASE("No blood left is no transfusion, one unit is too little where she takes two") {
    Facility hospital = always_open("hospital");
    hospital.resources = {resource("blood_o_negative", ResourceKind::blood)};
    hospital.services = {service(Capability::blood_transfusion, {{"blood_o_negative", 2}})};
    const FacilityRegister silent({hospital});
    Report stock = ready(hospital, ResourceName{"blood_o_negative"}, wednesday_noon - 1h);
    const auto answer_with = [&](int units) {
        stock.units = units;
        return ask(silent.with(stock), hospital, Capability::blood_transfusion, wednesday_noon);
    };
    CHECK(answer_with(2).state == ReadinessState::ready);
    CHECK(answer_with(1).state == ReadinessState::not_ready);
    CHECK(words(answer_with(1)) == "too few left: blood o negative, 1 of the 2 needed");
    CHECK(answer_with(0).state == ReadinessState::not_ready);
    CHECK(words(answer_with(0)) == "none left: blood o negative");
    SUBCASE("what goes out of date at two is good before and gone after") {
        stock.units = 5;
        stock.expires_at = wednesday_noon + 2h;
        const auto facilities = silent.with(stock);
        CHECK(ask(facilities, hospital, Capability::blood_transfusion, wednesday_noon + 2h - 1s)
                  .state == ReadinessState::ready);
        const auto late =
            ask(facilities, hospital, Capability::blood_transfusion, wednesday_noon + 2h);
        CHECK(late.state == ReadinessState::not_ready);
        CHECK(words(late) == "out of date: blood o negative");
    }
}

TEST_CASE("Out until two: she can wait for it, but from then on nothing is known") {
    Facility hospital = always_open("hospital");
    hospital.resources = {resource("ultrasound_machine", ResourceKind::equipment)};
    hospital.services = {service(Capability::ultrasound, {{"ultrasound_machine", 1}})};
    Report repair = not_ready(hospital, ResourceName{"ultrasound_machine"}, wednesday_noon - 1h);
    repair.until = wednesday_noon + 2h;
    const auto facilities = FacilityRegister({hospital}).with(repair);
    const auto before = ask(facilities, hospital, Capability::ultrasound, wednesday_noon);
    CHECK(before.state == ReadinessState::unconfirmed);
    CHECK(before.ready_at == wednesday_noon + 2h);
    CHECK(words(before) ==
          "no ultrasound machine until 14:00; ultrasound machine: nothing known after 14:00");
    const auto after = ask(facilities, hospital, Capability::ultrasound, wednesday_noon + 3h);
    CHECK(after.state == ReadinessState::unconfirmed);
    CHECK(after.ready_at == wednesday_noon + 3h);
}

TEST_CASE("A place that opens at eight is not ready at seven, and says so") {
    Facility clinic = always_open("clinic");
    clinic.hours = parse_opening_hours("Mo-Fr 08:00-17:00; 2026 Mar 6 off");
    clinic.services = {service(Capability::uterotonics, {})};
    const Instant thursday_evening = at("2026-03-05T17:00:00Z");
    const auto facilities = FacilityRegister({clinic}).with(
        ready(clinic, Capability::uterotonics, thursday_evening - 1h));
    const auto open = ask(facilities, clinic, Capability::uterotonics, thursday_evening - 1s,
                          thursday_evening - 1s);
    CHECK(open.state == ReadinessState::ready);
    const auto closed =
        ask(facilities, clinic, Capability::uterotonics, thursday_evening, thursday_evening);
    CHECK(closed.ready_at == at("2026-03-09T08:00:00Z"));
    CHECK(words(closed).starts_with("closed until Monday 08:00"));
}

TEST_CASE("Opening hours that nobody has confirmed for 30 days, or ever, are a doubt") {
    Facility clinic = always_open("clinic");
    clinic.services = {service(Capability::uterotonics, {})};
    const auto with_hours = [&](std::optional<OpeningHours> hours,
                                std::optional<Instant> confirmed) {
        clinic.hours = std::move(hours);
        clinic.hours_confirmed_at = confirmed;
        Service antibiotics = service(Capability::parenteral_antibiotics, {});
        clinic.services = {service(Capability::uterotonics, {{"midwife", 1}}), antibiotics};
        clinic.resources = {resource("midwife", ResourceKind::staff)};
        return FacilityRegister({clinic}).with(
            ready(clinic, ResourceName{"midwife"}, wednesday_noon - 1h));
    };
    const Instant month_ago = wednesday_noon - 30 * 24h;
    CHECK(
        ask(with_hours(OpeningHours(), month_ago), clinic, Capability::uterotonics, wednesday_noon)
            .state == ReadinessState::ready);
    const auto old = ask(with_hours(OpeningHours(), month_ago - 1s), clinic,
                         Capability::uterotonics, wednesday_noon);
    CHECK(old.state == ReadinessState::unconfirmed);
    CHECK(words(old) == "opening hours last confirmed 30 days ago");
    CHECK(words(ask(with_hours(OpeningHours(), std::nullopt), clinic, Capability::uterotonics,
                    wednesday_noon)) == "opening hours never confirmed");
    CHECK(words(ask(with_hours(std::nullopt, wednesday_noon), clinic, Capability::uterotonics,
                    wednesday_noon)) == "opening hours not known");
    SUBCASE("a report that the place keeps its hours confirms them") {
        const auto facilities = with_hours(OpeningHours(), std::nullopt)
                                    .with(ready(clinic, WholeFacility{}, wednesday_noon - 1h));
        CHECK(ask(facilities, clinic, Capability::uterotonics, wednesday_noon).state ==
              ReadinessState::ready);
    }
}

TEST_CASE("A place reported closed gives nothing, whatever its hours say") {
    const Facility hospital = theatre_hospital();
    auto closed = not_ready(hospital, WholeFacility{}, wednesday_noon - 3h);
    const auto before = all_confirmed(hospital, wednesday_noon - 4h);
    CHECK(words(ask(before.with(closed), hospital, Capability::oxygen, wednesday_noon)) ==
          "reported closed 3 h ago");
    closed.until = wednesday_noon + 2h;
    const auto answer = ask(before.with(closed), hospital, Capability::oxygen, wednesday_noon);
    CHECK(answer.ready_at == wednesday_noon + 2h);
    CHECK(words(answer).starts_with("closed until 14:00"));
}

TEST_CASE("'We can do it now' confirms all it rests on; 'we cannot' stands against all") {
    const Facility hospital = theatre_hospital();
    const FacilityRegister silent({hospital});
    SUBCASE("yes") {
        const auto facilities =
            silent.with(ready(hospital, Capability::operative_delivery, wednesday_noon - 1h));
        CHECK(ask(facilities, hospital, Capability::operative_delivery, wednesday_noon).state ==
              ReadinessState::ready);
        // Said of the theatre, it says nothing of the oxygen.
        CHECK(ask(facilities, hospital, Capability::oxygen, wednesday_noon).state ==
              ReadinessState::unconfirmed);
    }
    SUBCASE("yes, and the power went later") {
        const auto facilities =
            silent.with(ready(hospital, Capability::operative_delivery, wednesday_noon - 1h))
                .with(not_ready(hospital, ResourceName{"power"}, wednesday_noon - 30min));
        CHECK(ask(facilities, hospital, Capability::operative_delivery, wednesday_noon).state ==
              ReadinessState::not_ready);
    }
    SUBCASE("no") {
        const auto facilities =
            all_confirmed(hospital, wednesday_noon - 30min)
                .with(not_ready(hospital, Capability::operative_delivery, wednesday_noon - 1h));
        const auto answer =
            ask(facilities, hospital, Capability::operative_delivery, wednesday_noon);
        CHECK(answer.state == ReadinessState::not_ready);
        CHECK(words(answer) == "no operative delivery, reported 60 min ago");
    }
}

TEST_CASE("People whose shifts never meet are never there together") {
    Facility hospital = always_open("hospital");
    Resource surgeon = resource("surgeon", ResourceKind::staff);
    surgeon.hours = parse_opening_hours("Mo 08:00-12:00");
    Resource anaesthetist = resource("anaesthetist", ResourceKind::staff);
    anaesthetist.hours = parse_opening_hours("Mo 12:00-16:00");
    hospital.resources = {surgeon, anaesthetist};
    hospital.services = {
        service(Capability::operative_delivery, {{"surgeon", 1}, {"anaesthetist", 1}})};
    const auto answer = ask(all_confirmed(hospital, wednesday_noon), hospital,
                            Capability::operative_delivery, wednesday_noon);
    CHECK(answer.state == ReadinessState::not_ready);
    CHECK(!answer.reasons.empty());
}

}  // namespace
}  // namespace waybourne::facilities
