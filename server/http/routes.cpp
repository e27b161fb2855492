#include "server/answer_json.hpp"
#include "server/http/resources.hpp"
#include "server/json/request.hpp"
#include "server/json/route.hpp"
#include "server/ways.hpp"

namespace waybourne::server {

std::vector<Endpoint> route_endpoints(const Application& application) {
    // POST, although nothing is stored: where a woman is must not stand in an address, which is
    // logged and remembered along the way.
    const auto post = [&application](const HttpRequest& request) {
        const auto snapshot = application.snapshot.get();
        return HttpResponse{200, route_json(*snapshot, request.body, application.clock.now())};
    };
    const auto alternatives = [&application](const HttpRequest& request) {
        const auto snapshot = application.snapshot.get();
        JsonWriter json;
        write_alternatives_answer(
            json, answer_alternatives(*snapshot, parse_alternatives_request(request.body),
                                      application.clock.now()));
        return HttpResponse{200, json.take()};
    };
    const auto reach = [&application](const HttpRequest& request) {
        const auto snapshot = application.snapshot.get();
        JsonWriter json;
        write_reach_answer(
            json,
            answer_reach(*snapshot, parse_reach_request(request.body), application.clock.now()),
            *snapshot);
        return HttpResponse{200, json.take()};
    };
    Workers& workers = application.workers;
    return {
        {"POST", "/v1/routes", Privacy::personal, worked_out_by(workers, post)},
        {"POST", "/v1/alternatives", Privacy::personal, worked_out_by(workers, alternatives)},
        {"POST", "/v1/reach", Privacy::personal, worked_out_by(workers, reach)},
    };
}

}  // namespace waybourne::server
