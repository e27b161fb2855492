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

/// Calls `visit(word)` for each word of a list such as `agricultural;forestry`.
template <typename Visit>
void each_word(std::string_view list, const Visit& visit) {
    while (!list.empty()) {
        const std::size_t end = std::min(list.find(';'), list.size());
        std::string_view word = list.substr(0, end);
        word.remove_prefix(std::min(word.find_first_not_of(' '), word.size()));
        visit(word);
        list.remove_prefix(std::min(end + 1, list.size()));
    }
}

/// A list is open if one of its words is.
Permission permission(const osmium::TagList& tags, const char* key) {
    Permission result = Permission::unsaid;
    each_word(value_of(tags, key), [&](std::string_view word) {
        const Permission one = permission_of(word);
        if (one == Permission::open || (one == Permission::closed && result != Permission::open)) {
            result = one;
        }
    });
    return result;
}

/// Keys that say who may use a way, each for those it speaks of.
struct AccessKey {
    const char* either_way;
    const char* forward;
    const char* backward;
    MeansSet speaks_of;
};

constexpr AccessKey access_key{"access", "access:forward", "access:backward", everybody};
/// From the general to the particular: the last one said counts.
constexpr std::array particular_keys{
    AccessKey{"foot", "foot:forward", "foot:backward", on_foot},
    AccessKey{"vehicle", "vehicle:forward", "vehicle:backward", vehicles},
    AccessKey{"motor_vehicle", "motor_vehicle:forward", "motor_vehicle:backward", vehicles},
    AccessKey{"motorcar", "motorcar:forward", "motorcar:backward", cars},
    AccessKey{"motorcycle", "motorcycle:forward", "motorcycle:backward",
              MeansSet{}.with(Means::motorcycle)},
};

enum class Along { forward, backward };

/// What a key says of one direction of a way; what it says of both where it says nothing of one.
Permission permission(const osmium::TagList& tags, const AccessKey& key,
                      std::optional<Along> along) {
    if (along) {
        const Permission one =
            permission(tags, *along == Along::forward ? key.forward : key.backward);
        if (one != Permission::unsaid) {
            return one;
        }
    }
    return permission(tags, key.either_way);
}

MeansSet with_permission(MeansSet allowed, Permission said, MeansSet speaks_of) {
    switch (said) {
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
/// @param along one direction of a way; none for a node
MeansSet with_access(MeansSet by_default, const osmium::TagList& tags,
                     std::optional<Along> along = std::nullopt) {
    MeansSet allowed =
        permission(tags, access_key, along) == Permission::closed ? MeansSet{} : by_default;
    for (const AccessKey& key : particular_keys) {
        allowed = with_permission(allowed, permission(tags, key, along), key.speaks_of);
    }
    if (value_of(tags, "4wd_only") == "yes") {
        allowed = allowed.without(Means::car);
    }
    return with_permission(allowed, permission(tags, "emergency"), vehicles);
}

/// Who may go along a way and against it, one-ways left aside.
struct BothWays {
    MeansSet forward;
    MeansSet backward;
    bool is_empty() const { return forward.is_empty() && backward.is_empty(); }
};

BothWays both_ways(MeansSet by_default, const osmium::TagList& tags) {
    return {with_access(by_default, tags, Along::forward),
            with_access(by_default, tags, Along::backward)};
}

bool is_access_key(std::string_view key) {
    return key == access_key.either_way || key == "emergency" ||
           std::any_of(particular_keys.begin(), particular_keys.end(),
                       [&](const AccessKey& one) { return key == one.either_way; });
}

bool is_known_permission(std::string_view list) {
    bool is_known = true;
    each_word(list, [&](std::string_view word) {
        is_known = is_known && permission_of(word) != Permission::unsaid;
    });
    return is_known;
}

/// A key in its parts: `motor_vehicle:forward:conditional`.
struct KeyParts {
    explicit KeyParts(std::string_view key) {
        const std::size_t colon = std::min(key.find(':'), key.size());
        base = key.substr(0, colon);
        rest = key.substr(std::min(colon + 1, key.size()));
        is_conditional = rest == "conditional" || rest.ends_with(":conditional");
    }
    std::string_view base;
    std::string_view rest;
    bool is_conditional = false;
    bool is_directional() const { return rest == "forward" || rest == "backward"; }
};

/// How to remark what is said and not followed; literals, null where it is none of our business.
struct Ignored {
    const char* conditional_access;
    const char* conditional_one_way;
    const char* conditional_speed;
    const char* hours;
    const char* unknown_access;
    const char* unknown_one_way;
    const char* speed_one_way;
};

constexpr Ignored ignored_on_way{"way: conditional access, ignored",
                                 "way: conditional one-way, ignored",
                                 "way: conditional maxspeed, ignored",
                                 "way: opening hours of a road, ignored",
                                 "way: an access value that is not known, ignored",
                                 "way: a one-way value that is not known, ignored",
                                 "way: maxspeed of one direction, ignored"};
/// Its hours are its timetable.
constexpr Ignored ignored_on_ferry{"way: conditional access, ignored",
                                   "way: conditional one-way, ignored",
                                   nullptr,
                                   nullptr,
                                   "way: an access value that is not known, ignored",
                                   "way: a one-way value that is not known, ignored",
                                   nullptr};
constexpr Ignored ignored_on_node{"node: conditional access of a barrier, ignored",
                                  nullptr,
                                  nullptr,
                                  "node: opening hours of a barrier, ignored",
                                  "node: an access value that is not known, ignored",
                                  nullptr,
                                  nullptr};

bool is_one_way_key(const KeyParts& key) {
    return key.base == "oneway" &&
           is_one_of(key.rest, {"", "vehicle", "motor_vehicle", "motorcar", "motorcycle"});
}

bool is_known_one_way(std::string_view value) {
    return is_one_of(value,
                     {"yes", "true", "1", "no", "false", "0", "-1", "reverse", "reversible"});
}

const char* why_ignored(const osmium::Tag& tag, const Ignored& words) {
    const KeyParts key{tag.key()};
    if (key.is_conditional) {
        return is_access_key(key.base)  ? words.conditional_access
               : key.base == "oneway"   ? words.conditional_one_way
               : key.base == "maxspeed" ? words.conditional_speed
                                        : nullptr;
    }
    if (is_access_key(key.base) && (key.rest.empty() || key.is_directional())) {
        return is_known_permission(tag.value()) ? nullptr : words.unknown_access;
    }
    if (is_one_way_key(key)) {
        return is_known_one_way(tag.value()) ? nullptr : words.unknown_one_way;
    }
    if (key.base == "maxspeed" && key.is_directional()) {
        return words.speed_one_way;
    }
    return key.base == "opening_hours" && key.rest.empty() ? words.hours : nullptr;
}

/// Each reason once, however many keys of the way or node it stands for.
void note_ignored(const osmium::TagList& tags, const Ignored& words,
                  std::vector<const char*>& assumed) {
    for (const osmium::Tag& tag : tags) {
        const char* const why = why_ignored(tag, words);
        if (why != nullptr && std::find(assumed.begin(), assumed.end(), why) == assumed.end()) {
            assumed.push_back(why);
        }
    }
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

/// None where nothing is said that is known.
std::optional<Direction> said_direction(const osmium::TagList& tags, const char* key) {
    const std::string_view oneway = value_of(tags, key);
    if (is_one_of(oneway, {"yes", "true", "1"})) {
        return Direction::along;
    }
    if (is_one_of(oneway, {"-1", "reverse"})) {
        return Direction::against;
    }
    if (oneway == "reversible") {
        return Direction::unknown;
    }
    return is_one_of(oneway, {"no", "false", "0"}) ? std::optional{Direction::both} : std::nullopt;
}

Direction direction_of(const osmium::TagList& tags, std::string_view highway) {
    const bool is_roundabout = is_one_of(value_of(tags, "junction"), {"roundabout", "circular"});
    const Direction unsaid =
        highway == "motorway" || is_roundabout ? Direction::along : Direction::both;
    return said_direction(tags, "oneway").value_or(unsaid);
}

/// From the general to the particular: the last one said counts.
Direction direction_for(const osmium::TagList& tags, Direction of_all, const char* particular) {
    for (const char* key : {"oneway:vehicle", "oneway:motor_vehicle", particular}) {
        of_all = said_direction(tags, key).value_or(of_all);
    }
    return of_all;
}

void keep_to(Direction direction, MeansSet means, RoadTags& road) {
    if (direction == Direction::along || direction == Direction::unknown) {
        road.backward = remove(road.backward, means);
    }
    if (direction == Direction::against || direction == Direction::unknown) {
        road.forward = remove(road.forward, means);
    }
}

void set_directions(RoadTags& road, const BothWays& allowed, const osmium::TagList& tags,
                    std::string_view highway) {
    road.forward = allowed.forward;
    road.backward = allowed.backward;
    const Direction of_all = direction_of(tags, highway);
    const Direction of_cars = direction_for(tags, of_all, "oneway:motorcar");
    const Direction of_motorcycles = direction_for(tags, of_all, "oneway:motorcycle");
    keep_to(of_cars, cars, road);
    keep_to(of_motorcycles, remove(vehicles, cars), road);
    if (of_cars == Direction::unknown || of_motorcycles == Direction::unknown) {
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
        is_for_dry_season(tags) || says_so(tags, "intermittent") || says_so(tags, "flood_prone");
    attributes.is_wet_season_only = is_for_wet_season(tags);
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
    BothWays open = both_ways(allowed, tags);
    if (highway == "steps") {
        open = {remove(open.forward, vehicles), remove(open.backward, vehicles)};
    }
    if (open.is_empty()) {
        return {std::nullopt, "way: closed to everybody by its access tags"};
    }
    RoadTags road;
    road.attributes.kind.road_class = rule->road_class;
    read_surface(road, tags, speeds);
    read_speed_limit(road, tags);
    read_marks(road.attributes, tags, highway);
    set_directions(road, open, tags, highway);
    if (road.forward.is_empty() && road.backward.is_empty()) {
        return {std::nullopt, "way: reversible one-way for vehicles only"};
    }
    note_ignored(tags, ignored_on_way, road.assumed);
    return {std::move(road), nullptr};
}

WayMeaning ferry_meaning(const osmium::TagList& tags) {
    const BothWays open = both_ways(everybody, tags);
    if (open.is_empty()) {
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
    ferry.forward = is_one_of(oneway, {"-1", "reverse"}) ? MeansSet{} : open.forward;
    ferry.backward = is_one_of(oneway, {"yes", "true", "1"}) ? MeansSet{} : open.backward;
    if (ferry.forward.is_empty() && ferry.backward.is_empty()) {
        return {std::nullopt, "way: a ferry closed to everybody by its access tags"};
    }
    note_ignored(tags, ignored_on_ferry, ferry.assumed);
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

MeansSet stopped_at(const osmium::TagList& tags, std::vector<const char*>& assumed) {
    const std::string_view barrier = value_of(tags, "barrier");
    if (barrier.empty()) {
        return {};
    }
    const auto* const rule =
        std::find_if(barrier_rules.begin(), barrier_rules.end(),
                     [&](const BarrierRule& candidate) { return candidate.value == barrier; });
    const bool is_unknown = rule == barrier_rules.end();
    if (is_unknown) {
        assumed.push_back("node: a barrier that is not known, taken as open");
    }
    note_ignored(tags, ignored_on_node, assumed);
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

bool is_for_dry_season(const osmium::TagList& tags) {
    return says_so(tags, "seasonal") && !is_for_wet_season(tags);
}

bool is_for_wet_season(const osmium::TagList& tags) {
    return value_of(tags, "seasonal") == "wet_season";
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
