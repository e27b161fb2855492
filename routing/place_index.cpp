#include "routing/place_index.hpp"

#include <algorithm>

#include "routing/internal/ends.hpp"
#include "routing/internal/kept_places.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

PlaceIndex::PlaceIndex(std::shared_ptr<const PreparedMetric> metric, std::vector<Snap> places)
    : metric_(std::move(metric)),
      places_(std::move(places)),
      kept_(std::make_unique<Kept>(Kept{Buckets<TimeAndSpread>(metric_->hierarchy()), {}})) {
    for (std::uint32_t place = 0; place < places_.size(); ++place) {
        keep(place);
    }
}

PlaceIndex::PlaceIndex(std::shared_ptr<const PreparedMetric> metric, std::vector<Snap> places,
                       std::unique_ptr<Kept> kept)
    : metric_(std::move(metric)), places_(std::move(places)), kept_(std::move(kept)) {}

PlaceIndex::~PlaceIndex() = default;

void PlaceIndex::keep(std::uint32_t place) {
    const Metric& metric = metric_->metric();
    check_snap(metric.network(), places_[place]);
    for (const Access& access : places_[place].accesses) {
        kept_->places_on.emplace(metric.network().original(access.piece), place);
    }
    const auto rank = metric_->hierarchy().arrays().rank_of_node;
    std::vector<UpStart<TimeAndSpread>> ranks;
    for (const Gate& gate : gates(metric, places_[place])) {
        ranks.push_back({rank[gate.node.value], gate_value(metric, gate, places_[place])});
    }
    for_each_chain<TimeAndSpread>(metric_->hierarchy(), ranks, [&](const auto& on_one_chain) {
        kept_->buckets.add(metric_->hierarchy(), metric_->weights(), on_one_chain, place);
    });
}

std::shared_ptr<const PlaceIndex> PlaceIndex::with(const Snap& place) const {
    // not make_shared: the constructor is private
    std::shared_ptr<PlaceIndex> next{
        new PlaceIndex(metric_, places_, std::make_unique<Kept>(*kept_))};
    next->places_.push_back(place);
    next->keep(static_cast<std::uint32_t>(next->places_.size() - 1));
    return next;
}

std::shared_ptr<const PlaceIndex> PlaceIndex::without(std::size_t place) const {
    if (place >= places_.size()) {
        throw NotFound("there is no place number " + std::to_string(place) + " in the index of " +
                       std::to_string(places_.size()));
    }
    std::shared_ptr<PlaceIndex> next{
        new PlaceIndex(metric_, places_, std::make_unique<Kept>(*kept_))};
    const auto number = static_cast<std::uint32_t>(place);
    next->places_[place].accesses.clear();
    next->kept_->buckets.remove(number);
    std::erase_if(next->kept_->places_on,
                  [number](const auto& one) { return one.second == number; });
    return next;
}

}  // namespace waybourne::routing
