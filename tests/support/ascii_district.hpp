#pragma once
/// Roads drawn with letters, so that a reader of a test sees what is meant.

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "routing/metric.hpp"
#include "routing/route.hpp"
#include "routing/snap.hpp"
#include "routing/turn_restriction.hpp"

namespace waybourne::tests {

struct FerryTimes {
    Seconds crosses{};
    /// From midnight on; must go into a day.
    Seconds leaves_every{};
};

/// A district on the equator. A letter is a place on the roads; `-` and `|` are roads, `~` and `:`
/// ferries, `>` and `<` one-ways along the row. Each column and each row is 1 km, and every road is
/// driven at 60 km/h: one minute each. A road between two letters is called by both of them, left
/// or upper first: "CB". Every change gives a new district.
class AsciiDistrict {
public:
    explicit AsciiDistrict(std::string_view drawing);

    /// The timetable of a ferry that is drawn; one without waits for nobody and crosses at 60 km/h.
    AsciiDistrict ferry(std::string_view road, FerryTimes times) const;
    AsciiDistrict sailings(std::string_view road, Seconds crosses,
                           std::vector<routing::Sailing> sailings) const;
    AsciiDistrict close(std::string_view road) const;
    AsciiDistrict close(std::string_view road, routing::Period period) const;
    AsciiDistrict slow(std::string_view road, double slower_by) const;
    /// No vehicle may go from letter to letter like this: "ABC" forbids a turn at B, "ABA" turning
    /// round there.
    AsciiDistrict forbid(std::string_view places) const;
    /// Whoever has come from the first letter to the second goes on like this.
    AsciiDistrict require(std::string_view places) const;
    /// Open only at these hours, UTC, as ferry timetables are written.
    AsciiDistrict hours(std::string_view road, std::string_view opening_hours) const;
    AsciiDistrict ford(std::string_view road) const;
    AsciiDistrict wet() const;
    /// Variance per second of median of every road and ferry.
    AsciiDistrict spread(Seconds spread) const;
    /// Changes are those in force then; the epoch where none is said.
    AsciiDistrict as_of(Instant at) const;

    std::optional<Seconds> typical(char from, char to, Instant at = {}) const;
    std::optional<Seconds> allow(char from, char to, Instant at = {}) const;
    std::optional<routing::Route> route(char from, char to, Instant at = {}) const;

    GeoPoint point(char place) const;
    /// That many km east and north of the place.
    GeoPoint beside(char place, double east_km, double north_km) const;
    /// Where the place itself lies on the roads, whatever is closed.
    routing::Snap snap(char place) const;
    std::shared_ptr<const routing::RoadNetwork> network() const;
    std::shared_ptr<const routing::Metric> metric() const;
    routing::NodeId node(char place) const;

private:
    struct Place {
        std::size_t column = 0;
        std::size_t row = 0;
    };
    struct Road {
        char from = 0;
        char to = 0;
        double km = 0;
        bool goes_forward = true;
        bool goes_backward = true;
        bool is_ford = false;
        std::optional<routing::Ferry> ferry;
        std::string name() const { return {from, to}; }
    };
    void draw_along(const std::vector<std::string>& rows, std::size_t row, std::size_t column,
                    bool is_down);
    Road& road(std::string_view name);
    routing::PieceDirection part(char from, char to) const;
    std::vector<routing::PieceDirection> parts(std::string_view places) const;
    AsciiDistrict changed(std::string_view road, std::optional<double> slower_by,
                          routing::Period period) const;

    std::map<char, Place> places_;
    std::vector<Road> roads_;
    std::vector<routing::ForbiddenWay> forbidden_;
    std::vector<routing::RequiredWay> required_;
    std::vector<routing::RoadChange> changes_;
    routing::RoadConditions conditions_;
    Seconds spread_{};
    Instant as_of_{};
};

inline AsciiDistrict ascii_district(std::string_view drawing) {
    return AsciiDistrict(drawing);
}

}  // namespace waybourne::tests
