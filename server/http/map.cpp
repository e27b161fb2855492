#include "server/json/map.hpp"

#include "server/http/resources.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

HttpResponse show_about(const Application& application, const HttpRequest& request) {
    const auto snapshot = application.snapshot.get();
    JsonWriter json;
    write_map_about(json, snapshot->drawing->bounds(), snapshot->district.map_tiles);
    return with_entity_tag({200, json.take()}, request.if_none_match);
}

HttpResponse show_square(const Application& application, const HttpRequest& request) {
    const auto square = find_square(request.path_values.at(0), request.path_values.at(1),
                                    request.path_values.at(2));
    if (!square) {
        throw NotFound("no square of the map: zoom from " + std::to_string(least_zoom) + " to " +
                       std::to_string(most_zoom) + ", x and y below 2 to the power of it");
    }
    const auto snapshot = application.snapshot.get();
    JsonWriter json;
    write_map_lines(json, *square, snapshot->drawing->lines(*square));
    return with_entity_tag({200, json.take()}, request.if_none_match);
}

}  // namespace

std::vector<Endpoint> map_endpoints(const Application& application) {
    const auto about = [&application](const HttpRequest& request) {
        return show_about(application, request);
    };
    const auto square = [&application](const HttpRequest& request) {
        return show_square(application, request);
    };
    return {{"GET", "/v1/map", Privacy::open, about},
            {"GET", "/v1/map/{zoom}/{x}/{y}", Privacy::open, square}};
}

}  // namespace waybourne::server
