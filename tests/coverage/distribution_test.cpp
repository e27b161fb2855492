#include "coverage/distribution.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "tests/facilities/source_table.hpp"

using namespace waybourne::coverage;

namespace {

/// Four villages: 400, 300, 200 and 100 births, 20, 40, 60 and 150 minutes. Our own numbers.
const std::vector<Weighted> four_villages{{20, 400}, {40, 300}, {60, 200}, {150, 100}};

/// The definition, pair by pair.
double gini_by_pairs(const std::vector<Weighted>& values) {
    double differences = 0;
    double whole = 0;
    double sum = 0;
    for (const Weighted& a : values) {
        whole += a.weight;
        sum += a.weight * *a.value;
        for (const Weighted& b : values) {
            differences += a.weight * b.weight * std::abs(*a.value - *b.value);
        }
    }
    return differences / (2 * whole * whole * (sum / whole));
}

}  // namespace

TEST_CASE("Mean, worst tenth and Gini of four villages are those worked by hand") {
    const Distribution made = distribution(four_villages).value();
    CHECK(made.mean == doctest::Approx(47));  // 8 + 12 + 12 + 15
    CHECK(made.worst_decile == doctest::Approx(150));
    // pairs: (2.4 + 3.2 + 5.2 + 1.2 + 3.3 + 1.8) million = 17.1 million; 34.2 / (2 × 47)
    CHECK(made.gini.value() == doctest::Approx(0.36383).epsilon(1e-4));
    CHECK(made.median == 40);
    CHECK(made.ninetieth == 60);
    // worst fifth: 100 at 150 and 100 at 60; best fifth: 200 at 20
    CHECK(made.worst_to_best_fifth.value() == doctest::Approx(105.0 / 20));
    CHECK(made.share_without == 0);
}

TEST_CASE("The village on the edge of the worst tenth counts in part") {
    // 30 births at 100 and 70 of the 200 at 60 minutes
    const std::vector<Weighted> values{{20, 770}, {60, 200}, {100, 30}};
    CHECK(distribution(values)->worst_decile == doctest::Approx((30 * 100 + 70 * 60) / 100.0));
}

TEST_CASE("Those without a way are named as a share, never given a number") {
    const std::vector<Weighted> values{{20, 300}, {std::nullopt, 100}};
    const Distribution made = distribution(values).value();
    CHECK(made.share_without == doctest::Approx(0.25));
    CHECK(made.mean == doctest::Approx(20));
    CHECK(!distribution(std::vector<Weighted>{{std::nullopt, 100}}).has_value());
    CHECK(!distribution({}).has_value());
}

TEST_CASE("All alike is a Gini of nothing; all in one place comes near to one") {
    CHECK(distribution(std::vector<Weighted>{{5, 1}, {5, 9}})->gini.value() == doctest::Approx(0));
    CHECK(distribution(std::vector<Weighted>{{0, 999}, {7, 1}})->gini.value() ==
          doctest::Approx(0.999));
    CHECK(!distribution(std::vector<Weighted>{{0, 1}})->gini.has_value());
}

TEST_CASE("The fast sum of the Gini equals its definition over all pairs") {
    std::mt19937 random{20261126};
    MESSAGE("seed 20261126");
    std::size_t compared = 0;
    for (int round = 0; round < 200; ++round) {
        std::vector<Weighted> values;
        const std::size_t count = 1 + random() % 30;
        for (std::size_t i = 0; i < count; ++i) {
            values.push_back({1.0 + static_cast<double>(random() % 50),
                              1.0 + static_cast<double>(random() % 9)});
        }
        CHECK(distribution(values)->gini.value() == doctest::Approx(gini_by_pairs(values)));
        ++compared;
    }
    MESSAGE(compared << " distributions compared");
}

TEST_CASE("A quantile is the least value that enough births do not exceed") {
    // the inverse of the cumulative distribution, by hand: 0.4, 0.7, 0.9, 1
    CHECK(weighted_quantile(four_villages, 0.4) == 20);
    CHECK(weighted_quantile(four_villages, 0.41) == 40);
    CHECK(weighted_quantile(four_villages, 0.9) == 60);
    CHECK(weighted_quantile(four_villages, 0.91) == 150);
    CHECK(weighted_quantile(four_villages, 1) == 150);
    CHECK(!weighted_quantile({}, 0.5).has_value());
}

TEST_CASE("Means, quantiles and Gini coefficients are those that numpy gives for the same births") {
    const nlohmann::json table = waybourne::facilities::load_table("distribution.json");
    REQUIRE(table.at("rows").size() == 200);
    for (const nlohmann::json& row : table.at("rows")) {
        CAPTURE(row.at("name").get<std::string>());
        std::vector<Weighted> values;
        for (std::size_t i = 0; i < row.at("values").size(); ++i) {
            values.push_back(
                {row.at("values")[i].get<double>(), row.at("weights")[i].get<double>()});
        }
        const Distribution made = distribution(values).value();
        CHECK(made.mean == doctest::Approx(row.at("mean").get<double>()));
        CHECK(made.gini.value() == doctest::Approx(row.at("gini").get<double>()));
        for (std::size_t i = 0; i < row.at("shares").size(); ++i) {
            CHECK(weighted_quantile(values, row.at("shares")[i].get<double>()) ==
                  row.at("quantiles")[i].get<double>());
        }
    }
}

TEST_CASE("When the poor are farther away the concentration index is below nothing") {
    // two equal halves, the poor at 3 and the rich at 1: 2 (3·¼ + 1·¾)/2 · ½ − 1 = −¼, by hand
    const std::vector<Ranked> poor_far{{{3, 10}, 1}, {{1, 10}, 2}};
    CHECK(concentration_index(poor_far).value() == doctest::Approx(-0.25));
    const std::vector<Ranked> rich_far{{{1, 10}, 1}, {{3, 10}, 2}};
    CHECK(concentration_index(rich_far).value() == doctest::Approx(0.25));
    SUBCASE("the same rank twice is one place in the order") {
        const std::vector<Ranked> equal{{{3, 10}, 1}, {{1, 10}, 1}};
        CHECK(concentration_index(equal).value() == doctest::Approx(0));
    }
    SUBCASE("of those without a rank nothing is said") {
        CHECK(!concentration_index(std::vector<Ranked>{{{3, 10}, std::nullopt}}).has_value());
    }
}
