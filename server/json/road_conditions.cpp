#include "server/json/road_conditions.hpp"

#include <fmt/format.h>

#include "server/json/route.hpp"

namespace waybourne::server {

namespace {

std::optional<std::string> day_text(const std::optional<DayOfYear>& day) {
    if (!day) {
        return std::nullopt;
    }
    return fmt::format("{:02}-{:02}", day->month_and_day / 32, day->month_and_day % 32);
}

std::string clock_text(std::chrono::minutes time) {
    return fmt::format("{:02}:{:02}", time.count() / 60, time.count() % 60);
}

void write_where(JsonWriter& json, const routing::Where& where) {
    json.begin_object();
    if (const auto* road = std::get_if<routing::RoadId>(&where)) {
        json.member("road_id", road->value);
    } else if (const auto* name = std::get_if<routing::RoadName>(&where)) {
        json.member("road", name->name);
    } else {
        json.key("area");
        write_line(json, std::get<routing::Area>(where).ring);
    }
    json.end_object();
}

}  // namespace

void write_change(JsonWriter& json, const routing::RoadChange& change) {
    constexpr int factor_decimals = 3;
    json.begin_object().member("id", change.id).key("where");
    write_where(json, change.where);
    json.key("slower_by");
    if (change.slower_by) {
        json.value(*change.slower_by, factor_decimals);
    } else {
        json.null();
    }
    json.member("from", change.period.from).member("until", change.period.until);
    json.member("reason", change.reason).end_object();
}

void write_road_state(JsonWriter& json, const Snapshot& snapshot, Instant now,
                      const std::vector<RoadNotice>& notices) {
    const District& district = snapshot.district;
    json.begin_object().member("at", now).key("expected");
    write_road_conditions(json, expected_conditions(district, snapshot.zone, now));
    json.key("wet_season");
    if (district.wet_season) {
        json.begin_object().member("from", day_text(district.wet_season->from));
        json.member("until", day_text(district.wet_season->until)).end_object();
    } else {
        json.null();
    }
    json.key("daylight").begin_object().member("from", clock_text(district.daylight.from));
    json.member("until", clock_text(district.daylight.until)).end_object();
    json.key("changes").begin_list();
    for (const routing::RoadChange& change : snapshot.roads->changes()) {
        write_change(json, change);
    }
    json.end_list().key("reported").begin_list();
    for (const RoadNotice& notice : notices) {
        json.begin_object().member("id", notice.change.id).member("by", notice.who);
        json.member("at", notice.at).end_object();
    }
    json.end_list().end_object();
}

}  // namespace waybourne::server
