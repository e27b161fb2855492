#include "coverage/observed.hpp"

#include <algorithm>

#include "coverage/distribution.hpp"

namespace waybourne::coverage {

namespace {

std::optional<double> quantile(const std::vector<double>& values, double share) {
    std::vector<Weighted> weighted;
    weighted.reserve(values.size());
    for (const double value : values) {
        weighted.push_back({value, 1});
    }
    return weighted_quantile(weighted, share);
}

std::optional<Seconds> quantile(const std::vector<Seconds>& spans, double share) {
    std::vector<double> seconds;
    seconds.reserve(spans.size());
    for (const Seconds span : spans) {
        seconds.push_back(static_cast<double>(span.count()));
    }
    const auto found = quantile(seconds, share);
    return found ? std::optional(Seconds{static_cast<Seconds::rep>(*found)}) : std::nullopt;
}

Calibration calibration(routing::RoadConditions conditions,
                        std::span<const ObservedJourney> journeys) {
    std::vector<double> ratios;
    double within = 0;
    for (const ObservedJourney& journey : journeys) {
        if (journey.conditions == conditions && journey.modelled.typical > 0s) {
            ratios.push_back(static_cast<double>(journey.took.count()) /
                             static_cast<double>(journey.modelled.typical.count()));
            within += journey.took <= journey.modelled.allow ? 1 : 0;
        }
    }
    Calibration made{conditions, ratios.size(), {}, {}, {}};
    if (ratios.size() < fewest_told) {
        return made;
    }
    made.median_ratio = quantile(ratios, 0.5);
    made.share_within_allow = within / static_cast<double>(ratios.size());
    if (ratios.size() >= fewest_to_calibrate && *made.median_ratio > 0) {
        made.speed_factor = 1 / *made.median_ratio;
    }
    return made;
}

}  // namespace

ObservedSpread spread_of(const std::vector<Seconds>& spans) {
    ObservedSpread made{spans.size(), {}, {}};
    if (spans.size() >= fewest_told) {
        made.median = quantile(spans, 0.5);
        made.ninetieth = quantile(spans, 0.9);
    }
    return made;
}

std::vector<Calibration> calibrations(std::span<const ObservedJourney> journeys) {
    std::vector<Calibration> all;
    for (const auto surface : {routing::Surface::dry, routing::Surface::wet}) {
        for (const auto light : {routing::Light::day, routing::Light::night}) {
            all.push_back(calibration({surface, light}, journeys));
        }
    }
    return all;
}

}  // namespace waybourne::coverage
