#include <fmt/format.h>

#include <ostream>

#include "server/answer.hpp"
#include "server/cli/commands.hpp"
#include "server/json/facility.hpp"
#include "server/json/object_reader.hpp"
#include "server/json/request.hpp"
#include "server/json/route.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

triage::Capability capability_of(const std::string& name) {
    if (const auto capability = triage::find_capability(name)) {
        return *capability;
    }
    std::vector<std::string> known;
    for (std::size_t i = 0; i < triage::capability_count; ++i) {
        known.emplace_back(to_name(static_cast<triage::Capability>(i)));
    }
    throw NotFound("capability " + unknown_name(name, known));
}

/// Read like a request for a way, whose errors it shares.
PlacesRequest request_of(const PlacesOptions& options) {
    JsonWriter json;
    json.begin_object();
    json.key("from").raw(place_json(options.from));
    json.key("to").raw(place_json(options.from));
    write_travel_members(json, {options.means, {}, options.surface, options.light});
    const RouteRequest way = parse_route_request(json.end_object().take());
    return {capability_of(options.capability), way.from, way.means, way.road_conditions};
}

void print_json(const std::vector<PlaceAnswer>& places, const Snapshot& snapshot,
                const Words& words, std::ostream& out) {
    JsonWriter json{2};
    json.begin_object().key("places").begin_list();
    for (const PlaceAnswer& place : places) {
        json.begin_object().member("facility", place.facility.value());
        json.member("name", snapshot.facilities.facility(place.facility).name);
        json.key("travel_time_s");
        if (place.travel_time) {
            write_travel_time(json, *place.travel_time);
        } else {
            json.null();
        }
        json.key("readiness");
        write_readiness(json, place.readiness, words);
        json.end_object();
    }
    out << json.end_list().end_object().take() << '\n';
}

std::string state_words(const facilities::Readiness& readiness, const Words& words) {
    switch (readiness.state) {
        case facilities::ReadinessState::ready:
            return "ready";
        case facilities::ReadinessState::ready_by:
            return readiness.ready_at ? "ready at " + words.clock(*readiness.ready_at) : "later";
        case facilities::ReadinessState::not_ready:
            return "not ready";
        case facilities::ReadinessState::unconfirmed:
            break;
    }
    return "unconfirmed: phone first";
}

}  // namespace

int run_places(const PlacesOptions& options, Terminal& terminal) {
    const PlacesRequest request = request_of(options);
    const Instant now = moment_of(options.common);
    const auto snapshot = snapshot_of(options.common, now);
    const auto places = answer_places(*snapshot, request, now);
    const Words words{snapshot->catalogue, snapshot->zone, now};
    if (options.common.json) {
        print_json(places, *snapshot, words, terminal.out);
        return 0;
    }
    terminal.out << "Who can give " << words.capability(request.capability)
                 << ", nearest first (usual travel time, time to allow):\n";
    for (const PlaceAnswer& place : places) {
        const facilities::Facility& facility = snapshot->facilities.facility(place.facility);
        terminal.out << fmt::format("  {} ({}): {}; {}\n", facility.name, facility.id.value(),
                                    place.travel_time
                                        ? words.span(place.travel_time->typical) + ", allow " +
                                              words.span(place.travel_time->allow)
                                        : std::string{"no way there"},
                                    state_words(place.readiness, words));
        for (const std::string& reason : words.texts(place.readiness.reasons)) {
            terminal.out << "      " << reason << '\n';
        }
    }
    return 0;
}

}  // namespace waybourne::server
