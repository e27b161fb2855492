#include "server/json/protocol.hpp"

#include "server/http/resources.hpp"

namespace waybourne::server {

std::vector<Endpoint> protocol_endpoints(const Application& application) {
    const auto show = [&application](const HttpRequest& request) {
        const auto snapshot = application.snapshot.get();
        JsonWriter json;
        write_protocol(json, snapshot->protocol, snapshot->catalogue);
        return with_entity_tag({200, json.take()}, request.if_none_match);
    };
    return {{"GET", "/v1/protocol", Privacy::open, show}};
}

}  // namespace waybourne::server
