#include "server/roads.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <thread>

#include "server/current.hpp"
#include "server/load_district.hpp"
#include "server/program_files.hpp"
#include "tests/server/served_sample.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server::test {

namespace {

const Instant now = parse_rfc3339(sample_now);

std::shared_ptr<const Snapshot> sample(EngineChoice engine) {
    LoadOptions options;
    options.folder = program_folder() / "maps-sample";
    options.now = now;
    options.most_routers = 4;
    options.engine = engine;
    return load_district(options);
}

using Times = std::vector<std::optional<routing::TravelTime>>;

/// From one facility to all others, by car on dry roads by day.
Times times_from(const Roads& roads, std::size_t facility) {
    const Roads::State state = roads.state({}, now);
    Roads::Lease lease = roads.lend(state);
    std::vector<routing::Snap> targets;
    for (const auto& snap : state.facility_snaps()) {
        targets.push_back(snap.value_or(routing::Snap{}));
    }
    return lease.router().travel_times({targets[facility], now}, targets, 48h);
}

/// One road that leads somewhere is closed, then another.
std::vector<routing::RoadChange> closure(const Roads& roads, std::uint32_t number) {
    const std::uint32_t pieces = roads.network().piece_count();
    const auto road = roads.network().piece(routing::PieceId{number * 97 % pieces}).road;
    return {{.id = "closed",
             .where = road,
             .slower_by = std::nullopt,
             .period = {},
             .means = routing::MeansSet::all(),
             .reason = "bridge out"}};
}

}  // namespace

TEST_CASE("Either engine can be asked for, and both answer the same") {
    // common practice, no source: the oracle is the reference engine
    const auto by_reference = sample(EngineChoice::reference);
    const auto by_hierarchy = sample(EngineChoice::hierarchy);
    REQUIRE(by_reference->roads->engine() == Engine::reference);
    REQUIRE(by_hierarchy->roads->engine() == Engine::hierarchy);
    for (std::size_t facility = 0; facility < by_reference->facilities.facilities().size();
         ++facility) {
        CHECK(times_from(*by_reference->roads, facility) ==
              times_from(*by_hierarchy->roads, facility));
    }
}

TEST_CASE("A small map is answered by the reference engine, a larger one by the hierarchy") {
    CHECK(engine_for(EngineChoice::automatic, fewest_nodes_for_hierarchy - 1) == Engine::reference);
    CHECK(engine_for(EngineChoice::automatic, fewest_nodes_for_hierarchy) == Engine::hierarchy);
    CHECK(engine_for(EngineChoice::reference, 1'000'000) == Engine::reference);
    CHECK(engine_for(EngineChoice::hierarchy, 1) == Engine::hierarchy);
    CHECK(parse_engine_choice("hierarchy") == EngineChoice::hierarchy);
    CHECK_THROWS_AS(parse_engine_choice("fast"), InputError);
}

TEST_CASE("Roads under a new closure answer as roads loaded with it, and the old ones as before") {
    for (const EngineChoice engine : {EngineChoice::reference, EngineChoice::hierarchy}) {
        const auto roads = sample(engine)->roads;
        const Times before = times_from(*roads, 0);
        for (std::uint32_t number = 0; number < 10; ++number) {
            const auto closed = roads->with_changes(closure(*roads, number), now);
            CHECK(times_from(*closed, 0) ==
                  times_from(*sample(EngineChoice::reference)
                                  ->roads->with_changes(closure(*roads, number), now),
                             0));
            CHECK(times_from(*closed->with_changes({}, now), 0) == before);
        }
        CHECK(times_from(*roads, 0) == before);
    }
}

TEST_CASE("What passes over the whole network need is made once for each state of the roads") {
    const auto snapshot = sample(EngineChoice::hierarchy);
    const Roads& roads = *snapshot->roads;
    std::vector<std::shared_ptr<const routing::SweptMetric>> made(8);
    {
        std::vector<std::jthread> threads;
        for (auto& one : made) {
            threads.emplace_back([&roads, &one] { one = roads.state({}, now).swept(); });
        }
    }
    REQUIRE(made.front() != nullptr);
    for (const auto& one : made) {
        CHECK(one == made.front());
    }
    CHECK(&made.front()->prepared() == roads.state({}, now).prepared().get());
    const WayKind by_night{routing::Means::car, {routing::Surface::dry, routing::Light::night}};
    CHECK(roads.state(by_night, now).swept() != made.front());
    // under a closure they are others, of the roads as they are then; these stay
    const auto closed = roads.with_changes(closure(roads, 3), now);
    const auto anew = closed->state({}, now).swept();
    CHECK(anew != made.front());
    CHECK(&anew->prepared() == closed->state({}, now).prepared().get());
    CHECK(roads.state({}, now).swept() == made.front());
    // the reference engine has none
    CHECK(sample(EngineChoice::reference)->roads->state({}, now).swept() == nullptr);
}

TEST_CASE("Over a stretch of time every change counts that is in force at some moment of it") {
    const auto from = [](std::vector<routing::RoadChange> changes, Instant begins, Instant ends) {
        for (routing::RoadChange& change : changes) {
            change.period = {begins, ends};
        }
        return changes;
    };
    const auto open = sample(EngineChoice::hierarchy)->roads;
    const auto closed = open->with_changes(closure(*open, 3), now);
    const auto soon = open->with_changes(from(closure(*open, 3), now + 1h, now + 2h), now);
    const auto is_as = [&](const Roads& roads, Instant first, Instant last) {
        const Roads::State one = soon->state({}, first, last);
        const Roads::State other = roads.state({}, now);
        return std::ranges::equal(one.metric()->typical_ds(), other.metric()->typical_ds());
    };
    REQUIRE_FALSE(std::ranges::equal(open->state({}, now).metric()->typical_ds(),
                                     closed->state({}, now).metric()->typical_ds()));
    CHECK(is_as(*open, now, now));
    CHECK(is_as(*open, now, now + 1h - 1s));
    CHECK(is_as(*closed, now, now + 1h));
    CHECK(is_as(*closed, now, now + 9h));
    CHECK(is_as(*closed, now + 2h - 1s, now + 9h));
    CHECK(is_as(*open, now + 2h, now + 9h));
    CHECK(soon->next_turn(routing::Means::car, now) == now + 1h);
    CHECK_FALSE(soon->next_turn(routing::Means::car, now + 1h).has_value());
    // weights and searches belong together, whichever state was made from which
    const Roads::State then = soon->state({}, now, now + 1h);
    const Roads::State shut = closed->state({}, now);
    CHECK(soon->lend(then).router().travel_times({*then.facility_snaps()[0], now},
                                                 std::array{*then.facility_snaps()[1]}, 48h) ==
          closed->lend(shut).router().travel_times({*shut.facility_snaps()[0], now},
                                                   std::array{*shut.facility_snaps()[1]}, 48h));
}

TEST_CASE("While roads close and open, every answer is that of one state of the roads") {
    const auto open = sample(EngineChoice::hierarchy)->roads;
    constexpr std::uint32_t states = 6;
    std::vector<Times> expected;
    for (std::uint32_t state = 0; state < states; ++state) {
        expected.push_back(times_from(*open->with_changes(closure(*open, state), now), 0));
    }
    Current<Roads> current{open->with_changes(closure(*open, 0), now)};
    std::atomic<bool> is_over = false;
    std::atomic<std::size_t> answers = 0;
    std::atomic<std::size_t> wrong = 0;
    std::vector<std::jthread> readers;
    for (int reader = 0; reader < 3; ++reader) {
        readers.emplace_back([&] {
            while (!is_over) {
                const auto roads = current.get();
                const Times times = times_from(*roads, 0);
                wrong += std::count(expected.begin(), expected.end(), times) == 0 ? 1 : 0;
                ++answers;
            }
        });
    }
    std::size_t swaps = 0;
    for (std::uint32_t round = 0; round < 60 || answers < 100; ++round) {
        current.publish(current.get()->with_changes(closure(*open, round % states), now));
        ++swaps;
    }
    is_over = true;
    readers.clear();
    MESSAGE("answers: " << answers.load() << ", swaps: " << swaps);
    CHECK(wrong == 0);
    CHECK(answers >= 100);
}

}  // namespace waybourne::server::test
