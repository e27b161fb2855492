#include "referral/watch.hpp"

#include <doctest/doctest.h>

#include <fstream>
#include <set>
#include <sstream>

#include "tests/referral/told.hpp"

using namespace waybourne;
using namespace waybourne::referral;
using K = EventKind;
using W = WatchedStep;
using Kinds = std::vector<EventKind>;
using Owners = std::vector<Owner>;

namespace {

Instant after(Seconds span) {
    return opening_time + span;
}

/// What `kinds` leave to be waited for, without care and its deadline.
std::vector<W> awaited_after(const Kinds& kinds, const WatchTimes& times = {}) {
    std::vector<W> steps;
    for (const AwaitedStep& step : awaited(life_of(told(kinds)), times, {})) {
        steps.push_back(step.step);
    }
    return steps;
}

std::optional<Instant> due(const Kinds& kinds, W step, const WatchTimes& times = {}) {
    for (const AwaitedStep& waited : awaited(life_of(told(kinds)), times, {})) {
        if (waited.step == step) {
            return waited.due;
        }
    }
    return std::nullopt;
}

std::optional<Alert> alert(const std::vector<Event>& events, W step, Instant now,
                           const WatchTimes& times = {}) {
    for (const Alert& found : alerts(life_of(events), times, now)) {
        if (found.step == step) {
            return found;
        }
    }
    return std::nullopt;
}

Catalogue english() {
    std::ifstream file{std::string{WAYBOURNE_SOURCE_DIR} + "/referral/texts.en.json"};
    std::ostringstream text;
    text << file.rdbuf();
    return parse_catalogue(text.str());
}

}  // namespace

TEST_CASE("What is waited for, step by step") {
    CHECK(awaited_after({}).empty());
    CHECK(awaited_after({K::opened}) == std::vector{W::inform, W::leave});
    CHECK(awaited_after({K::opened, K::informed}) == std::vector{W::reply, W::leave});
    CHECK(awaited_after({K::opened, K::informed, K::accepted}) == std::vector{W::leave});
    CHECK(awaited_after({K::opened, K::informed, K::declined}) ==
          std::vector{W::ask_another_place, W::leave});
    CHECK(awaited_after({K::opened, K::unanswered, K::diverted}) ==
          std::vector{W::inform, W::leave});
    CHECK(awaited_after({K::opened, K::accepted, K::vehicle_assigned}) ==
          std::vector{W::set_out, W::leave});
    WatchTimes times;
    times.vehicle_reaches_her = after(50min);
    times.travel_allow = 40min;
    CHECK(awaited_after({K::opened, K::accepted, K::transport_sent}, times) ==
          std::vector{W::reach_her, W::leave});
    CHECK(awaited_after({K::opened, K::accepted, K::with_the_woman}, times) ==
          std::vector{W::leave});
    CHECK(awaited_after({K::opened, K::accepted, K::departed}, times) == std::vector{W::arrive});
    CHECK(awaited_after({K::opened, K::departed}, times) == std::vector{W::inform, W::arrive});
    CHECK(awaited_after({K::opened, K::arrived}) == std::vector{W::hand_over});
    CHECK(awaited_after({K::opened, K::arrived, K::received}) == std::vector{W::close});
    CHECK(awaited_after({K::opened, K::arrived, K::received, K::closed}) ==
          std::vector{W::return_outcome});
    CHECK(awaited_after({K::opened, K::arrived, K::received, K::closed, K::outcome_returned})
              .empty());
    CHECK(awaited_after({K::opened, K::refused}) == std::vector{W::ask_again});
    CHECK(awaited_after({K::opened, K::cancelled}).empty());
    CHECK(awaited_after({K::opened, K::died_before_arrival}) == std::vector{W::return_outcome});
    SUBCASE("on from the first stop: the next place is told and she leaves") {
        CHECK(awaited_after({K::opened, K::arrived, K::diverted}) ==
              std::vector{W::inform, W::leave});
    }
    SUBCASE("nowhere was found: another place is to be asked") {
        std::vector<Event> events{told(K::opened, 0)};
        events[0].place.reset();
        CHECK(awaited(life_of(events), {}, {}).front().step == W::ask_another_place);
    }
}

TEST_CASE("When each step is due") {
    // Spans: WatchSettings, proposals but where it names a source; `told` puts steps ten minutes
    // apart.
    WatchTimes times;
    times.leave_by = after(25min);
    CHECK(due({K::opened}, W::inform) == after(5min));
    CHECK(due({K::opened, K::informed}, W::reply) == after(10min + 5min));
    CHECK(due({K::opened, K::informed}, W::leave, times) == after(25min));
    CHECK(due({K::opened, K::informed}, W::leave) == after(30min));
    SUBCASE("a time to leave that has passed already leaves her a quarter of an hour") {
        times.leave_by = after(-20min);
        CHECK(due({K::opened}, W::leave, times) == after(15min));
    }
    SUBCASE("the way counts from when she truly left") {
        times.travel_allow = 40min;
        times.arrival_allow = after(55min);
        CHECK(due({K::opened, K::departed}, W::arrive, times) == after(10min + 40min));
        times.travel_allow.reset();
        CHECK(due({K::opened, K::departed}, W::arrive, times) == after(55min));
        times.arrival_allow.reset();
        CHECK(due({K::opened, K::departed}, W::arrive, times) == std::nullopt);
    }
    SUBCASE("the time limit for care, until care has begun") {
        times.deadline = after(60min);
        CHECK(due({K::opened, K::departed}, W::begin_care, times) == after(60min));
        CHECK(due({K::opened, K::arrived, K::received}, W::begin_care, times) == after(60min));
        CHECK(due({K::opened, K::arrived, K::care_begun}, W::begin_care, times) == std::nullopt);
    }
    SUBCASE("the outcome within a day of the end; asking again when it was agreed") {
        CHECK(due({K::opened, K::arrived, K::received, K::closed}, W::return_outcome) ==
              after(30min + 24h));
        CHECK(due({K::opened, K::refused}, W::ask_again) == after(10min + 60min));
    }
    SUBCASE("the times of a stage") {
        triage::Assessment assessment;
        assessment.needs.resize(3);
        assessment.needs[0].deadline = after(30min);  // met elsewhere
        assessment.needs[1].deadline = after(90min);
        Stage stage;
        stage.needs = {1, 2};
        stage.leave_by = after(20min);
        stage.travel_time = {40min, 50min};
        stage.arrival = {after(60min), after(70min)};
        CHECK(watch_times(assessment, stage) ==
              WatchTimes{after(20min), 50min, after(70min), std::nullopt, after(90min)});
    }
}

TEST_CASE("An overdue step raises one alert, a second after its time and not before") {
    auto events = told(Kinds{K::opened, K::informed});
    CHECK_FALSE(alert(events, W::reply, after(15min)).has_value());
    const auto first = alert(events, W::reply, after(15min + 1s));
    REQUIRE(first.has_value());
    CHECK(first->is_new);
    CHECK(first->id == "informed-10-reply");
    CHECK(first->owner() == Owner::receiving_place);
    events.push_back(raising(*first));
    SUBCASE("raised once: the next look finds it known, under the same id") {
        const auto again = alert(events, W::reply, after(16min));
        REQUIRE(again.has_value());
        CHECK_FALSE(again->is_new);
        CHECK(again->id == first->id);
        CHECK(again->raised_at == first->raised_at);
    }
    SUBCASE("two servers raise it at different seconds: still one") {
        auto other = *first;
        other.raised_at += 5s;
        events.push_back(raising(other));
        CHECK(life_of(events).alerts.size() == 1);
        CHECK(alert(events, W::reply, after(16min))->raised_at == first->raised_at);
    }
    SUBCASE("it ends when the place answers") {
        events.push_back(told(K::accepted, 20));
        CHECK_FALSE(alert(events, W::reply, after(60min)).has_value());
    }
    SUBCASE("the next place that does not answer is another alert") {
        events.push_back(told(K::diverted, 20));
        events.push_back(told(K::informed, 21));
        const auto next = alert(events, W::reply, after(30min));
        REQUIRE(next.has_value());
        CHECK(next->is_new);
        CHECK(next->id == "informed-21-reply");
    }
}

TEST_CASE("An alert nobody acknowledges goes to the next owner after three minutes") {
    // Three minutes: design.md section 6.
    auto events = told(Kinds{K::opened, K::accepted, K::vehicle_assigned, K::departed});
    WatchTimes times;
    times.travel_allow = 40min;  // due at 70 minutes
    const Instant raised = after(71min);
    events.push_back(raising(*alert(events, W::arrive, raised, times)));
    const auto told_at = [&](Seconds later) {
        return alert(events, W::arrive, raised + later, times)->told;
    };
    CHECK(told_at(0s) == Owners{Owner::driver});
    CHECK(told_at(2min + 59s) == Owners{Owner::driver});
    CHECK(told_at(3min) == Owners{Owner::driver, Owner::dispatcher});
    CHECK(told_at(6min) == Owners{Owner::driver, Owner::dispatcher, Owner::receiving_place});
    CHECK(told_at(9min).back() == Owner::sender);
    CHECK(told_at(9h).size() == 4);
    CHECK(alert(events, W::arrive, raised, times)->next_owner_at == raised + 3min);
    CHECK(alert(events, W::arrive, raised + 9min, times)->next_owner_at == std::nullopt);
    SUBCASE("a clock that steps back takes it from nobody twice") {
        CHECK(told_at(-30s) == Owners{Owner::driver});
    }
    SUBCASE("acknowledged in the fifth minute it stays with the dispatcher") {
        Event taken = told(K::alert_acknowledged, 75);
        taken.alert = "departed-30-arrive";
        CHECK_FALSE(refusal(events, taken).has_value());
        events.push_back(taken);
        const auto later = alert(events, W::arrive, raised + 30min, times);
        REQUIRE(later.has_value());
        CHECK(later->told == Owners{Owner::driver, Owner::dispatcher});
        CHECK(later->acknowledged_at == after(75min));
        CHECK(later->next_owner_at == std::nullopt);
    }
}

TEST_CASE("Each alert has an owner who can act") {
    SUBCASE("on a neighbour's motorcycle there is no driver of ours") {
        const Life life = life_of(told(Kinds{K::opened, K::departed}));
        CHECK(owners_of(life, W::arrive) ==
              Owners{Owner::dispatcher, Owner::receiving_place, Owner::sender});
    }
    SUBCASE("no place was found: nobody receives") {
        std::vector<Event> events{told(K::opened, 0), told(K::died_before_arrival, 5)};
        events[0].place.reset();
        CHECK(owners_of(life_of(events), W::return_outcome) == Owners{Owner::dispatcher});
    }
    SUBCASE("the time limit for care is everybody's, wherever she is") {
        Kinds kinds{K::opened, K::vehicle_assigned};
        CHECK(owners_of(life_of(told(kinds)), W::begin_care).front() == Owner::sender);
        kinds.push_back(K::departed);
        CHECK(owners_of(life_of(told(kinds)), W::begin_care).front() == Owner::driver);
        kinds.push_back(K::arrived);
        CHECK(owners_of(life_of(told(kinds)), W::begin_care).front() == Owner::receiving_place);
    }
    SUBCASE("never nobody") {
        for (int step = 0; step <= static_cast<int>(W::return_outcome); ++step) {
            CHECK_FALSE(owners_of(Life{}, static_cast<W>(step)).empty());
        }
    }
}

TEST_CASE("Contact counts as lost half an hour after she should be there") {
    // The margin is WatchSettings::contact_margin, a proposal.
    WatchTimes times;
    times.travel_allow = 40min;
    Kinds kinds{K::opened, K::departed};
    CHECK(contact_lost_at(life_of(told(kinds)), times) == after(10min + 40min + 30min));
    SUBCASE("not before she left, when it is lost, or when she is there") {
        for (const K last : {K::lost_contact, K::arrived, K::cancelled, K::refused}) {
            CHECK(contact_lost_at(life_of(told(Kinds{K::opened, K::departed, last})), times) ==
                  std::nullopt);
        }
        CHECK(contact_lost_at(life_of(told(Kinds{K::opened})), times) == std::nullopt);
    }
    SUBCASE("heard of again after her time: half an hour from then") {
        auto events = told(kinds);
        events.push_back(told(K::lost_contact, 80));
        events.push_back(told(K::contact_regained, 95));
        CHECK(contact_lost_at(life_of(events), times) == after(95min + 30min));
    }
}

TEST_CASE("Every alert, refusal, step and state has its words") {
    const Catalogue catalogue = english();
    for (int step = 0; step <= static_cast<int>(W::return_outcome); ++step) {
        CHECK(catalogue.has("referral.alert." + std::string(wire_name(static_cast<W>(step)))));
    }
    std::set<std::string> refusals{"referral.refusal.not_possible", "referral.refusal.same_id",
                                   "referral.refusal.nothing_to_correct",
                                   "referral.refusal.lacks_outcome"};
    for (const K kind : event_kinds()) {
        CHECK(catalogue.has("referral.event." + std::string(wire_name(kind))));
        Event bare;
        bare.kind = kind;
        if (const auto missing = missing_in(bare)) {
            refusals.insert(missing->id);
        }
    }
    CHECK(refusals.size() == 12);
    for (const std::string& id : refusals) {
        CAPTURE(id);
        CHECK(catalogue.has(id));
    }
    for (std::size_t state = 0; state < state_count; ++state) {
        CHECK(catalogue.has("referral.state." + std::string(wire_name(static_cast<State>(state)))));
    }
    const auto no =
        refusal(told(Kinds{K::opened, K::arrived, K::received, K::closed}), told(K::departed, 60));
    REQUIRE(no.has_value());
    CHECK(catalogue.text(with_steps_in_words(no->why, catalogue)) ==
          "Not possible now: she left. The referral is: closed. Possible now: outcome told to the "
          "sender, raise an alert, take on an alert, one case with another, not one case with "
          "another, withdraw what was told.");
}

TEST_CASE("After a breakdown the new vehicle is watched as the first one was") {
    auto events = told(Kinds{K::opened, K::vehicle_assigned, K::departed});
    const auto vehicle_at = [&](std::size_t index, const char* id) {
        events[index].vehicle = VehicleId{id};
    };
    vehicle_at(1, "first");
    auto more = told(
        Kinds{K::opened, K::vehicle_assigned, K::departed, K::vehicle_assigned, K::transport_sent});
    more[1].vehicle = VehicleId{"first"};
    more[3].vehicle = VehicleId{"second"};
    const std::vector<Event> assigned(more.begin(), more.begin() + 4);
    WatchTimes times;
    times.vehicle_reaches_her = more[4].occurred_at + 30min;
    const auto steps = [&](const std::vector<Event>& told_so_far) {
        std::vector<W> found;
        for (const AwaitedStep& step : awaited(life_of(told_so_far), times, {})) {
            found.push_back(step.step);
        }
        return found;
    };
    const auto waits_for = [&](const std::vector<Event>& told_so_far, W step) {
        const auto found = steps(told_so_far);
        return std::count(found.begin(), found.end(), step) == 1;
    };
    CHECK_FALSE(waits_for(events, W::set_out));
    CHECK(waits_for(assigned, W::set_out));
    CHECK_FALSE(waits_for(more, W::set_out));
    CHECK(waits_for(more, W::reach_her));
}

TEST_CASE("An alert goes from one owner to the next every three minutes, until it is taken on") {
    const std::vector owners{Owner::dispatcher, Owner::sender};
    const Instant raised_at = after(0min);
    const RaisedAlert raised{raised_at, {}};
    const auto told_by = [&](Seconds span, const RaisedAlert& alert) {
        return passed_on(alert, raised_at, owners, after(span)).told;
    };
    CHECK(told_by(0min, raised) == Owners{Owner::dispatcher});
    CHECK(told_by(3min - 1s, raised) == Owners{Owner::dispatcher});
    CHECK(told_by(3min, raised) == owners);
    CHECK(told_by(2h, raised) == owners);  // nobody is left
    CHECK(passed_on(raised, raised_at, owners, after(0min)).next_owner_at == after(3min));
    CHECK(passed_on(raised, raised_at, owners, after(3min)).next_owner_at == std::nullopt);
    const RaisedAlert taken{raised_at, after(2min)};
    CHECK(told_by(2h, taken) == Owners{Owner::dispatcher});
    CHECK(passed_on(taken, raised_at, owners, after(2h)).next_owner_at == std::nullopt);
}
