#include "server/answer_json.hpp"
#include "server/http/resources.hpp"
#include "server/languages.hpp"

namespace waybourne::server {

std::vector<Endpoint> protocol_endpoints(const Application& application) {
    const auto show = [&application](const HttpRequest& request) {
        const auto snapshot = application.snapshot.get();
        const Catalogue& catalogue = catalogue_for(*snapshot, request.caller.languages);
        return in_language(
            with_entity_tag({200, protocol_json(*snapshot, catalogue)}, request.if_none_match),
            catalogue);
    };
    return {{"GET", "/v1/protocol", Privacy::open, show}};
}

}  // namespace waybourne::server
