#include "routing/careful_router.hpp"

#include <doctest/doctest.h>

#include <array>

#include "routing/reference_router.hpp"
#include "tests/support/ascii_district.hpp"

// Each road drawn takes two minutes (tests/support/ascii_district.hpp). It is day until noon here.

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

const Instant noon = parse_rfc3339("2026-03-04T12:00:00Z");
const Instant always = noon + 1000h;

/// By night every road that is named takes twice as long; one may be closed from some moment on.
class DrawnRoads final : public ChangingRoads {
public:
    DrawnRoads(AsciiDistrict drawn, std::vector<std::string> roads, Instant dusk)
        : drawn_(std::move(drawn)), roads_(std::move(roads)), dusk_(dusk) {}

    void close_from(const std::string& road, Instant from) { closed_.emplace_back(road, from); }

    void ask(Instant /*from*/, Instant to, const Question& question) const override {
        AsciiDistrict then = drawn_;
        for (const std::string& road : roads_) {
            then = to >= dusk_ ? then.slow(road, 2) : then;
        }
        for (const auto& [road, from] : closed_) {
            then = to >= from ? then.close(road) : then;
        }
        ReferenceRouter router{then.metric()};
        question({router, *then.metric(), SnapIndex{drawn_.network()}});
        ++asked;
    }
    std::optional<Instant> next_turn(Instant /*from*/, Instant to) const override {
        std::optional<Instant> next;
        const auto turns = [&](Instant at) {
            if (at > to) {
                next = std::min(next.value_or(at), at);
            }
        };
        turns(dusk_);
        for (const auto& [road, from] : closed_) {
            turns(from);
        }
        return next;
    }

    mutable int asked = 0;

private:
    AsciiDistrict drawn_;
    std::vector<std::string> roads_;
    Instant dusk_;
    std::vector<std::pair<std::string, Instant>> closed_;
};

const AsciiDistrict line = ascii_district("A-B-C-D");

struct Asked {
    std::optional<Seconds> time;
    int searches = 0;
};

/// From A to the place, by `travel_times`; the way, the one round no road and the nearest say the
/// same.
Asked ask(const DrawnRoads& roads, char to, Instant departs) {
    CarefulRouter router{roads};
    const Departure departure{line.snap('A'), departs};
    const std::array there{line.snap(to)};
    const int before = roads.asked;
    const auto time = router.travel_times(departure, there, 24h).front();
    Asked asked{std::nullopt, roads.asked - before};
    const auto route = router.route(departure, there.front());
    const auto round = router.route_around(departure, there.front(), {});
    const auto nearest =
        router.nearest(departure, there, 1, 24h, ready_if([](std::size_t) { return true; }));
    CHECK(route.has_value() == time.has_value());
    CHECK(round == route);
    CHECK(nearest.size() == (time ? 1 : 0));
    if (time) {
        CHECK(route->travel_time == *time);
        CHECK(nearest.front().travel_time == *time);
        asked.time = time->typical;
    }
    return asked;
}

}  // namespace

TEST_CASE("A trip that ends before dusk is judged by day, and searched for once") {
    const DrawnRoads roads{line, {"AB", "BC", "CD"}, noon};
    const Asked early = ask(roads, 'D', noon - 1h);
    CHECK(early.time == 6min);
    CHECK(early.searches == 1);
    CHECK(ask(roads, 'D', noon - 6min).time == 6min);  // there as it gets dark
}

TEST_CASE("A trip that dusk falls on is judged by night, like one that begins at night") {
    const DrawnRoads roads{line, {"AB", "BC", "CD"}, noon};
    const Asked late = ask(roads, 'D', noon - 6min + 1s);
    CHECK(late.time == 12min);
    CHECK(late.searches == 2);
    const Asked by_night = ask(roads, 'D', noon);
    CHECK(by_night.time == 12min);
    CHECK(by_night.searches == 1);
}

TEST_CASE("Of several places only those that it gets dark before are judged by night") {
    const DrawnRoads roads{line, {"AB", "BC", "CD"}, noon};
    CarefulRouter router{roads};
    const std::array there{line.snap('D'), line.snap('A'), line.snap('B')};
    const auto times = router.travel_times({line.snap('A'), noon - 3min}, there, 24h);
    CHECK(times[0]->typical == 12min);
    CHECK(times[1]->typical == 0s);
    CHECK(times[2]->typical == 2min);
    // within ten minutes there is no way to D then
    CHECK_FALSE(router.travel_times({line.snap('A'), noon - 3min}, there, 10min)[0].has_value());
    const auto nearest = router.nearest({line.snap('A'), noon - 3min}, there, 2, 24h,
                                        ready_if([](std::size_t target) { return target != 1; }));
    REQUIRE(nearest.size() == 2);
    CHECK(nearest[0] == Nearest{2, *times[2], 2min});
    CHECK(nearest[1] == Nearest{0, *times[0], 12min});
}

TEST_CASE("Setting out a little before roads turn worse never brings one there sooner") {
    // An hour before, and the quarter of an hour after.
    DrawnRoads roads{ascii_district("A-B-C-D"), {"AB", "CD"}, noon};
    for (const char to : {'B', 'C', 'D'}) {
        std::optional<Instant> arrived;
        for (Instant departs = noon + 15min; departs >= noon - 1h; departs -= 10s) {
            const auto time = ask(roads, to, departs).time;
            REQUIRE(time);
            CAPTURE(to_rfc3339(departs));
            if (arrived) {
                CHECK(departs + *time <= *arrived);
            }
            arrived = departs + *time;
        }
    }
}

TEST_CASE(
    "A road that closes while she is under way is not counted on, and its places are still met") {
    const AsciiDistrict drawn = ascii_district(R"(
A-B-C
|   |
D-E-F)");
    DrawnRoads roads{drawn, {}, always};
    roads.close_from("BC", noon);
    CarefulRouter router{roads};
    const auto time = [&](Instant departs) {
        return router.travel_times({drawn.snap('A'), departs}, std::array{drawn.snap('C')}, 24h)
            .front()
            ->typical;
    };
    CHECK(time(noon - 10min) == 4min);
    CHECK(time(noon - 4min) == 4min);
    CHECK(time(noon - 1min) == 8min);  // round by D, E and F
    CHECK(time(noon) == 8min);
    // a place beside the closed road gets onto the next one
    const auto beside =
        SnapIndex{drawn.network()}.snap(drawn.beside('B', 0.5, 0.1), *drawn.metric());
    REQUIRE(beside);
    const auto there = router.route({drawn.snap('A'), noon - 1min}, *beside);
    const auto later = router.route({drawn.snap('A'), noon}, *beside);
    REQUIRE(there);
    CHECK(there == later);
}

TEST_CASE("Each turn before the arrival counts, and none after it") {
    DrawnRoads roads{line, {"AB", "BC", "CD"}, noon};
    roads.close_from("CD", noon + 10min);
    CHECK(ask(roads, 'D', noon - 8min).time == 6min);
    // by night it takes until 12:08, before the road closes
    CHECK(ask(roads, 'D', noon - 4min).time == 12min);
    // by night it takes until 12:11, after that
    const Asked closed = ask(roads, 'D', noon - 1min);
    CHECK(closed.time > 12min);  // on foot from C
    CHECK(closed.searches == 3);
}
