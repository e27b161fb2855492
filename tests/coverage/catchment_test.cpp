#include "coverage/catchment.hpp"

#include <doctest/doctest.h>

#include <random>

#include "tests/coverage/small_district.hpp"
#include "tests/facilities/source_table.hpp"

using namespace waybourne;
using namespace waybourne::coverage;

namespace {

// Two surgical teams at A, one at B; 20,000, 30,000 and 50,000 people; minutes to A: 20, 50, 110;
// to B: 100, 40, 25. Our own numbers, worked by hand and by an independent program, with the
// formulas of Luo and Qi 2009 and of Wan, Zou and Sternberg 2012.
const std::vector<double> people{20'000, 30'000, 50'000};
const std::vector<double> teams{2, 1};

TravelTimes ways() {
    return minutes_table({{20, 100}, {50, 40}, {110, 25}});
}

double served(const CatchmentScores& scores, const std::vector<double>& demand) {
    double sum = 0;
    for (std::size_t i = 0; i < demand.size(); ++i) {
        sum += demand[i] * scores.of_settlement[i];
    }
    return sum;
}

}  // namespace

TEST_CASE("Two steps: three towns share two hospitals as worked by hand") {
    const CatchmentScores scores = catchment_scores(ways(), people, teams, district_zones());
    CHECK(scores.of_place[0].value() == doctest::Approx(3.89105e-5).epsilon(1e-5));
    CHECK(scores.of_place[1].value() == doctest::Approx(1.33690e-5).epsilon(1e-5));
    CHECK(scores.of_settlement[0] * 1e5 == doctest::Approx(4.18517).epsilon(1e-5));
    CHECK(scores.of_settlement[1] * 1e5 == doctest::Approx(3.55501).epsilon(1e-5));
    CHECK(scores.of_settlement[2] * 1e5 == doctest::Approx(2.19293).epsilon(1e-5));
    CHECK(served(scores, people) == doctest::Approx(3));
}

TEST_CASE("Three steps: nobody is counted twice, as worked by hand") {
    const CatchmentScores scores =
        catchment_scores(ways(), people, teams, district_zones(), Catchment::three_step);
    CHECK(scores.of_settlement[0] * 1e5 == doctest::Approx(5.81290).epsilon(1e-5));
    CHECK(scores.of_settlement[1] * 1e5 == doctest::Approx(3.03367).epsilon(1e-5));
    CHECK(scores.of_settlement[2] * 1e5 == doctest::Approx(1.85464).epsilon(1e-5));
    CHECK(served(scores, people) == doctest::Approx(3));
}

TEST_CASE("Whatever the district, what is given out is what is there") {
    std::mt19937 random{7};
    MESSAGE("seed 7");
    for (int round = 0; round < 100; ++round) {
        const std::size_t towns = 1 + random() % 12;
        std::vector<std::vector<int>> minutes(towns, std::vector<int>(4));
        std::vector<double> demand;
        for (auto& row : minutes) {
            for (int& way : row) {
                way = random() % 5 == 0 ? no_way : static_cast<int>(random() % 150);
            }
            demand.push_back(1.0 + static_cast<double>(random() % 1000));
        }
        const std::vector<double> supply{1, 2, 3, 4};
        for (const Catchment kind : {Catchment::two_step, Catchment::three_step}) {
            const CatchmentScores scores =
                catchment_scores(minutes_table(minutes), demand, supply, district_zones(), kind);
            double there = 0;
            for (std::size_t place = 0; place < supply.size(); ++place) {
                there += scores.of_place[place] ? supply[place] : 0;
            }
            CHECK(served(scores, demand) == doctest::Approx(there));
        }
    }
}

TEST_CASE(
    "Every share is that of the formulas in exact fractions, a published example among them") {
    const auto table = facilities::load_table("catchment.json");
    REQUIRE(table.at("rows").size() == 128);
    for (const auto& row : table.at("rows")) {
        CAPTURE(row.at("name").get<std::string>());
        std::vector<std::vector<int>> minutes;
        for (const auto& town : row.at("minutes")) {
            minutes.emplace_back();
            for (const auto& way : town) {
                minutes.back().push_back(way.is_null() ? no_way : way.get<int>());
            }
        }
        std::vector<Zone> zones;
        for (const auto& zone : row.at("zones")) {
            zones.push_back(
                {std::chrono::minutes{zone.at(0).get<int>()}, zone.at(1).get<double>()});
        }
        const CatchmentScores scores = catchment_scores(
            minutes_table(minutes), row.at("demand").get<std::vector<double>>(),
            row.at("supply").get<std::vector<double>>(), zones,
            row.at("three_step").get<bool>() ? Catchment::three_step : Catchment::two_step);
        for (std::size_t i = 0; i < scores.of_settlement.size(); ++i) {
            CHECK(scores.of_settlement[i] ==
                  doctest::Approx(row.at("of_town").at(i).get<double>()).epsilon(1e-9));
        }
        for (std::size_t place = 0; place < scores.of_place.size(); ++place) {
            const auto& expected = row.at("of_place").at(place);
            REQUIRE(scores.of_place[place].has_value() == !expected.is_null());
            if (scores.of_place[place]) {
                CHECK(*scores.of_place[place] ==
                      doctest::Approx(expected.get<double>()).epsilon(1e-9));
            }
        }
    }
}

TEST_CASE("A town beyond the last zone scores nothing, and nonsense is refused") {
    const CatchmentScores scores = catchment_scores(minutes_table({{121}}), std::vector<double>{9},
                                                    std::vector<double>{1}, district_zones());
    CHECK(scores.of_settlement[0] == 0);
    CHECK(!scores.of_place[0].has_value());
    CHECK_THROWS_AS(catchment_scores(ways(), std::vector<double>{1, 2}, teams, district_zones()),
                    InputError);
    CHECK_THROWS_AS(
        catchment_scores(ways(), std::vector<double>{1, -2, 3}, teams, district_zones()),
        InputError);
    const std::vector<Zone> falling{{60min, 1}, {30min, 0.5}};
    CHECK_THROWS_AS(catchment_scores(ways(), people, teams, falling), InputError);
}
