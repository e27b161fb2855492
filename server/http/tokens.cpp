#include "server/http/resources.hpp"
#include "server/json/object_reader.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// Nothing is asked in the body: what is secret stands in the header.
void check_empty(std::string_view body) {
    std::vector<FieldError> errors;
    const JsonValue value = parse_json(body);
    ObjectReader reader{value, "#", errors};
    reader.finish();
    if (!errors.empty()) {
        throw InputError("the body must be {}", errors);
    }
}

HttpResponse give_token(const Application& application, const HttpRequest& request) {
    if (application.guard == nullptr) {
        throw Conflict("nobody needs a key here");
    }
    check_empty(request.body);
    const auto [session, caller] =
        application.guard->exchange(request.authorization, request.address);
    JsonWriter json;
    json.begin_object().member("token", session.token);
    json.member("token_expires_in_s", session.token_until - application.clock.now());
    json.member("refresh_secret", session.refresh);
    json.member("refresh_expires_at", session.refresh_until);
    json.member("account", caller.who).key("role").value(to_name(caller.role));
    json.key("facilities").begin_list();
    for (const FacilityId& facility : caller.facilities) {
        json.value(facility.value());
    }
    json.end_list().member("practice", caller.practice);
    return {200, json.end_object().take()};
}

}  // namespace

std::vector<Endpoint> token_endpoints(const Application& application) {
    const auto post = [&application](const HttpRequest& request) {
        return give_token(application, request);
    };
    return {{"POST", "/v1/tokens", Privacy::personal, post}};
}

}  // namespace waybourne::server
