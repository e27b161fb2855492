#include "server/http/resources.hpp"
#include "server/json/object_reader.hpp"
#include "server/json/vehicle.hpp"
#include "server/named_place.hpp"

namespace waybourne::server {

namespace {

constexpr std::size_t most_shown = 8;
constexpr std::size_t longest_name = 100;

std::string name_in(const HttpRequest& request) {
    return parse_body(request.body, [&](ObjectReader& body, std::vector<FieldError>& errors) {
        body.require("name");
        std::string name = body.text("name").value_or("");
        if (errors.empty() && (name.empty() || name.size() > longest_name)) {
            body.refuse("name", "needs 1 to 100 bytes");
        }
        return name;
    });
}

HttpResponse find_places(const Application& application, const HttpRequest& request) {
    const auto snapshot = application.snapshot.get();
    JsonWriter json;
    json.begin_object().key("places").begin_list();
    for (const LikelyPlace& place : places_like(*snapshot, name_in(request), most_shown)) {
        json.begin_object().member("id", place.id).member("name", place.name);
        json.member("kind", place.kind).member("is_facility", place.is_facility);
        json.member("facility", place.facility);
        write_point_members(json, place.point);
        json.end_object();
    }
    return {200, json.end_list().end_object().take()};
}

}  // namespace

std::vector<Endpoint> named_place_endpoints(const Application& application) {
    // POST, although nothing is stored: where a woman is must not stand in an address.
    const auto find = [&application](const HttpRequest& request) {
        return find_places(application, request);
    };
    return {
        {"POST", "/v1/named-places", Privacy::personal, worked_out_by(application.workers, find)}};
}

}  // namespace waybourne::server
