#include "routing/speed_rules.hpp"

namespace waybourne::routing {

SpeedRules speed_rules(const SpeedTable& table, Means means, RoadConditions conditions,
                       Estimate estimate) {
    const auto on_road = [&table, means, conditions,
                          estimate](const RoadAttributes& attributes) -> std::optional<RoadSpeed> {
        const bool is_closed = conditions.surface == Surface::wet
                                   ? attributes.is_ford || attributes.is_seasonal
                                   : attributes.is_wet_season_only;
        if (is_closed && means != Means::boat) {
            return std::nullopt;
        }
        const Means ashore = means == Means::boat ? Means::on_foot : means;
        return table.speed(attributes.kind, conditions, ashore, estimate);
    };
    return {.means = means,
            .conditions = conditions,
            .on_road = on_road,
            .off_road = table.walking_off_road(conditions.surface, estimate),
            .off_road_detour = table.rows().walking_detour,
            .ferry_spread = table.rows().ferry_spread};
}

}  // namespace waybourne::routing
