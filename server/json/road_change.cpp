#include "server/json/road_change.hpp"

#include "server/json/route.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;

constexpr std::size_t most_ring_points = 500;
constexpr double most_counted = 1e15;

bool is_blank(const std::string& name) {
    return name.find_first_not_of(" \t\r\n") == std::string::npos;
}

routing::Area parse_area(const JsonValue& value, ObjectReader& reader, Errors& errors) {
    static const std::vector<std::string> types{"LineString"};
    routing::Area area;
    ObjectReader line{value, reader.pointer_to("area"), errors};
    line.require("coordinates");
    line.choice("type", types);
    const auto* points = line.list("coordinates", most_ring_points);
    for (std::size_t i = 0; points != nullptr && i < points->size(); ++i) {
        if (const auto point = find_position((*points)[i])) {
            area.ring.push_back(*point);
        } else {
            line.refuse("coordinates", "holds something else than [longitude, latitude]");
            break;
        }
    }
    if (area.ring.size() < 3 && points != nullptr) {
        line.refuse("coordinates", "needs three points or more");
    }
    line.finish();
    return area;
}

/// A blank name too: once it was taken, and what is stored must be read for ever.
routing::Where stored_where(const JsonValue& value, const std::string& pointer, Errors& errors) {
    ObjectReader reader{value, pointer, errors};
    const auto id = reader.number("road_id", {-most_counted, most_counted});
    const auto road = reader.text("road");
    const JsonValue* area = reader.take("area");
    reader.finish();
    if ((id ? 1 : 0) + (road ? 1 : 0) + (area != nullptr ? 1 : 0) != 1) {
        errors.push_back({pointer, R"(needs one of "road_id", "road" or "area")"});
        return routing::RoadName{};
    }
    if (id) {
        return routing::RoadId{static_cast<std::int64_t>(*id)};
    }
    if (road) {
        return routing::RoadName{*road};
    }
    return parse_area(*area, reader, errors);
}

}  // namespace

routing::Where parse_where(ObjectReader& body, const std::string& name, Errors& errors) {
    const JsonValue* value = body.take(name);
    return value == nullptr ? routing::RoadName{}
                            : read_where(*value, body.pointer_to(name), errors);
}

routing::Where read_where(const JsonValue& value, const std::string& pointer, Errors& errors) {
    const std::size_t before = errors.size();
    routing::Where where = stored_where(value, pointer, errors);
    const auto* road = std::get_if<routing::RoadName>(&where);
    if (errors.size() == before && road != nullptr && is_blank(road->name)) {
        errors.push_back({pointer + "/road", "is blank: give the road's name, or its road_id"});
    }
    return where;
}

routing::RoadChange parse_change(ObjectReader& reader, Errors& errors) {
    routing::RoadChange change;
    change.id = reader.text("id").value_or("");
    if (const JsonValue* where = reader.take("where")) {
        change.where = stored_where(*where, reader.pointer_to("where"), errors);
    } else {
        change.where = routing::RoadName{};
    }
    change.slower_by = reader.number("slower_by", {1, slowest});
    change.period = {reader.instant("from"), reader.instant("until")};
    change.reason = reader.text("reason").value_or("");
    return change;
}

}  // namespace waybourne::server
