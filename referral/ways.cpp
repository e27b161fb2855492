#include "referral/ways.hpp"

namespace waybourne::referral {

Ways::Ways(routing::Router& router, const Situation& situation)
    : router_(&router),
      snaps_(situation.snaps),
      start_(situation.start),
      limit_(situation.settings->search_limit) {
    for (std::size_t place = 0; place < snaps_.size(); ++place) {
        if (!snaps_[place]) {
            continue;
        }
        on_the_map_.push_back(place);
        if (situation.is_considered[place] && situation.offers_any(place, situation.to_meet)) {
            useful_.push_back(place);
        }
    }
}

routing::Departure Ways::departure(std::optional<std::size_t> from, Instant departs) const {
    return {from ? snaps_[*from].value() : start_->from, departs};
}

TravelTimes Ways::search(std::optional<std::size_t> from, Instant departs,
                         const std::vector<std::size_t>& targets) {
    std::vector<routing::Snap> points;
    points.reserve(targets.size());
    for (const std::size_t target : targets) {
        points.push_back(snaps_[target].value());
    }
    const auto found = router_->travel_times(departure(from, departs), points, limit_);
    TravelTimes times(snaps_.size());
    for (std::size_t index = 0; index < targets.size(); ++index) {
        times[targets[index]] = found[index];
    }
    return times;
}

const TravelTimes& Ways::from_start(Instant departs) {
    const From from{std::nullopt, departs};
    auto known = times_.find(from);
    if (known == times_.end()) {
        known = times_.emplace(from, search(std::nullopt, departs, on_the_map_)).first;
    }
    return known->second;
}

const TravelTimes& Ways::from_place(std::size_t place, Instant departs) {
    const From from{place, departs};
    auto known = times_.find(from);
    if (known == times_.end()) {
        known = times_.emplace(from, search(place, departs, useful_)).first;
    }
    return known->second;
}

const routing::Route& Ways::route(std::optional<std::size_t> from, Instant departs,
                                  std::size_t to) {
    const std::pair key{From{from, departs}, to};
    auto known = routes_.find(key);
    if (known == routes_.end()) {
        known = routes_
                    .emplace(key, router_->route(departure(from, departs), snaps_[to].value())
                                      .value_or(routing::Route{}))
                    .first;
    }
    return known->second;
}

std::optional<routing::TravelTime> Ways::travel_time(std::optional<std::size_t> from,
                                                     Instant departs, std::size_t to) {
    return search(from, departs, {to})[to];
}

}  // namespace waybourne::referral
