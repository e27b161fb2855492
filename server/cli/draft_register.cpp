#include "server/cli/draft_register.hpp"

#include <algorithm>

#include "server/json/writer.hpp"

namespace waybourne::server {

namespace {

constexpr const char* about_the_file =
    "A draft made from OpenStreetMap data, © OpenStreetMap contributors, Open Database License. "
    "Which care each place gives is not known. Ask each place, write what it says, and take out "
    "its 'draft'. See docs/howto/import-facilities.md.";
constexpr const char* about_a_place =
    "Not confirmed by anybody. Services, hours and phones are not known.";

/// `node/123` → `osm-node-123`, which is a good id of a register and stays the same.
std::string id_of(const routing::HealthSite& site) {
    std::string id = "osm-" + site.osm_id;
    std::replace(id.begin(), id.end(), '/', '-');
    return id;
}

void write(JsonWriter& json, const routing::HealthSite& site, const std::string& time_zone) {
    json.begin_object().member("type", "Feature").member("id", id_of(site));
    json.key("geometry").begin_object().member("type", "Point").key("coordinates");
    json.value(site.point).end_object();
    json.key("properties").begin_object().member("draft", about_a_place);
    json.member("name", site.name).member("kind", site.kind).member("time_zone", time_zone);
    json.end_object().end_object();
}

}  // namespace

std::string draft_register(std::span<const routing::HealthSite> sites,
                           const std::string& time_zone) {
    JsonWriter json{2};
    json.begin_object().member("type", "FeatureCollection");
    json.member("description", about_the_file).key("features").begin_list();
    for (const routing::HealthSite& site : sites) {
        write(json, site, time_zone);
    }
    return json.end_list().end_object().take() + "\n";
}

}  // namespace waybourne::server
