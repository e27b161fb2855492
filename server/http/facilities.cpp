#include "server/answer_json.hpp"
#include "server/http/resources.hpp"
#include "server/languages.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

HttpResponse with_entity_tag(HttpResponse response, const std::string& if_none_match) {
    constexpr std::size_t length = 32;  // 128 bits of the hash
    const std::string tag = "\"" + sha256(response.body).substr(0, length) + "\"";
    response.headers.emplace_back("ETag", tag);
    if (if_none_match.find(tag) != std::string::npos || if_none_match == "*") {
        response.status = 304;
        response.body.clear();
    }
    return response;
}

HttpResponse in_language(HttpResponse response, const Catalogue& catalogue) {
    response.headers.emplace_back("Content-Language", catalogue.language());
    response.headers.emplace_back("Vary", "Accept-Language");
    return response;
}

std::vector<Endpoint> facility_endpoints(const Application& application) {
    const auto list = [&application](const HttpRequest& request) {
        return with_entity_tag({200, facilities_json(*application.snapshot.get())},
                               request.if_none_match);
    };
    const auto one = [&application](const HttpRequest& request) {
        return with_entity_tag({200, facility_json(*application.snapshot.get(),
                                                   FacilityId{request.path_values.at(0)})},
                               request.if_none_match);
    };
    const auto readiness = [&application](const HttpRequest& request) {
        const auto snapshot = application.snapshot.get();
        const Catalogue& catalogue = catalogue_for(*snapshot, request.caller.languages);
        return in_language({200, readiness_json(*snapshot, FacilityId{request.path_values.at(0)},
                                                application.clock.now(), catalogue)},
                           catalogue);
    };
    return {{"GET", "/v1/facilities", Privacy::open, list},
            {"GET", "/v1/facilities/{id}", Privacy::open, one},
            {"GET", "/v1/facilities/{id}/readiness", Privacy::open, readiness}};
}

}  // namespace waybourne::server
