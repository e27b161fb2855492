#include "server/http/resources.hpp"
#include "server/json/writer.hpp"
#include "server/pack/pack_shelf.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

constexpr const char* binary = "application/octet-stream";

PackShelf& packs_of(const Application& application) {
    if (application.packs == nullptr) {
        throw Unavailable("this server makes no packs");
    }
    return *application.packs;
}

HttpResponse show_pack(const Application& application, const HttpRequest& request) {
    const auto pack = packs_of(application).pack_of(application.snapshot.get());
    const std::string tag = "\"" + pack->sha256 + "\"";
    HttpResponse response{200, {}, binary};
    response.headers.emplace_back("ETag", tag);
    response.headers.emplace_back("Cache-Control", "private, no-cache");
    if (request.if_none_match.find(tag) != std::string::npos) {
        response.status = 304;
    } else {
        response.body = pack->bytes;
    }
    return response;
}

/// What stands under a hash never changes.
HttpResponse show_pack_by_hash(const Application& application, const HttpRequest& request) {
    const auto pack = packs_of(application).find(request.path_values.at(0));
    if (!pack) {
        throw NotFound("no pack in force has this hash; GET /v1/pack has the one that is");
    }
    HttpResponse response{200, pack->bytes, binary};
    response.headers.emplace_back("ETag", "\"" + pack->sha256 + "\"");
    response.headers.emplace_back("Cache-Control", "private, max-age=31536000, immutable");
    return response;
}

HttpResponse show_key(const Application& application) {
    JsonWriter json;
    json.begin_object().member("algorithm", "Ed25519");
    json.member("public_key", packs_of(application).public_key()).end_object();
    return {200, json.take()};
}

}  // namespace

std::vector<Endpoint> pack_endpoints(const Application& application) {
    const auto newest = [&application](const HttpRequest& request) {
        return show_pack(application, request);
    };
    const auto one = [&application](const HttpRequest& request) {
        return show_pack_by_hash(application, request);
    };
    const auto key = [&application](const HttpRequest&) { return show_key(application); };
    return {{"GET", "/v1/pack", Privacy::open, worked_out_by(application.workers, newest)},
            {"GET", "/v1/packs/{sha256}", Privacy::open, one},
            {"GET", "/v1/pack-key", Privacy::open, key}};
}

}  // namespace waybourne::server
