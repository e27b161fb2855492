#include "referral/chance.hpp"

#include <doctest/doctest.h>

using namespace waybourne;
using namespace waybourne::referral;

TEST_CASE("Half of all trips take the typical time or less, nine in ten the allowed time") {
    const routing::TravelTime way{60min, 90min};
    CHECK(chance_within(way, 60min) == doctest::Approx(0.5));
    // The 90th percentile of the normal distribution is 1.2816 (any table).
    CHECK(chance_within(way, 90min) == doctest::Approx(0.9).epsilon(0.0001));
    // A log-normal is symmetric in ratios: 60 × 60/90 = 40 minutes is the 10th percentile.
    CHECK(chance_within(way, 40min) == doctest::Approx(0.1).epsilon(0.001));
}

TEST_CASE("With more time the chance never falls") {
    const routing::TravelTime way{45min, 60min};
    double last = 0;
    for (Seconds budget{0}; budget < 4h; budget += 60s) {
        const double chance = chance_within(way, budget);
        CHECK(chance >= last);
        CHECK(chance <= 1);
        last = chance;
    }
    CHECK(last > 0.999);
}

TEST_CASE("Without time there is no chance; without spread it is yes or no") {
    CHECK(chance_within({60min, 90min}, 0min) == 0);
    CHECK(chance_within({60min, 90min}, -5min) == 0);
    CHECK(chance_within({60min, 60min}, 60min) == 1);
    CHECK(chance_within({60min, 60min}, 60min - 1s) == 0);
    CHECK(chance_within({0min, 0min}, 0min) == 1);
}

TEST_CASE("Two ways in a row are surer than the sum of their allowed times says") {
    const routing::TravelTime one{60min, 80min};
    const auto both = together(one, one);
    CHECK(both.typical == 120min);
    // By hand: s = ln(80/60)/1.2816 = 0.22447; V = 3600 (e^(s²) - 1) = 186.0 min²; both 372.1;
    // s² = ln(1 + 372.1/14400) = 0.025511; 120 e^(1.2816 × 0.15972) = 147.26 min = 8836 s.
    CHECK(std::chrono::abs(both.allow - 8836s) <= 2s);
    CHECK(both.allow < 160min);
    CHECK(together({0s, 0s}, one).typical == 60min);
    CHECK(std::chrono::abs(together({0s, 0s}, one).allow - 80min) <= 1s);
}
