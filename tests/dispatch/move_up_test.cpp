#include "dispatch/move_up.hpp"

#include <doctest/doctest.h>

#include <array>
#include <random>

namespace waybourne::dispatch {

namespace {

constexpr double busy = 0.4;

/// The cover with one vehicle at another base, counted anew: the rule that a move is judged by.
double cover_after(const Waiting& waiting, std::span<const std::size_t> idle, std::size_t vehicle,
                   std::size_t base) {
    ReachTable table = waiting.now;
    for (std::size_t zone = 0; zone < waiting.zones.size(); ++zone) {
        table.set(zone, vehicle, waiting.from_bases[vehicle].reaches(zone, base));
    }
    return expected_cover(waiting.zones, table, idle, waiting.busy);
}

/// Weights 50, 30, 20. Both vehicles stand at the first base, which reaches zone one; the second
/// base reaches zones two and three.
struct TwoAtOneBase {
    std::array<Zone, 3> zones{Zone{"one", 50}, Zone{"two", 30}, Zone{"three", 20}};
    ReachTable table{3, 2};
    std::vector<ReachTable> from_bases{ReachTable{3, 2}, ReachTable{3, 2}};
    std::array<std::size_t, 2> both{0, 1};
    TwoAtOneBase() {
        for (std::size_t vehicle = 0; vehicle < 2; ++vehicle) {
            table.set(0, vehicle);
            from_bases[vehicle].set(0, 0);
            from_bases[vehicle].set(1, 1);
            from_bases[vehicle].set(2, 1);
        }
    }
    Waiting waiting(double least_gain = 1) const {
        return {zones, table, from_bases, busy, least_gain};
    }
};

}  // namespace

TEST_CASE("Of two vehicles that stand together one should wait where nobody reaches") {
    // Both at the first base: 50·(1 − 0.4²) = 42. One of them at the second: 50·0.6 + 50·0.6 = 60.
    const TwoAtOneBase given;
    const auto moves = moves_to_make(given.waiting(), given.both, 3);
    REQUIRE(moves.size() == 1);  // the other stays: 60 − 42 would be lost again
    CHECK(moves[0].vehicle == 0);
    CHECK(moves[0].base == 1);
    CHECK(moves[0].gains == doctest::Approx(18));
    CHECK(moves_to_make(given.waiting(18.1), given.both, 3).empty());
    CHECK(moves_to_make(given.waiting(), given.both, 0).empty());
}

TEST_CASE("A call for the one that stands alone makes the other move up, the other way round not") {
    // The first vehicle waits at the second base. When it is called, the second one reaches
    // 50·0.6 = 30 where it stands, and as many at the second base: nothing to gain. With more
    // births in zone two it moves: 60·0.6 + 20·0.6 = 48 instead of 30.
    TwoAtOneBase given;
    for (std::size_t zone = 0; zone < 3; ++zone) {
        given.table.set(zone, 0, zone != 0);
    }
    CHECK(move_ups(given.waiting(), given.both).empty());
    given.zones[1].weight = 60;
    const auto ups = move_ups(given.waiting(), given.both);
    REQUIRE(ups.size() == 1);
    CHECK(ups[0].called == 0);
    CHECK(ups[0].move.vehicle == 1);
    CHECK(ups[0].move.base == 1);
    CHECK(ups[0].before == doctest::Approx(30));
    CHECK(ups[0].after == doctest::Approx(48));
}

TEST_CASE("Who is the last one within reach of an area is named before it leaves") {
    TwoAtOneBase given;
    CHECK(last_vehicles(given.zones, given.table, given.both).empty());
    given.table.set(1, 1);
    given.table.set(2, 1);
    given.zones[2].weight = 40;
    const auto lasts = last_vehicles(given.zones, given.table, given.both);
    REQUIRE(lasts.size() == 1);
    CHECK(lasts[0] == LastVehicle{1, {2, 1}});  // the larger one first
    given.zones[2].weight = 0;                  // nobody calls from there
    CHECK(last_vehicles(given.zones, given.table, given.both) == std::vector{LastVehicle{1, {1}}});
    const std::array<std::size_t, 1> alone{0};
    CHECK(last_vehicles(given.zones, given.table, alone) == std::vector{LastVehicle{0, {0}}});
}

TEST_CASE("No other move of one vehicle would bring more calls within reach") {
    // Against every move tried and the cover counted anew.
    constexpr unsigned trials = 500;
    int moved = 0;
    for (unsigned seed = 1; seed <= trials; ++seed) {
        CAPTURE(seed);
        std::mt19937 random{seed};
        const std::size_t zone_count = 1 + random() % 6;
        const std::size_t vehicle_count = 1 + random() % 5;
        const std::size_t base_count = random() % 5;
        std::vector<Zone> zones;
        ReachTable table(zone_count, vehicle_count);
        std::vector<ReachTable> from_bases(vehicle_count, ReachTable(zone_count, base_count));
        for (std::size_t zone = 0; zone < zone_count; ++zone) {
            zones.push_back({"", static_cast<double>(random() % 50)});
            for (std::size_t vehicle = 0; vehicle < vehicle_count; ++vehicle) {
                table.set(zone, vehicle, random() % 2 == 0);
                for (std::size_t base = 0; base < base_count; ++base) {
                    from_bases[vehicle].set(zone, base, random() % 2 == 0);
                }
            }
        }
        std::vector<std::size_t> idle;
        for (std::size_t vehicle = 0; vehicle < vehicle_count; ++vehicle) {
            if (random() % 4 != 0) {
                idle.push_back(vehicle);
            }
        }
        const Waiting waiting{zones, table, from_bases, busy, 1};
        const double before = expected_cover(zones, table, idle, busy);
        double most = 0;
        for (const std::size_t vehicle : idle) {
            for (std::size_t base = 0; base < base_count; ++base) {
                most = std::max(most, cover_after(waiting, idle, vehicle, base) - before);
            }
        }
        const auto best = best_move(waiting, idle);
        REQUIRE(best.has_value() == (most >= 1));
        if (best) {
            CHECK(best->gains == doctest::Approx(most));
            CHECK(cover_after(waiting, idle, best->vehicle, best->base) - before ==
                  doctest::Approx(most));
            ++moved;
        }
    }
    CHECK(moved > 100);
}

}  // namespace waybourne::dispatch
