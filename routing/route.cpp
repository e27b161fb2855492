#include "routing/route.hpp"

#include <array>

namespace waybourne::routing {

std::string to_name(Means means) {
    static constexpr std::array<const char*, 6> names{"on_foot",          "motorcycle", "car",
                                                      "four_wheel_drive", "boat",       "ferry"};
    return names.at(static_cast<std::size_t>(means));
}

std::vector<GeoPoint> Route::line() const {
    std::vector<GeoPoint> points;
    for (const Leg& leg : legs) {
        for (const GeoPoint& point : leg.line) {
            if (points.empty() || points.back() != point) {
                points.push_back(point);
            }
        }
    }
    return points;
}

}  // namespace waybourne::routing
