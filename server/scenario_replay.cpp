#include "server/scenario_replay.hpp"

#include "server/coverage.hpp"
#include "server/json/coverage.hpp"
#include "server/json/coverage_request.hpp"
#include "server/planning_inputs.hpp"

namespace waybourne::server {

namespace {

const JsonValue& part(const JsonValue& value, const char* name) {
    const JsonValue* const found = value.find(name);
    if (found == nullptr) {
        throw InputError(std::string("this is no saved what-if: it has no member \"") + name + '"');
    }
    return *found;
}

std::string text_of(const JsonValue* value) {
    return value != nullptr && value->kind() == JsonKind::text ? value->text() : "";
}

std::string text_at(const JsonValue& value, const char* name) {
    return text_of(&part(value, name));
}

/// The question with the moment and the road conditions that it was answered for.
WhatIfRequest request_of(const JsonValue& saved, const ScenarioFiles& files) {
    WhatIfRequest request = parse_what_if_request(to_json(part(saved, "request")));
    const JsonValue& inputs = part(part(saved, "answer"), "inputs");
    request.coverage.leave_at = parse_rfc3339(text_at(inputs, "leave_at"));
    request.coverage.road_conditions = {
        text_at(inputs, "surface") == "wet" ? routing::Surface::wet : routing::Surface::dry,
        text_at(inputs, "light") == "night" ? routing::Light::night : routing::Light::day};
    request.coverage.settlements = files.settlements;
    request.coverage.areas = files.areas;
    return request;
}

void compare_inputs(const Snapshot& snapshot, const JsonValue& recorded,
                    const WhatIfRequest& request, ScenarioReplay& replay) {
    const auto compare = [&](const std::string& name, const std::string& then,
                             const std::string& now) {
        if (then == now) {
            replay.unchanged.push_back(name);
        } else {
            replay.changed.push_back({name, then, now});
        }
    };
    const JsonValue& files = part(recorded, "sha256");
    for (const auto& [name, now] :
         planning_inputs(snapshot, request.coverage, *request.coverage.leave_at)) {
        if (counts_for_coverage(name)) {
            compare(name, text_of(files.find(name)), now);
        }
    }
    compare("program", text_of(recorded.find("program")), WAYBOURNE_VERSION);
}

void check_shape(const JsonValue& answer) {
    if (part(answer, "scenarios").kind() != JsonKind::list) {
        throw InputError("this is no saved what-if: \"scenarios\" is no list");
    }
    part(answer, "before");
}

/// All but the inputs.
std::string figures_of(const JsonValue& answer) {
    return to_json(part(answer, "before")) + to_json(part(answer, "scenarios"));
}

}  // namespace

ScenarioReplay replay_scenario(const Snapshot& snapshot, const JsonValue& saved,
                               const ScenarioFiles& files, Instant now,
                               const coverage::Work& work) {
    ScenarioReplay replay;
    const WhatIfRequest request = request_of(saved, files);
    const JsonValue& then = part(saved, "answer");
    check_shape(then);
    compare_inputs(snapshot, part(then, "inputs"), request, replay);
    try {
        JsonWriter json;
        write_what_if_answer(json, snapshot, request, answer_what_if(snapshot, request, now, work));
        replay.now = parse_json(json.take());
        replay.figures_are_the_same = figures_of(then) == figures_of(*replay.now);
    } catch (const InputError& error) {  // a road or a place that is not there any more
        replay.failure = error.what();
    } catch (const NotFound& error) {
        replay.failure = error.what();
    }
    return replay;
}

std::string to_json(const JsonValue& saved, const ScenarioReplay& replay) {
    JsonWriter json;
    json.begin_object().member("name", text_at(saved, "name"));
    json.member("saved_at", text_at(saved, "saved_at"));
    json.member("inputs_are_the_same", replay.inputs_are_the_same());
    json.member("figures_are_the_same", replay.figures_are_the_same);
    json.key("changed").begin_list();
    for (const ChangedSource& one : replay.changed) {
        json.begin_object().member("what", one.what).member("then", one.then);
        json.member("now", one.now).end_object();
    }
    json.end_list().member("unchanged", replay.unchanged);
    json.key("then").raw(to_json(part(saved, "answer"))).key("now");
    replay.now ? json.raw(to_json(*replay.now)) : json.null();
    return json.member("failure", replay.failure).end_object().take();
}

}  // namespace waybourne::server
