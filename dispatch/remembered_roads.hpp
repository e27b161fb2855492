#pragma once
/// Roads whose answers are kept, so that planning for many asks each question once.

#include <map>
#include <memory>
#include <tuple>
#include <utility>

#include "dispatch/district_roads.hpp"

namespace waybourne::dispatch {

/// The same answers as `roads`, which must outlive this. Where no timetable matters and no road
/// turns worse, travel times do not depend on the departure and are kept for all of them.
class RememberedRoads final : public DistrictRoads {
public:
    enum class Keeps {
        everything,          ///< for one planning
        what_never_changes,  ///< for many: nothing where the departure matters
    };
    explicit RememberedRoads(DistrictRoads& roads, Keeps keeps = Keeps::everything);
    ~RememberedRoads() override;
    RememberedRoads(const RememberedRoads&) = delete;
    RememberedRoads& operator=(const RememberedRoads&) = delete;

    RoadsOf roads(routing::Means means, Instant departs) override;
    std::span<const routing::Landing> landings() override { return roads_.landings(); }
    std::shared_ptr<const routing::SweptMetric> swept(routing::Means means,
                                                      Instant departs) override;
    std::optional<routing::Snap> snap(const GeoPoint& point, routing::Means means,
                                      Instant departs) override;
    std::optional<Instant> dawn_after(Instant now) override;

private:
    class KeptRouter;
    DistrictRoads& roads_;
    Keeps keeps_;
    /// By what is searched, and whether the departure matters.
    std::map<std::pair<routing::Router*, bool>, std::unique_ptr<KeptRouter>> routers_;
    /// By what is searched, latitude and longitude.
    std::map<std::tuple<routing::Router*, double, double>, std::optional<routing::Snap>> snaps_;
};

}  // namespace waybourne::dispatch
