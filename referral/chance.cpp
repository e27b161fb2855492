#include "referral/chance.hpp"

#include <algorithm>
#include <cmath>

namespace waybourne::referral {

namespace {

/// The 90th percentile of the standard normal distribution (any table).
constexpr double normal_90th = 1.2816;

double seconds(Seconds span) {
    return static_cast<double>(span.count());
}

/// Spread of the logarithm; 0 where nothing is unsure.
double sigma(const routing::TravelTime& travel_time) {
    if (travel_time.typical <= Seconds{0} || travel_time.allow <= travel_time.typical) {
        return 0;
    }
    return std::log(seconds(travel_time.allow) / seconds(travel_time.typical)) / normal_90th;
}

double variance(const routing::TravelTime& travel_time) {
    const double spread = sigma(travel_time);
    const double median = seconds(travel_time.typical);
    return median * median * (std::exp(spread * spread) - 1);
}

}  // namespace

double chance_within(const routing::TravelTime& travel_time, Seconds budget) {
    const double spread = sigma(travel_time);
    if (spread <= 0) {
        return std::max(travel_time.typical, travel_time.allow) <= budget ? 1 : 0;
    }
    if (budget <= Seconds{0}) {
        return 0;
    }
    const double z = std::log(seconds(budget) / seconds(travel_time.typical)) / spread;
    return 0.5 * std::erfc(-z / std::sqrt(2.0));
}

routing::TravelTime together(const routing::TravelTime& first, const routing::TravelTime& second) {
    const double median = seconds(first.typical) + seconds(second.typical);
    if (median <= 0) {
        return {Seconds{0}, first.allow + second.allow};
    }
    const double spread =
        std::sqrt(std::log(1 + (variance(first) + variance(second)) / (median * median)));
    return {first.typical + second.typical,
            Seconds{std::lround(median * std::exp(normal_90th * spread))}};
}

}  // namespace waybourne::referral
