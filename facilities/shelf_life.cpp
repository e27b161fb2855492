#include "facilities/shelf_life.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace waybourne::facilities {

namespace {

constexpr Seconds day = 24h;

constexpr Ageing with_shelf_life(Seconds shelf_life, double long_run_share) {
    return {shelf_life, long_run_share, 2 * shelf_life};
}

/// In the order of ResourceKind.
constexpr std::array<Ageing, resource_kind_count> by_kind{
    with_shelf_life(12h, 0.80),      // staff
    with_shelf_life(day, 0.80),      // stock
    with_shelf_life(6h, 0.50),       // blood
    with_shelf_life(7 * day, 0.85),  // equipment
    with_shelf_life(12h, 0.85),      // power
    with_shelf_life(6h, 0.70),       // space
};

constexpr Ageing of_hours = with_shelf_life(30 * day, 0.95);

double worth_left(const Ageing& ageing, Seconds age) {
    const auto whole = static_cast<double>(std::max(age, Seconds{0}).count());
    return std::exp(-whole / static_cast<double>(ageing.relaxation.count()));
}

}  // namespace

const Ageing& ageing_of(ResourceKind kind) {
    return by_kind[static_cast<std::size_t>(kind)];
}

const Ageing& ageing_of_hours() {
    return of_hours;
}

const Ageing& ageing_of(triage::Capability capability) {
    switch (capability) {
        case triage::Capability::blood_transfusion:
            return ageing_of(ResourceKind::blood);
        case triage::Capability::critical_care:
            return ageing_of(ResourceKind::space);
        default:
            return ageing_of(ResourceKind::staff);
    }
}

bool is_performed_lately(const Service& service, Instant now) {
    return service.last_performed_at && now - *service.last_performed_at <= 92 * day;
}

double chance_after_ready(const Ageing& ageing, Seconds age) {
    return ageing.long_run_share + (1 - ageing.long_run_share) * worth_left(ageing, age);
}

double chance_after_not_ready(const Ageing& ageing, Seconds age) {
    return ageing.long_run_share * (1 - worth_left(ageing, age));
}

}  // namespace waybourne::facilities
