#include "server/answer.hpp"
#include "server/http/resources.hpp"
#include "server/json/request.hpp"
#include "server/json/route.hpp"

namespace waybourne::server {

std::vector<Endpoint> route_endpoints(const Application& application) {
    // POST, although nothing is stored: where a woman is must not stand in an address, which is
    // logged and remembered along the way.
    const auto post = [&application](const HttpRequest& request) {
        const auto snapshot = application.snapshot.get();
        const RouteAnswer answer =
            answer_route(*snapshot, parse_route_request(request.body), application.clock.now());
        JsonWriter json;
        write_route_answer(json, answer);
        return HttpResponse{200, json.take()};
    };
    return {{"POST", "/v1/routes", Privacy::personal, worked_out_by(application.workers, post)}};
}

}  // namespace waybourne::server
