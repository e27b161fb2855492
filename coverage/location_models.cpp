#include <algorithm>
#include <cmath>

#include "coverage/location.hpp"

namespace waybourne::coverage {

namespace {

using routing::TravelTime;

/// @param value of a way, 0 or less where the option does not serve
template <typename Value>
LocationModel model_of(const TravelTimes& times, std::span<const double> births,
                       const Value& value) {
    if (births.size() != times.settlements()) {
        throw InputError("births and travel times do not fit each other");
    }
    LocationModel model;
    model.births.assign(births.begin(), births.end());
    model.options.resize(times.places());
    model.serves.resize(times.places());
    for (std::uint32_t i = 0; i < births.size(); ++i) {
        for (std::size_t j = 0; j < times.places(); ++j) {
            const auto way = times.at(i, j);
            const double worth = way ? value(*way) : 0;
            if (worth > 0) {
                model.serves[j].push_back({i, worth});
            }
        }
    }
    return model;
}

double within(const TravelTime& way, Seconds standard) {
    return way.allow <= standard ? 1 : 0;
}

}  // namespace

LocationModel covering(const TravelTimes& times, std::span<const double> births, Seconds standard,
                       const std::vector<bool>& covered) {
    LocationModel model =
        model_of(times, births, [&](const TravelTime& way) { return within(way, standard); });
    for (const bool is_covered : covered) {
        model.already.push_back(is_covered ? 1 : 0);
    }
    return model;
}

LocationModel gradual_covering(const TravelTimes& times, std::span<const double> births,
                               Seconds near, Seconds far) {
    if (far <= near) {
        throw InputError("the far limit must lie beyond the near one");
    }
    LocationModel model = model_of(times, births, [&](const TravelTime& way) {
        const double left = static_cast<double>((far - way.allow).count());
        return std::min(1.0, left / static_cast<double>((far - near).count()));
    });
    model.by_count.clear();
    return model;
}

LocationModel backup_covering(const TravelTimes& times, std::span<const double> births,
                              Seconds standard, double first) {
    if (first < 0.5 || first > 1) {
        throw InputError("the first cover counts 0.5 to 1, the second what is left");
    }
    LocationModel model = covering(times, births, standard);
    model.by_count = {first, 1 - first};
    return model;
}

LocationModel expected_covering(const TravelTimes& times, std::span<const double> births,
                                Seconds standard, double busy, std::uint32_t most_of_one) {
    if (busy < 0 || busy > 1) {
        throw InputError("a share of busy time lies between 0 and 1");
    }
    LocationModel model = covering(times, births, standard);
    model.most_of_one = most_of_one;
    const std::size_t most = std::min<std::size_t>(most_of_one * times.places(), 50);
    model.by_count.clear();
    for (std::size_t k = 0; k < most; ++k) {
        model.by_count.push_back((1 - busy) * std::pow(busy, static_cast<double>(k)));
    }
    return model;
}

}  // namespace waybourne::coverage
