#include "server/http/resources.hpp"
#include "server/page_files.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// Everything from this origin and nothing from elsewhere, no script in the page itself.
/// `wasm-unsafe-eval` lets the phone's own engine be compiled, and no text be run as a script
/// (Content Security Policy Level 3, section 8.3).
constexpr const char* page_policy =
    "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; "
    "img-src 'self'{}; connect-src 'self'; manifest-src 'self'; worker-src 'self'; "
    "form-action 'none'; frame-ancestors 'none'; base-uri 'none'";

/// `https://tiles.example/…` without its path; empty for no such address.
std::string origin_of(const std::string& address) {
    const std::size_t scheme = address.find("://");
    if (scheme == std::string::npos) {
        return "";
    }
    return address.substr(0, address.find('/', scheme + 3));
}

std::string policy_of(const Snapshot& snapshot) {
    const std::string tiles = origin_of(snapshot.district.map_tiles);
    std::string policy = page_policy;
    return policy.replace(policy.find("{}"), 2, tiles.empty() ? "" : " " + tiles);
}

HttpResponse show_file(const Application& application, const HttpRequest& request,
                       const std::string& path) {
    const PageFile* file = application.page == nullptr ? nullptr : application.page->find(path);
    if (file == nullptr) {
        throw NotFound("the page has no such file");
    }
    HttpResponse response{200, file->bytes, file->content_type};
    response.gzip_body = file->gzip;
    response.headers.emplace_back("Content-Security-Policy",
                                  policy_of(*application.snapshot.get()));
    return with_entity_tag(std::move(response), request.if_none_match);
}

}  // namespace

std::vector<Endpoint> page_endpoints(const Application& application) {
    const auto at = [&application](std::string path) {
        return [&application, path = std::move(path)](const HttpRequest& request) {
            return show_file(application, request, path);
        };
    };
    const auto file = [&application](const HttpRequest& request) {
        return show_file(application, request, "/page/" + request.path_values.at(0));
    };
    const auto nested = [&application](const HttpRequest& request) {
        return show_file(application, request,
                         "/page/" + request.path_values.at(0) + "/" + request.path_values.at(1));
    };
    return {{"GET", "/", Privacy::open, at("/")},
            {"GET", "/worker.js", Privacy::open, at("/worker.js")},
            {"GET", "/manifest.webmanifest", Privacy::open, at("/manifest.webmanifest")},
            {"GET", "/page/{file}", Privacy::open, file},
            {"GET", "/page/{folder}/{file}", Privacy::open, nested}};
}

}  // namespace waybourne::server
