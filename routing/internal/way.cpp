#include "routing/internal/way.hpp"

#include <algorithm>
#include <span>
#include <string>
#include <string_view>

namespace waybourne::routing {

namespace {

GeoPoint between(FixedPoint from, FixedPoint to, double share) {
    const auto mixed = [share](std::int64_t a, std::int64_t b) {
        return static_cast<double>(a) + share * static_cast<double>(b - a);
    };
    // Across the 180° meridian the short way round.
    constexpr std::int64_t half_turn = 1'800'000'000;
    std::int64_t to_longitude = to.longitude;
    if (to_longitude - from.longitude > half_turn) {
        to_longitude -= 2 * half_turn;
    } else if (from.longitude - to_longitude > half_turn) {
        to_longitude += 2 * half_turn;
    }
    double longitude = mixed(from.longitude, to_longitude);
    if (longitude > half_turn) {
        longitude -= 2.0 * half_turn;
    } else if (longitude < -half_turn) {
        longitude += 2.0 * half_turn;
    }
    return {Latitude{mixed(from.latitude, to.latitude) / 1e7}, Longitude{longitude / 1e7}};
}

void append(std::vector<GeoPoint>& line, const std::vector<GeoPoint>& more) {
    for (const GeoPoint& point : more) {
        if (line.empty() || line.back() != point) {
            line.push_back(point);
        }
    }
}

std::vector<GeoPoint> whole_line(std::span<const FixedPoint> shape) {
    std::vector<GeoPoint> line;
    line.reserve(shape.size());
    for (const FixedPoint& point : shape) {
        line.push_back(to_geo_point(point));
    }
    return line;
}

/// Follows the way and writes down each leg as it ends.
class Teller {
public:
    Teller(const Metric& metric, const Departure& departure)
        : metric_(metric), network_(metric.network()), departure_(departure) {}

    void walk(Metres straight, const GeoPoint& from, const GeoPoint& to) {
        const Weight weight = metric_.off_road(straight);
        if (weight.typical_ds == 0) {
            return;
        }
        open(Means::on_foot);
        leg_.is_assumed = true;
        leg_.line = {from, to};
        join();
        move(extended(now_, weight), straight * metric_.off_road_detour(), "", "off_road");
        leg_weight_ = weight;
        close();
    }

    void drive(const ArcPart& part) {
        const Piece& piece = network_.piece(part.arc);
        if (piece.is_ferry()) {
            sail(part, piece);
            return;
        }
        const Label after = along(now_, metric_, part, departure_.at);
        const Timetable* const hours = metric_.timetable(part.arc);
        const Seconds wait = hours == nullptr
                                 ? 0s
                                 : seconds(let_through(now_, *hours, departure_.at).typical_ds) -
                                       seconds(now_.typical_ds);
        const bool is_first = !is_open_ || wait > 0s;
        if (is_first) {
            open(metric_.means());
            leg_.wait = wait;
        }
        const Weight weight = metric_.weight(part.arc, part.from_cm, part.to_cm);
        leg_weight_.typical_ds += weight.typical_ds;
        leg_weight_.variance_ds2 += weight.variance_ds2;
        append(leg_.line, line_of(network_, part));
        if (is_first) {
            join();
        }
        move(after, length(part), network_.name_of(piece), class_of(piece));
    }

    Route finish() {
        close();
        route_.travel_time = now_.travel_time();
        return std::move(route_);
    }

private:
    static Metres length(const ArcPart& part) {
        return Metres{(part.to_cm - part.from_cm) / 100.0};
    }

    std::string_view class_of(const Piece& piece) const {
        const RoadAttributes& attributes = network_.attributes_of(piece);
        return attributes.is_temporary_link ? "temporary_link"
                                            : to_name(attributes.kind.road_class);
    }

    void sail(const ArcPart& part, const Piece& piece) {
        const bool is_boat = metric_.means() == Means::boat;
        open(is_boat ? Means::boat : Means::ferry);
        const Ferry& ferry = network_.ferries()[piece.ferry];
        const Label at_bank = now_;
        const Label after = across(now_, metric_, part.arc, departure_.at);
        leg_.is_assumed = !ferry.timetable;
        leg_.wait = seconds(wait_weight(ferry.assumed_wait).typical_ds);
        if (ferry.timetable) {
            const Label left = aboard(at_bank, *ferry.timetable, departure_.at);
            leg_.wait = seconds(left.typical_ds) - seconds(at_bank.typical_ds);
        }
        leg_.line = line_of(network_, part);
        join();
        const Seconds allowed = seconds(after.allowed_ds()) - seconds(at_bank.allowed_ds());
        move(after, length(part), network_.name_of(piece), is_boat ? "boat" : "ferry");
        leg_weight_ = {};
        leg_.travel_time.allow = allowed;
        close();
    }

    static Seconds seconds(std::uint32_t ds) { return to_travel_time(ds, ds).typical; }

    void move(const Label& to, Metres distance, std::string_view road,
              std::string_view road_class) {
        const Seconds typical = seconds(to.typical_ds) - seconds(now_.typical_ds);
        now_ = to;
        leg_.distance += distance;
        leg_.travel_time.typical += typical;
        auto& stretches = leg_.stretches;
        if (stretches.empty() || stretches.back().road != road ||
            stretches.back().road_class != road_class) {
            stretches.push_back({std::string(road), std::string(road_class), {}, {}});
        }
        stretches.back().distance += distance;
        stretches.back().typical += typical;
    }

    /// A leg begins exactly where the last one ended, not a rounded centimetre beside it.
    void join() {
        if (!route_.legs.empty()) {
            leg_.line.front() = route_.legs.back().line.back();
        }
    }

    void open(Means means) {
        close();
        leg_.means = means;
        is_open_ = true;
    }

    void close() {
        if (!is_open_) {
            return;
        }
        leg_.travel_time.allow = std::max({leg_.travel_time.typical, leg_.travel_time.allow,
                                           to_travel_time(0, allow_ds(leg_weight_)).allow});
        route_.distance += leg_.distance;
        route_.legs.push_back(std::move(leg_));
        leg_ = {};
        leg_weight_ = {};
        is_open_ = false;
    }

    const Metric& metric_;
    const RoadNetwork& network_;
    const Departure& departure_;
    Label now_ = Label::start();
    Leg leg_;
    Weight leg_weight_;
    bool is_open_ = false;
    Route route_;
};

}  // namespace

std::vector<GeoPoint> line_of(const RoadNetwork& network, const ArcPart& part) {
    const Piece& piece = network.piece(part.arc);
    auto shape = network.shape_of(piece);
    if (!network.is_forward(part.arc)) {
        std::reverse(shape.begin(), shape.end());
    }
    if (part.from_cm == 0 && part.to_cm == piece.length_cm) {  // nearly every part of a way
        return whole_line(shape);
    }
    std::vector<double> reached{0};
    for (std::size_t i = 1; i < shape.size(); ++i) {
        reached.push_back(
            reached.back() +
            great_circle_distance(to_geo_point(shape[i - 1]), to_geo_point(shape[i])).value());
    }
    const double scale = piece.length_cm == 0 ? 0 : reached.back() / piece.length_cm;
    const double from = part.from_cm * scale;
    const double to = part.to_cm == piece.length_cm ? reached.back() : part.to_cm * scale;
    const auto point_at = [&](double metres) {
        const auto next = std::upper_bound(reached.begin() + 1, reached.end() - 1, metres);
        const auto i = static_cast<std::size_t>(next - reached.begin());
        const double length = reached[i] - reached[i - 1];
        return between(shape[i - 1], shape[i],
                       length > 0 ? std::clamp((metres - reached[i - 1]) / length, 0.0, 1.0) : 0);
    };
    std::vector<GeoPoint> line{point_at(from)};
    for (std::size_t i = 0; i < shape.size(); ++i) {
        if (reached[i] > from && reached[i] < to) {
            line.push_back(to_geo_point(shape[i]));
        }
    }
    line.push_back(point_at(to));
    return line;
}

Label along(const Label& label, const Metric& metric, const ArcPart& part, Instant departure) {
    if (metric.network().piece(part.arc).is_ferry()) {
        return across(label, metric, part.arc, departure);
    }
    if (!metric.is_open(part.arc)) {
        return {};
    }
    const Timetable* const hours = metric.timetable(part.arc);
    return extended(hours == nullptr ? label : let_through(label, *hours, departure),
                    metric.weight(part.arc, part.from_cm, part.to_cm));
}

Route to_route(const Metric& metric, const Departure& departure, const Snap& target,
               const Way& way) {
    Teller teller(metric, departure);
    teller.walk(way.start.off_road, departure.from.point, way.start.on_road);
    for (const ArcPart& part : way.parts) {
        teller.drive(part);
    }
    teller.walk(way.end.off_road, way.end.on_road, target.point);
    return teller.finish();
}

}  // namespace waybourne::routing
