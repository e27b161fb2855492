#include "referral/life.hpp"

#include <doctest/doctest.h>

#include <map>
#include <set>
#include <sstream>

#include "referral/step.hpp"
#include "tests/referral/told.hpp"

using namespace waybourne;
using namespace waybourne::referral;
using K = EventKind;
using S = State;
using Kinds = std::vector<EventKind>;

namespace {

bool has_flag(const Life& life, const Event& event, FlagKind kind) {
    return std::count(life.flags.begin(), life.flags.end(), Flag{event.id, kind}) != 0;
}

}  // namespace

TEST_CASE("A referral runs from opened to closed, one state after the other") {
    // The states of design.md section 6, in its order.
    const std::vector<std::pair<K, S>> way{
        {K::opened, S::opened},
        {K::informed, S::informed},
        {K::accepted, S::accepted},
        {K::transport_sent, S::transport_sent},
        {K::with_the_woman, S::with_the_woman},
        {K::departed, S::departed},
        {K::arrived, S::arrived},
        {K::received, S::received},
        {K::closed, S::closed},
    };
    Kinds so_far;
    for (const auto& step : way) {
        so_far.push_back(step.first);
        CAPTURE(wire_name(step.first));
        CHECK(state_after(so_far) == step.second);
    }
    CHECK(life_of(told(so_far)).flags.empty());
    CHECK_FALSE(life_of(told(so_far)).is_open());
}

TEST_CASE("She leaves without waiting for a reply or a vehicle") {
    SUBCASE("on a neighbour's motorcycle, before anybody answered") {
        const Life life = life_of(told(Kinds{K::opened, K::departed}));
        CHECK(life.state() == S::departed);
        CHECK(life.reply == Reply::none);
        CHECK(life.vehicle == std::nullopt);
        CHECK(life.flags.empty());
    }
    SUBCASE("the place accepts while she is on the way: both are shown") {
        const Life life = life_of(told(Kinds{K::opened, K::departed, K::informed, K::accepted}));
        CHECK(life.state() == S::departed);
        CHECK(life.reply == Reply::accepted);
        CHECK(life.flags.empty());
    }
    SUBCASE("the place declines while she is on the way: she is still on the way") {
        const Life life = life_of(told(Kinds{K::opened, K::informed, K::departed, K::declined}));
        CHECK(life.state() == S::departed);
        CHECK(life.reply == Reply::declined);
    }
    SUBCASE("nobody told that she left: the receiving place can still say that she is there") {
        CHECK(life_of(told(Kinds{K::opened, K::arrived})).flags.empty());
        CHECK(state_after({K::opened, K::arrived}) == S::arrived);
    }
}

namespace {

/// An event of a vehicle, a minute after the one before it.
Event of_vehicle(K kind, int minute, const char* vehicle, const char* takes_over = nullptr) {
    Event event;
    event.id = EventId{"v" + std::to_string(10 + minute)};
    event.kind = kind;
    event.occurred_at = opening_time + std::chrono::minutes{minute};
    event.recorded_at = event.occurred_at;
    if (vehicle != nullptr) {
        event.vehicle = VehicleId{vehicle};
    }
    if (takes_over != nullptr) {
        event.takes_over = VehicleId{takes_over};
    }
    return event;
}

/// Whether a live call with the event is taken.
bool is_taken(const std::vector<Event>& events, const Event& event) {
    return !refusal(events, event);
}

}  // namespace

TEST_CASE("The vehicle breaks down with her aboard: another one sets out, reaches her, leaves") {
    std::vector<Event> events = told(Kinds{K::opened});
    events.push_back(of_vehicle(K::vehicle_assigned, 1, "first"));
    for (int minute = 2; const K kind : {K::transport_sent, K::with_the_woman, K::departed}) {
        events.push_back(of_vehicle(kind, minute++, nullptr));
    }
    CHECK_FALSE(is_taken(events, of_vehicle(K::transport_sent, 5, nullptr)));
    events.push_back(of_vehicle(K::vehicle_assigned, 6, "second"));
    const Kinds steps{K::transport_sent, K::with_the_woman, K::departed};
    for (int minute = 7; const K kind : steps) {
        CAPTURE(wire_name(kind));
        CHECK(is_possible(life_of(events), kind));
        CHECK(is_taken(events, of_vehicle(kind, minute, nullptr)));
        events.push_back(of_vehicle(kind, minute++, nullptr));
        const Life life = life_of(events);
        CHECK(life.state() == S::departed);  // she is on her way, and the journey never goes back
        CHECK(life.vehicle == VehicleId{"second"});
        CHECK(life.flags.empty());
    }
    CHECK(life_of(events).takeover == std::nullopt);
    CHECK(life_of(events).last(K::departed) == opening_time + 9min);  // counts from the roadside
    CHECK_FALSE(is_taken(events, of_vehicle(K::transport_sent, 10, nullptr)));
    events.push_back(of_vehicle(K::arrived, 40, nullptr));
    CHECK(life_of(events).state() == S::arrived);
    CHECK(life_of(events).flags.empty());
}

TEST_CASE("The same vehicle named again after she has left takes nobody over") {
    std::vector<Event> events = told(Kinds{K::opened});
    events.push_back(of_vehicle(K::vehicle_assigned, 1, "first"));
    events.push_back(of_vehicle(K::departed, 2, nullptr));
    events.push_back(of_vehicle(K::vehicle_assigned, 3, "first"));
    CHECK(life_of(events).takeover == std::nullopt);
    CHECK_FALSE(is_taken(events, of_vehicle(K::departed, 4, nullptr)));
}

TEST_CASE("A rendezvous: each driver tells the steps of the own vehicle, in whatever order") {
    std::vector<Event> events = told(Kinds{K::opened});
    events.push_back(of_vehicle(K::vehicle_assigned, 1, "first", "second"));
    CHECK(life_of(events).second_vehicle == VehicleId{"second"});
    SUBCASE("the second one sets out first: her journey has not begun by that") {
        events.push_back(of_vehicle(K::transport_sent, 2, "second"));
        CHECK(life_of(events).journey == Journey::not_begun);
        CHECK(life_of(events).takeover == Journey::transport_sent);
        CHECK(life_of(events).vehicle == VehicleId{"first"});
        CHECK_FALSE(is_taken(events, of_vehicle(K::transport_sent, 3, "second")));
        CHECK(is_taken(events, of_vehicle(K::transport_sent, 3, nullptr)));
    }
    SUBCASE("she is taken over on the way, and then hers is the second vehicle") {
        for (int minute = 2; const K kind : {K::transport_sent, K::with_the_woman, K::departed}) {
            events.push_back(of_vehicle(kind, minute++, "first"));
        }
        CHECK(life_of(events).journey == Journey::departed);
        events.push_back(of_vehicle(K::transport_sent, 5, "second"));
        events.push_back(of_vehicle(K::with_the_woman, 20, "second"));
        CHECK(life_of(events).vehicle == VehicleId{"second"});
        events.push_back(of_vehicle(K::departed, 25, "second"));
        CHECK(life_of(events).state() == S::departed);
        CHECK(life_of(events).second_vehicle == std::nullopt);
        CHECK(life_of(events).flags.empty());
    }
    SUBCASE("the second one only says that they have arrived") {
        events.push_back(of_vehicle(K::departed, 2, "first"));
        events.push_back(of_vehicle(K::arrived, 60, "second"));
        CHECK(life_of(events).state() == S::arrived);
        CHECK(life_of(events).vehicle == VehicleId{"second"});
    }
    SUBCASE("another plan without a second vehicle: nobody takes her over any more") {
        events.push_back(of_vehicle(K::vehicle_assigned, 2, "first"));
        CHECK(life_of(events).second_vehicle == std::nullopt);
        CHECK(life_of(events).takeover == std::nullopt);
    }
    SUBCASE("the same when she has left already") {
        events.push_back(of_vehicle(K::departed, 2, nullptr));
        events.push_back(of_vehicle(K::vehicle_assigned, 3, "first"));
        CHECK(life_of(events).second_vehicle == std::nullopt);
        CHECK(life_of(events).takeover == std::nullopt);
    }
    SUBCASE("she refuses: both are free") {
        Event refused = of_vehicle(K::refused, 2, nullptr);
        refused.ask_again_at = opening_time + 1h;
        events.push_back(refused);
        CHECK(life_of(events).second_vehicle == std::nullopt);
    }
}

TEST_CASE("Her own transport meets a vehicle: the vehicle's steps are not hers") {
    std::vector<Event> events = told(Kinds{K::opened});
    events.push_back(of_vehicle(K::vehicle_assigned, 1, "only", "only"));
    events.push_back(of_vehicle(K::transport_sent, 2, "only"));
    CHECK(life_of(events).journey == Journey::not_begun);
    events.push_back(of_vehicle(K::departed, 3, nullptr));  // the clinic: she has left
    CHECK(life_of(events).journey == Journey::departed);
    CHECK(is_taken(events, of_vehicle(K::with_the_woman, 4, "only")));
}

TEST_CASE("A diversion asks another place, and the reply starts anew") {
    Kinds kinds{K::opened, K::informed, K::declined};
    CHECK(state_after(kinds) == S::declined);
    kinds.push_back(K::diverted);
    Life life = life_of(told(kinds));
    CHECK(life.state() == S::diverted);
    CHECK(life.reply == Reply::none);
    CHECK(life.asked == mission);
    CHECK(life.diversions == 1);
    SUBCASE("until the new place has got word") {
        kinds.push_back(K::informed);
        CHECK(state_after(kinds) == S::informed);
    }
    SUBCASE("on the way: diverted is shown until the new place knows, then departed again") {
        kinds = {K::opened, K::accepted, K::departed, K::diverted};
        CHECK(state_after(kinds) == S::diverted);
        CHECK(life_of(told(kinds)).journey == Journey::departed);
        kinds.push_back(K::informed);
        CHECK(state_after(kinds) == S::departed);
    }
    SUBCASE("the first place to be named is no diversion") {
        std::vector<Event> events{told(K::opened, 0), told(K::diverted, 5)};
        events[0].place.reset();
        CHECK(life_of(events).state() == S::opened);
        CHECK(life_of(events).diversions == 0);
        CHECK(life_of(events).asked == mission);
    }
}

TEST_CASE("From the first stop she goes on to the second") {
    Kinds kinds{K::opened, K::departed, K::arrived, K::care_begun, K::diverted};
    Life life = life_of(told(kinds));
    CHECK(life.at == hospital);
    CHECK(life.state() == S::diverted);
    kinds.insert(kinds.end(), {K::informed, K::departed});
    life = life_of(told(kinds));
    CHECK(life.state() == S::departed);
    CHECK(life.onward_journeys == 1);
    CHECK_FALSE(life.has_care_begun);
    kinds.push_back(K::arrived);
    life = life_of(told(kinds));
    CHECK(life.at == mission);
    CHECK(life.flags.empty());
    SUBCASE("without another place there is nowhere to depart to") {
        const auto events = told(Kinds{K::opened, K::departed, K::arrived});
        CHECK(refusal(events, told(K::departed, 90)).has_value());
    }
}

TEST_CASE("The woman or her family refuses: the case stays open, with a time to ask again") {
    Kinds kinds{K::opened, K::accepted, K::transport_sent, K::refused};
    Life life = life_of(told(kinds));
    CHECK(life.state() == S::refused);
    CHECK(life.is_open());
    CHECK(life.ask_again_at == opening_time + 30min + 60min);
    CHECK(life.journey == Journey::not_begun);  // the vehicle is free for others
    SUBCASE("she agrees") {
        kinds.push_back(K::agreed);
        life = life_of(told(kinds));
        CHECK(life.state() == S::accepted);
        CHECK(life.ask_again_at == std::nullopt);
    }
    SUBCASE("she is asked again and refuses again") {
        kinds.push_back(K::refused);
        CHECK(life_of(told(kinds)).ask_again_at == opening_time + 40min + 60min);
        CHECK(life_of(told(kinds)).flags.empty());
    }
    SUBCASE("she leaves after all: nobody has to tick that she agreed") {
        kinds.push_back(K::departed);
        CHECK(state_after(kinds) == S::departed);
        CHECK(life_of(told(kinds)).flags.empty());
    }
    SUBCASE("she was cared for at the clinic: closed with her outcome") {
        kinds.push_back(K::closed);
        CHECK(state_after(kinds) == S::closed);
    }
    SUBCASE("a refusal without a time to ask again is not accepted") {
        Event event = told(K::refused, 90);
        event.ask_again_at.reset();
        const auto no = refusal(told(kinds), event);
        REQUIRE(no.has_value());
        CHECK(no->why.id == "referral.refusal.lacks_time_to_ask_again");
    }
}

TEST_CASE("Lost contact ends as soon as anybody hears of her") {
    for (const K word : {K::contact_regained, K::arrived, K::departed, K::refused, K::agreed}) {
        CAPTURE(wire_name(word));
        Kinds kinds{K::opened, K::transport_sent, K::lost_contact};
        CHECK(state_after(kinds) == S::lost_contact);
        kinds.push_back(word);
        CHECK(state_after(kinds) != S::lost_contact);
    }
    SUBCASE("the reply of a place is no word of her") {
        CHECK(state_after({K::opened, K::departed, K::lost_contact, K::accepted}) ==
              S::lost_contact);
    }
    SUBCASE("regained, the journey is where it was") {
        CHECK(state_after({K::opened, K::departed, K::lost_contact, K::contact_regained}) ==
              S::departed);
    }
}

TEST_CASE("Cancelled is an end, but she who travels all the same is not lost sight of") {
    CHECK(state_after({K::opened, K::cancelled}) == S::cancelled);
    const auto events = told(Kinds{K::opened, K::cancelled, K::departed});
    const Life life = life_of(events);
    CHECK(life.state() == S::departed);
    CHECK(has_flag(life, events.back(), FlagKind::out_of_sequence));
    SUBCASE("a vehicle that had not heard of it yet does not open the case again") {
        CHECK(state_after({K::opened, K::cancelled, K::transport_sent}) == S::cancelled);
    }
}

TEST_CASE("She dies before arrival") {
    const Life life = life_of(told(Kinds{K::opened, K::departed, K::died_before_arrival}));
    CHECK(life.state() == S::died_before_arrival);
    CHECK(life.persons.at(Person{}) == PersonOutcome::died);
    CHECK(life.outcome_due == opening_time + 20min + 24h);
    SUBCASE("but her baby, born on the way, still needs care: the journey goes on") {
        const Life with_baby =
            life_of(told(Kinds{K::opened, K::departed, K::person_added, K::died_before_arrival}));
        CHECK(with_baby.state() == S::departed);
        CHECK(with_baby.without_outcome() == std::vector<Person>{{PersonKind::baby, 1}});
    }
    SUBCASE("the baby dies and she travels on") {
        auto events = told(Kinds{K::opened, K::departed, K::person_added, K::died_before_arrival});
        events.back().persons = {{{PersonKind::baby, 1}, {}}};
        const Life without_baby = life_of(events);
        CHECK(without_baby.state() == S::departed);
        CHECK(without_baby.persons.at({PersonKind::baby, 1}) == PersonOutcome::died);
    }
}

TEST_CASE("Mother and twins each have an outcome before the case is closed") {
    auto events = told(Kinds{K::opened, K::departed, K::person_added, K::arrived, K::received});
    events[2].persons = {{{PersonKind::baby, 1}, {}}, {{PersonKind::baby, 2}, {}}};
    Event closed = told(K::closed, 100);
    const auto no = refusal(events, closed);
    REQUIRE(no.has_value());
    CHECK(no->why.id == "referral.refusal.lacks_outcome");
    SUBCASE("told late without them it is kept, flagged, and says who is missing") {
        events.push_back(closed);
        const Life life = life_of(events);
        CHECK(life.state() == S::closed);
        CHECK(has_flag(life, closed, FlagKind::incomplete));
        CHECK(life.without_outcome().size() == 2);
    }
    SUBCASE("with all three it is closed, and the sender hears within a day") {
        closed.persons = {{{PersonKind::mother, 1}, PersonOutcome::alive_well},
                          {{PersonKind::baby, 1}, PersonOutcome::alive_well},
                          {{PersonKind::baby, 2}, PersonOutcome::died}};
        CHECK_FALSE(refusal(events, closed).has_value());
        events.push_back(closed);
        Life life = life_of(events);
        CHECK(life.without_outcome().empty());
        CHECK(life.outcome_due == closed.occurred_at + 24h);
        CHECK(life.outcome_returned_at == std::nullopt);
        events.push_back(told(K::outcome_returned, 200));
        life = life_of(events);
        CHECK(life.outcome_returned_at == opening_time + 200min);
        CHECK(life.flags.empty());
    }
}

TEST_CASE("A step that is not possible is refused, with what is possible instead") {
    const auto events = told(Kinds{K::opened, K::cancelled});
    const auto no = refusal(events, told(K::departed, 60));
    REQUIRE(no.has_value());
    CHECK(no->state == S::cancelled);
    CHECK(no->possible ==
          Kinds{K::alert_raised, K::alert_acknowledged, K::merged, K::unmerged, K::withdrawn});
    CHECK(no->why.id == "referral.refusal.not_possible");
    SUBCASE("the same step, told late from a phone without a network, is kept and flagged") {
        auto late = events;
        late.push_back(told(K::accepted, 60));
        const Life life = life_of(late);
        CHECK(life.events.size() == 3);
        CHECK(has_flag(life, late.back(), FlagKind::out_of_sequence));
        CHECK(life.state() == S::cancelled);
    }
    SUBCASE("the same call once more is no error") {
        CHECK_FALSE(refusal(events, events.back()).has_value());
    }
    SUBCASE("another event under a known id is one") {
        Event other = events.back();
        other.reason = "changed";
        CHECK(refusal(events, other)->why.id == "referral.refusal.same_id");
    }
}

TEST_CASE("A time that goes back by more than two minutes is told as a clock fault") {
    const auto with_departure_at = [](Seconds after_arrival) {
        auto events = told(Kinds{K::opened, K::arrived, K::departed});
        events[2].occurred_at = events[1].occurred_at + after_arrival;
        events[2].recorded_at = events[2].occurred_at;
        return events;
    };
    SUBCASE("two minutes: out of sequence, but clocks differ that much") {
        const auto events = with_departure_at(2min);
        CHECK(has_flag(life_of(events), events[2], FlagKind::out_of_sequence));
        CHECK_FALSE(has_flag(life_of(events), events[2], FlagKind::clock_fault));
    }
    SUBCASE("a second more: a clock fault, and she is still there") {
        const auto events = with_departure_at(2min + 1s);
        CHECK(has_flag(life_of(events), events[2], FlagKind::clock_fault));
        CHECK(life_of(events).state() == S::arrived);
    }
    SUBCASE("an event in its writer's own future") {
        auto events = told(Kinds{K::opened, K::departed});
        events[1].recorded_at = events[1].occurred_at - 2min;
        CHECK(life_of(events).flags.empty());
        events[1].recorded_at -= 1s;
        CHECK(has_flag(life_of(events), events[1], FlagKind::clock_fault));
    }
    SUBCASE("an ambulance that sets out after she left without it is no clock fault") {
        const auto events = told(Kinds{K::opened, K::departed, K::transport_sent});
        CHECK_FALSE(has_flag(life_of(events), events[2], FlagKind::clock_fault));
        CHECK(life_of(events).state() == S::departed);
    }
}

TEST_CASE("A wrong event is replaced by one that corrects it, and that can be undone") {
    auto events = told(Kinds{K::opened, K::departed, K::arrived});
    const Event wrong = events[2];
    SUBCASE("she has not arrived at all: withdrawn") {
        const Event withdrawal = correcting(told(K::withdrawn, 30), wrong);
        CHECK_FALSE(refusal(events, withdrawal).has_value());
        events.push_back(withdrawal);
        CHECK(life_of(events).state() == S::departed);
        events.push_back(correcting(told(K::withdrawn, 40), withdrawal));
        CHECK(life_of(events).state() == S::arrived);
    }
    SUBCASE("at another time; corrected again; the second correction withdrawn") {
        const Event once = correcting(told(K::arrived, 25, "once"), wrong);
        events.push_back(once);
        CHECK(life_of(events).last(K::arrived) == opening_time + 25min);
        const Event twice = correcting(told(K::arrived, 35, "twice"), once);
        events.push_back(twice);
        CHECK(life_of(events).last(K::arrived) == opening_time + 35min);
        CHECK(life_of(events).events.size() == 3);
        events.push_back(correcting(told(K::withdrawn, 50), twice));
        CHECK(life_of(events).last(K::arrived) == opening_time + 25min);
    }
    SUBCASE("two people correct the same event: the last one written counts, once") {
        events.push_back(correcting(told(K::arrived, 28, "a"), wrong));
        events.push_back(correcting(told(K::arrived, 25, "b"), wrong));
        CHECK(life_of(events).last(K::arrived) == opening_time + 28min);
        CHECK(life_of(events).events.size() == 3);
    }
    SUBCASE("a cancellation by mistake is undone") {
        auto cancelled = told(Kinds{K::opened, K::accepted, K::cancelled});
        cancelled.push_back(correcting(told(K::withdrawn, 40), cancelled[2]));
        CHECK(life_of(cancelled).state() == S::accepted);
    }
    SUBCASE("the correction comes before what it corrects") {
        const Event once = correcting(told(K::arrived, 25, "once"), wrong);
        const std::vector<Event> first{events[0], once};
        CHECK(life_of(first).last(K::arrived) == opening_time + 25min);
    }
    SUBCASE("what is not there cannot be corrected in a live call") {
        Event stray = told(K::withdrawn, 50);
        stray.corrects = EventId{"nowhere"};
        CHECK(refusal(events, stray)->why.id == "referral.refusal.nothing_to_correct");
    }
    SUBCASE("events that correct one another in a ring are kept as if they corrected nothing") {
        events[1].corrects = events[2].id;
        events[2].corrects = events[1].id;
        const Life life = life_of(events);
        CHECK(life.state() == S::arrived);
        CHECK(has_flag(life, events[1], FlagKind::ring_of_corrections));
    }
}

TEST_CASE("An event that comes twice counts once") {
    auto events = told(Kinds{K::opened, K::diverted});
    events.push_back(events[1]);
    CHECK(life_of(events).diversions == 1);
    CHECK(life_of(events).events.size() == 2);
}

TEST_CASE("Nothing is known before anything happened") {
    const Life life = life_of({});
    CHECK_FALSE(life.is_opened);
    CHECK(possible_now(life) == Kinds{K::danger_sign_recognised, K::decided, K::opened});
}

TEST_CASE("Every name on the wire is read back as what it was") {
    std::set<std::string_view> names;
    for (const K kind : event_kinds()) {
        CHECK(find_event_kind(wire_name(kind)) == kind);
        names.insert(wire_name(kind));
    }
    CHECK(names.size() == event_kind_count);
    for (std::size_t at = 0; at < state_count; ++at) {
        CHECK(find_state(wire_name(static_cast<S>(at))) == static_cast<S>(at));
    }
    CHECK(find_state("unheard_of") == std::nullopt);
    CHECK(find_role("driver") == Role::driver);
    CHECK(find_person_outcome("stillborn") == PersonOutcome::stillborn);
    CHECK(find_person_kind("baby") == PersonKind::baby);
}
