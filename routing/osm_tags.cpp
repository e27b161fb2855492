#include "routing/internal/osm_tags.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace waybourne::routing {

namespace {

using Words = std::initializer_list<std::string_view>;

constexpr MeansSet on_foot = MeansSet{}.with(Means::on_foot);
constexpr MeansSet cars = MeansSet{}.with(Means::car).with(Means::four_wheel_drive);
constexpr MeansSet vehicles = cars.with(Means::motorcycle);

constexpr MeansSet join(MeansSet a, MeansSet b) {
    return MeansSet{static_cast<std::uint8_t>(a.bits() | b.bits())};
}

constexpr MeansSet remove(MeansSet from, MeansSet what) {
    return MeansSet{static_cast<std::uint8_t>(from.bits() & ~what.bits())};
}

constexpr MeansSet everybody = join(on_foot, vehicles);

std::string_view value_of(const osmium::TagList& tags, const char* key) {
    const char* value = tags.get_value_by_key(key);
    return value != nullptr ? std::string_view{value} : std::string_view{};
}

bool is_one_of(std::string_view word, Words words) {
    return std::find(words.begin(), words.end(), word) != words.end();
}

/// Present and not `no`.
bool says_so(const osmium::TagList& tags, const char* key) {
    const std::string_view value = value_of(tags, key);
    return !value.empty() && value != "no";
}

enum class Permission { unsaid, open, closed };

Permission permission_of(std::string_view word) {
    if (is_one_of(word, {"no", "private", "military", "agricultural", "forestry", "permit"})) {
        return Permission::closed;
    }
    if (is_one_of(word, {"yes", "permissive", "designated", "official", "public", "destination",
                         "customers", "delivery", "residents", "emergency", "discouraged",
                         "dismount", "unknown"})) {
        return Permission::open;
    }
    return Permission::unsaid;
}

/// A list such as `agricultural;forestry` is open if one of its words is.
Permission permission(const osmium::TagList& tags, const char* key) {
    std::string_view rest = value_of(tags, key);
    Permission result = Permission::unsaid;
    while (!rest.empty()) {
        const std::size_t end = std::min(rest.find(';'), rest.size());
        std::string_view word = rest.substr(0, end);
        word.remove_prefix(std::min(word.find_first_not_of(' '), word.size()));
        const Permission one = permission_of(word);
        if (one == Permission::open) {
            return one;
        }
        if (one == Permission::closed) {
            result = one;
        }
        rest.remove_prefix(std::min(end + 1, rest.size()));
    }
    return result;
}

/// Applies one key to those it speaks of.
MeansSet with_permission(MeansSet allowed, const osmium::TagList& tags, const char* key,
                         MeansSet speaks_of) {
    switch (permission(tags, key)) {
        case Permission::open:
            return join(allowed, speaks_of);
        case Permission::closed:
            return remove(allowed, speaks_of);
        case Permission::unsaid:
            break;
    }
    return allowed;
}

/// `access` opens nothing by itself: `access=yes` on a footway is not meant for cars.
MeansSet with_access(MeansSet by_default, const osmium::TagList& tags) {
    MeansSet allowed = permission(tags, "access") == Permission::closed ? MeansSet{} : by_default;
    allowed = with_permission(allowed, tags, "foot", on_foot);
    allowed = with_permission(allowed, tags, "vehicle", vehicles);
    allowed = with_permission(allowed, tags, "motor_vehicle", vehicles);
    allowed = with_permission(allowed, tags, "motorcar", cars);
    allowed = with_permission(allowed, tags, "motorcycle", MeansSet{}.with(Means::motorcycle));
    if (value_of(tags, "4wd_only") == "yes") {
        allowed = allowed.without(Means::car);
    }
    return with_permission(allowed, tags, "emergency", vehicles);
}

struct ClassRule {
    std::string_view value;
    RoadClass road_class;
    MeansSet allowed;
};

constexpr std::array class_rules{
    ClassRule{"motorway", RoadClass::motorway, vehicles},
    ClassRule{"motorway_link", RoadClass::motorway, vehicles},
    ClassRule{"trunk", RoadClass::trunk, everybody},
    ClassRule{"trunk_link", RoadClass::trunk, everybody},
    ClassRule{"primary", RoadClass::primary, everybody},
    ClassRule{"primary_link", RoadClass::primary, everybody},
    ClassRule{"secondary", RoadClass::secondary, everybody},
    ClassRule{"secondary_link", RoadClass::secondary, everybody},
    ClassRule{"tertiary", RoadClass::tertiary, everybody},
    ClassRule{"tertiary_link", RoadClass::tertiary, everybody},
    ClassRule{"unclassified", RoadClass::unclassified, everybody},
    ClassRule{"road", RoadClass::unclassified, everybody},
    ClassRule{"ford", RoadClass::unclassified, everybody},
    ClassRule{"residential", RoadClass::residential, everybody},
    ClassRule{"living_street", RoadClass::living_street, everybody},
    ClassRule{"service", RoadClass::service, everybody},
    ClassRule{"track", RoadClass::track, everybody},
    ClassRule{"pedestrian", RoadClass::pedestrian, on_foot},
    ClassRule{"path", RoadClass::path, on_foot},
    ClassRule{"footway", RoadClass::path, on_foot},
    ClassRule{"cycleway", RoadClass::path, on_foot},
    ClassRule{"bridleway", RoadClass::path, on_foot},
    ClassRule{"steps", RoadClass::path, on_foot},
    ClassRule{"busway", RoadClass::service, MeansSet{}},
    ClassRule{"bus_guideway", RoadClass::service, MeansSet{}},
};

const ClassRule* find_class(std::string_view highway) {
    const auto* const found =
        std::find_if(class_rules.begin(), class_rules.end(),
                     [&](const ClassRule& rule) { return rule.value == highway; });
    return found == class_rules.end() ? nullptr : found;
}

const char* why_not_a_road(std::string_view highway) {
    if (is_one_of(highway, {"construction", "proposed", "planned", "abandoned", "razed", "disused",
                            "demolished"})) {
        return "way: not built, or no longer there";
    }
    if (is_one_of(highway, {"raceway", "platform", "corridor", "elevator", "rest_area", "services",
                            "via_ferrata", "no", "bus_stop", "crossing", "emergency_bay",
                            "street_lamp", "traffic_island", "ladder", "trailhead"})) {
        return "way: a highway value that is no way to travel";
    }
    return "way: a highway value that is not known";
}

enum class Direction { both, along, against, unknown };

Direction direction_of(const osmium::TagList& tags, std::string_view highway) {
    const std::string_view oneway = value_of(tags, "oneway");
    if (is_one_of(oneway, {"yes", "true", "1"})) {
        return Direction::along;
    }
    if (is_one_of(oneway, {"-1", "reverse"})) {
        return Direction::against;
    }
    if (oneway == "reversible") {
        return Direction::unknown;
    }
    if (is_one_of(oneway, {"no", "false", "0"})) {
        return Direction::both;
    }
    const bool is_roundabout = is_one_of(value_of(tags, "junction"), {"roundabout", "circular"});
    return highway == "motorway" || is_roundabout ? Direction::along : Direction::both;
}

void set_directions(RoadTags& road, MeansSet allowed, Direction direction) {
    road.forward = allowed;
    road.backward = allowed;
    if (direction == Direction::along || direction == Direction::unknown) {
        road.backward = remove(allowed, vehicles);
    }
    if (direction == Direction::against || direction == Direction::unknown) {
        road.forward = remove(allowed, vehicles);
    }
    if (direction == Direction::unknown) {
        road.assumed.push_back("way: reversible one-way, taken as closed to vehicles");
    }
}

void read_surface(RoadTags& road, const osmium::TagList& tags, const SpeedTable& speeds) {
    RoadKind& kind = road.attributes.kind;
    kind.track_type = find_track_type(value_of(tags, "tracktype")).value_or(TrackType::unknown);
    const std::string_view smoothness = value_of(tags, "smoothness");
    kind.smoothness = smoothness == "excellent"
                          ? Smoothness::good
                          : find_smoothness(smoothness).value_or(Smoothness::unknown);
    const std::string_view surface = value_of(tags, "surface");
    kind.surface = speeds.surface_class(surface, kind.track_type, kind.road_class);
    if (surface.empty()) {
        road.assumed.push_back("way: no surface, assumed by track type or road class");
    } else if (!speeds.rows().surface_of.contains(surface)) {
        road.assumed.push_back("way: surface not known, assumed by track type or road class");
    }
}

void read_speed_limit(RoadTags& road, const osmium::TagList& tags) {
    const std::string_view text = value_of(tags, "maxspeed");
    if (text.empty()) {
        return;
    }
    const std::optional<std::uint8_t> limit = parse_maxspeed(text);
    if (limit) {
        road.attributes.kind.maxspeed_kmh = *limit;
    } else {
        road.assumed.push_back("way: maxspeed not a number, ignored");
    }
}

void read_marks(RoadAttributes& attributes, const osmium::TagList& tags, std::string_view highway) {
    attributes.is_ford = says_so(tags, "ford") || highway == "ford" ||
                         value_of(tags, "bridge") == "low_water_crossing";
    attributes.is_bridge = says_so(tags, "bridge");
    attributes.is_tunnel = says_so(tags, "tunnel");
    attributes.is_toll = says_so(tags, "toll");
    attributes.is_seasonal =
        says_so(tags, "seasonal") || says_so(tags, "intermittent") || says_so(tags, "flood_prone");
}

WayMeaning road_meaning(const osmium::TagList& tags, std::string_view highway,
                        const SpeedTable& speeds) {
    const ClassRule* rule = find_class(highway);
    if (rule == nullptr) {
        return {std::nullopt, why_not_a_road(highway)};
    }
    if (value_of(tags, "area") == "yes") {
        return {std::nullopt, "way: an area, not a line"};
    }
    if (says_so(tags, "ice_road") || says_so(tags, "winter_road")) {
        return {std::nullopt, "way: a winter or ice road"};
    }
    MeansSet allowed = rule->allowed;
    if (value_of(tags, "motorroad") == "yes") {
        allowed = remove(allowed, on_foot);
    }
    allowed = with_access(allowed, tags);
    if (highway == "steps") {
        allowed = remove(allowed, vehicles);
    }
    if (allowed.is_empty()) {
        return {std::nullopt, "way: closed to everybody by its access tags"};
    }
    RoadTags road;
    road.attributes.kind.road_class = rule->road_class;
    read_surface(road, tags, speeds);
    read_speed_limit(road, tags);
    read_marks(road.attributes, tags, highway);
    set_directions(road, allowed, direction_of(tags, highway));
    if (road.forward.is_empty() && road.backward.is_empty()) {
        return {std::nullopt, "way: reversible one-way for vehicles only"};
    }
    return {std::move(road), nullptr};
}

WayMeaning ferry_meaning(const osmium::TagList& tags) {
    const MeansSet allowed = with_access(everybody, tags);
    if (allowed.is_empty()) {
        return {std::nullopt, "way: a ferry closed to everybody by its access tags"};
    }
    RoadTags ferry;
    ferry.attributes.kind = {.road_class = RoadClass::ferry, .surface = SurfaceClass::paved};
    if (permission(tags, "motor_vehicle") == Permission::unsaid &&
        permission(tags, "motorcar") == Permission::unsaid &&
        permission(tags, "vehicle") == Permission::unsaid) {
        ferry.assumed.push_back(
            "way: a ferry that does not say whether vehicles board, taken as "
            "yes");
    }
    const std::string_view oneway = value_of(tags, "oneway");
    ferry.forward = is_one_of(oneway, {"-1", "reverse"}) ? MeansSet{} : allowed;
    ferry.backward = is_one_of(oneway, {"yes", "true", "1"}) ? MeansSet{} : allowed;
    return {std::move(ferry), nullptr};
}

struct BarrierRule {
    std::string_view value;
    MeansSet stops;
};

constexpr std::array barrier_rules{
    BarrierRule{"bollard", cars},
    BarrierRule{"block", cars},
    BarrierRule{"jersey_barrier", cars},
    BarrierRule{"log", cars},
    BarrierRule{"debris", cars},
    BarrierRule{"planter", cars},
    BarrierRule{"chain", cars},
    BarrierRule{"cycle_barrier", vehicles},
    BarrierRule{"motorcycle_barrier", vehicles},
    BarrierRule{"kissing_gate", vehicles},
    BarrierRule{"horse_stile", vehicles},
    BarrierRule{"stile", vehicles},
    BarrierRule{"turnstile", vehicles},
    BarrierRule{"full-height_turnstile", vehicles},
    BarrierRule{"ditch", vehicles},
    BarrierRule{"wall", everybody},
    BarrierRule{"fence", everybody},
    BarrierRule{"gate", MeansSet{}},
    BarrierRule{"lift_gate", MeansSet{}},
    BarrierRule{"swing_gate", MeansSet{}},
    BarrierRule{"sliding_gate", MeansSet{}},
    BarrierRule{"hampshire_gate", MeansSet{}},
    BarrierRule{"bump_gate", MeansSet{}},
    BarrierRule{"entrance", MeansSet{}},
    BarrierRule{"cattle_grid", MeansSet{}},
    BarrierRule{"toll_booth", MeansSet{}},
    BarrierRule{"border_control", MeansSet{}},
    BarrierRule{"checkpoint", MeansSet{}},
    BarrierRule{"sally_port", MeansSet{}},
    BarrierRule{"height_restrictor", MeansSet{}},
    BarrierRule{"kerb", MeansSet{}},
    BarrierRule{"no", MeansSet{}},
};

}  // namespace

WayMeaning meaning_of(const osmium::TagList& tags, const SpeedTable& speeds) {
    const std::string_view highway = value_of(tags, "highway");
    if (!highway.empty()) {
        return road_meaning(tags, highway, speeds);
    }
    return value_of(tags, "route") == "ferry" ? ferry_meaning(tags) : WayMeaning{};
}

MeansSet stopped_at(const osmium::TagList& tags, bool& is_unknown) {
    const std::string_view barrier = value_of(tags, "barrier");
    if (barrier.empty()) {
        return {};
    }
    const auto* const rule =
        std::find_if(barrier_rules.begin(), barrier_rules.end(),
                     [&](const BarrierRule& candidate) { return candidate.value == barrier; });
    is_unknown = rule == barrier_rules.end();
    MeansSet stopped = is_unknown ? MeansSet{} : rule->stops;
    if (value_of(tags, "locked") == "yes") {
        stopped = everybody;
    }
    MeansSet allowed = remove(everybody, stopped);
    if (permission(tags, "access") == Permission::open) {
        allowed = everybody;
    }
    return remove(everybody, with_access(allowed, tags));
}

bool is_ford_node(const osmium::TagList& tags) {
    return says_so(tags, "ford") || value_of(tags, "highway") == "ford";
}

const char* health_site_kind(const osmium::TagList& tags) {
    const char* healthcare = tags.get_value_by_key("healthcare");
    if (healthcare != nullptr && std::string_view{healthcare} != "no") {
        return healthcare;
    }
    const char* amenity = tags.get_value_by_key("amenity");
    const bool is_care =
        amenity != nullptr && is_one_of(amenity, {"hospital", "clinic", "doctors"});
    return is_care ? amenity : nullptr;
}

std::string_view name_of(const osmium::TagList& tags) {
    const std::string_view name = value_of(tags, "name");
    return name.empty() ? value_of(tags, "ref") : name;
}

std::optional<std::uint8_t> parse_maxspeed(std::string_view text) {
    unsigned value = 0;
    const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (problem != std::errc{} || value == 0 || value > 255) {
        return std::nullopt;
    }
    std::string_view unit = text.substr(static_cast<std::size_t>(end - text.data()));
    unit.remove_prefix(std::min(unit.find_first_not_of(' '), unit.size()));
    if (unit == "mph") {
        constexpr double kilometres_per_mile = 1.609344;  // the international mile of 1959
        value = static_cast<unsigned>(std::lround(value * kilometres_per_mile));
    } else if (!is_one_of(unit, {"", "km/h", "kmh", "kph"})) {
        return std::nullopt;
    }
    return value <= 255 ? std::optional{static_cast<std::uint8_t>(value)} : std::nullopt;
}

}  // namespace waybourne::routing
