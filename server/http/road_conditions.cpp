#include "server/json/road_conditions.hpp"

#include "server/http/resources.hpp"

namespace waybourne::server {

std::vector<Endpoint> road_condition_endpoints(const Application& application) {
    const auto show = [&application](const HttpRequest& /*request*/) {
        JsonWriter json;
        write_road_state(json, *application.snapshot.get(), application.clock.now());
        return HttpResponse{200, json.take()};
    };
    return {{"GET", "/v1/road-conditions", Privacy::open, show}};
}

}  // namespace waybourne::server
