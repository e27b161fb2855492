#pragma once
/// The sample district as planners see it: its roads, facilities and settlements.

#include <memory>
#include <string>
#include <vector>

#include "coverage/access.hpp"
#include "routing/hierarchy_router.hpp"
#include "routing/metric.hpp"
#include "routing/speed_table.hpp"

namespace waybourne::coverage {

class SampleDistrict {
public:
    SampleDistrict();

    const std::vector<Settlement>& settlements() const { return settlements_; }
    /// With what was last heard of the facilities at the sample's own moment, 4 March 2026, 09:40.
    const facilities::FacilityRegister& facilities() const { return facilities_; }
    Instant now() const { return now_; }
    const routing::SpeedTable& speeds() const { return speeds_; }
    std::shared_ptr<const routing::Metric> metric(routing::RoadConditions conditions) const;
    std::vector<std::optional<routing::Snap>> settlement_snaps(const routing::Metric& metric) const;
    std::vector<std::optional<routing::Snap>> place_snaps(const routing::Metric& metric) const;
    /// By the reference engine, leaving then.
    std::shared_ptr<const TravelTimes> ways(routing::RoadConditions conditions, Instant at) const;
    std::size_t settlement(const std::string& id) const;

private:
    routing::SpeedTable speeds_;
    std::shared_ptr<const routing::RoadNetwork> network_;
    routing::SnapIndex index_;
    facilities::FacilityRegister facilities_;
    std::vector<Settlement> settlements_;
    Instant now_{};
};

const SampleDistrict& sample();

}  // namespace waybourne::coverage
