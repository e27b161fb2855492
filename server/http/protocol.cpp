#include "server/answer_json.hpp"
#include "server/http/resources.hpp"

namespace waybourne::server {

std::vector<Endpoint> protocol_endpoints(const Application& application) {
    const auto show = [&application](const HttpRequest& request) {
        const auto snapshot = application.snapshot.get();
        return with_entity_tag({200, protocol_json(*snapshot)}, request.if_none_match);
    };
    return {{"GET", "/v1/protocol", Privacy::open, show}};
}

}  // namespace waybourne::server
