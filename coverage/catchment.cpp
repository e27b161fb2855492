#include "coverage/catchment.hpp"

#include <algorithm>
#include <numeric>

namespace waybourne::coverage {

namespace {

double weight_of(const std::optional<routing::TravelTime>& time, std::span<const Zone> zones) {
    const auto zone = std::find_if(zones.begin(), zones.end(), [&](const Zone& one) {
        return time && time->typical <= one.until;
    });
    return zone == zones.end() ? 0 : zone->weight;
}

void check(const TravelTimes& times, std::span<const double> demand, std::span<const double> supply,
           std::span<const Zone> zones) {
    if (demand.size() != times.settlements() || supply.size() != times.places()) {
        throw InputError("demand, supply and travel times do not fit each other");
    }
    for (const auto* const values : {&demand, &supply}) {
        if (std::any_of(values->begin(), values->end(), [](double one) { return one < 0; })) {
            throw InputError("demand and supply cannot be negative");
        }
    }
    for (std::size_t i = 0; i < zones.size(); ++i) {
        if (zones[i].weight < 0 || zones[i].weight > 1 ||
            (i > 0 && zones[i].until <= zones[i - 1].until)) {
            throw InputError("zones must rise, with weights between 0 and 1");
        }
    }
}

/// How much of each settlement counts at each place, row by row.
std::vector<double> parts_of(const TravelTimes& times, std::span<const Zone> zones,
                             Catchment kind) {
    std::vector<double> parts;
    parts.reserve(times.settlements() * times.places());
    for (std::size_t i = 0; i < times.settlements(); ++i) {
        for (std::size_t place = 0; place < times.places(); ++place) {
            parts.push_back(weight_of(times.at(i, place), zones));
        }
        const auto row = parts.end() - static_cast<std::ptrdiff_t>(times.places());
        const double sum = std::accumulate(row, parts.end(), 0.0);
        if (kind == Catchment::three_step && sum > 0) {
            std::for_each(row, parts.end(), [sum](double& part) { part *= part / sum; });
        }
    }
    return parts;
}

}  // namespace

std::vector<Zone> district_zones() {
    return {{30min, 1.00}, {60min, 0.68}, {120min, 0.22}};
}

CatchmentScores catchment_scores(const TravelTimes& times, std::span<const double> demand,
                                 std::span<const double> supply, std::span<const Zone> zones,
                                 Catchment kind) {
    check(times, demand, supply, zones);
    const std::vector<double> parts = parts_of(times, zones, kind);
    const std::size_t places = times.places();
    CatchmentScores scores{std::vector<double>(demand.size(), 0), {}};
    for (std::size_t place = 0; place < places; ++place) {
        double reached = 0;
        for (std::size_t i = 0; i < demand.size(); ++i) {
            reached += demand[i] * parts[i * places + place];
        }
        scores.of_place.push_back(reached > 0 ? std::optional(supply[place] / reached)
                                              : std::nullopt);
    }
    for (std::size_t i = 0; i < demand.size(); ++i) {
        for (std::size_t place = 0; place < places; ++place) {
            scores.of_settlement[i] +=
                scores.of_place[place].value_or(0) * parts[i * places + place];
        }
    }
    return scores;
}

}  // namespace waybourne::coverage
