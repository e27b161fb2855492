#include "server/answer.hpp"
#include "server/http/resources.hpp"
#include "server/json/facility.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

namespace {

HttpResponse list_facilities(const Snapshot& snapshot) {
    JsonWriter json;
    json.begin_object().key("facilities").begin_list();
    for (const facilities::Facility& facility : snapshot.facilities.facilities()) {
        write_facility_summary(json, facility);
    }
    json.end_list().end_object();
    return {200, json.take()};
}

HttpResponse show_facility(const Snapshot& snapshot, const FacilityId& id) {
    JsonWriter json;
    write_facility(json, snapshot.facilities.facility(id));
    return {200, json.take()};
}

HttpResponse show_readiness(const Snapshot& snapshot, const FacilityId& id, Instant now) {
    const auto all = answer_readiness(snapshot, id, now);
    const Words words{snapshot.catalogue, snapshot.facilities.time_zone(id), now};
    JsonWriter json;
    json.begin_object().member("facility", id.value()).member("at", now);
    json.key("readiness").begin_list();
    for (const facilities::Readiness& readiness : all) {
        write_readiness(json, readiness, words);
    }
    json.end_list().end_object();
    return {200, json.take()};
}

}  // namespace

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

std::vector<Endpoint> facility_endpoints(const Application& application) {
    const auto list = [&application](const HttpRequest& request) {
        return with_entity_tag(list_facilities(*application.snapshot.get()), request.if_none_match);
    };
    const auto one = [&application](const HttpRequest& request) {
        return with_entity_tag(
            show_facility(*application.snapshot.get(), FacilityId{request.path_values.at(0)}),
            request.if_none_match);
    };
    const auto readiness = [&application](const HttpRequest& request) {
        return show_readiness(*application.snapshot.get(), FacilityId{request.path_values.at(0)},
                              application.clock.now());
    };
    return {{"GET", "/v1/facilities", Privacy::open, list},
            {"GET", "/v1/facilities/{id}", Privacy::open, one},
            {"GET", "/v1/facilities/{id}/readiness", Privacy::open, readiness}};
}

}  // namespace waybourne::server
