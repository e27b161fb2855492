#include "routing/place_index.hpp"

#include <algorithm>

#include "routing/internal/kept_places.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

TimeAndSpread to_value(const Label& label) {
    return TimeAndSpread::of(label.typical_ds, static_cast<std::uint32_t>(std::min(
                                                   label.variance_ds2, greatest_variance_ds2)));
}

Label to_label(TimeAndSpread value) {
    return value.is_open() ? Label{value.typical_ds(), 0, value.variance_ds2(), 0} : Label{};
}

TimeAndSpread gate_value(const Metric& metric, const Gate& gate, const Snap& target) {
    Label label = Label::start();
    if (gate.last) {
        label =
            extended(label, metric.weight(gate.last->arc, gate.last->from_cm, gate.last->to_cm));
    }
    label = extended(label, metric.off_road(target.accesses[gate.access].off_road));
    return label.is_reached() ? to_value(label) : TimeAndSpread::closed();
}

void check_snap(const RoadNetwork& network, const Snap& snap) {
    for (const Access& access : snap.accesses) {
        if (access.piece.value >= network.piece_count() ||
            access.along_cm > network.piece(access.piece).length_cm) {
            throw InputError("a place was snapped to another network than this one");
        }
    }
}

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
    for (const Gate& gate : gates(metric, places_[place])) {
        kept_->buckets.add(metric_->hierarchy(), metric_->weights(), rank[gate.node.value], place,
                           gate_value(metric, gate, places_[place]));
    }
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
