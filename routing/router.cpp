#include "routing/router.hpp"

#include <utility>

namespace waybourne::routing {

ReadyAfter ready_if(std::function<bool(std::size_t)> accept) {
    return [accept = std::move(accept)](std::size_t target, const TravelTime& travel_time) {
        return accept(target) ? std::optional(travel_time.typical) : std::nullopt;
    };
}

ReadyAfter ready_if(std::function<bool(std::size_t, const TravelTime&)> accept) {
    return [accept = std::move(accept)](std::size_t target, const TravelTime& travel_time) {
        return accept(target, travel_time) ? std::optional(travel_time.typical) : std::nullopt;
    };
}

}  // namespace waybourne::routing
