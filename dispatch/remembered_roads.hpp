#pragma once
/// Roads whose answers are kept, so that planning for many asks each question once.

#include <map>
#include <memory>
#include <utility>

#include "dispatch/district_roads.hpp"

namespace waybourne::dispatch {

/// The same answers as `roads`, which must outlive this. Where no timetable matters, travel times
/// do not depend on the departure and are kept for all of them. For one planning.
class RememberedRoads final : public DistrictRoads {
public:
    explicit RememberedRoads(DistrictRoads& roads);
    ~RememberedRoads() override;

    RoadsOf roads(routing::Means means, Instant departs) override;
    std::optional<routing::Snap> snap(const GeoPoint& point, routing::Means means,
                                      Instant departs) override;
    std::optional<Instant> dawn_after(Instant now) override;

private:
    class KeptRouter;
    DistrictRoads& roads_;
    std::map<routing::Router*, std::unique_ptr<KeptRouter>> routers_;
};

}  // namespace waybourne::dispatch
