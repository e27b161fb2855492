#include "server/json/transport_plan.hpp"

#include <algorithm>
#include <set>

#include "dispatch/vehicle_file.hpp"
#include "server/json/cover.hpp"
#include "server/json/object_reader.hpp"
#include "server/json/recommendation.hpp"
#include "server/json/request.hpp"
#include "server/json/route.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;

// Far beyond one district (ours, no source).
constexpr std::size_t most_referrals = 60;
constexpr std::size_t most_vehicles_of_one = 2;

ReferralToCarry read_referral(const JsonValue& value, const std::string& pointer, Errors& errors) {
    ObjectReader reader{value, pointer, errors};
    ReferralToCarry referral;
    reader.require("id");
    reader.require("request");
    referral.id = ReferralId{reader.text("id").value_or("")};
    if (const JsonValue* request = reader.take("request")) {
        referral.request =
            read_recommendation_request(*request, reader.pointer_to("request"), errors);
        const JsonValue* const transport = request->find("transport");
        referral.has_own_transport = transport != nullptr && transport->kind() == JsonKind::object;
    }
    referral.can_sit = reader.boolean("can_sit").value_or(false);
    reader.finish();
    return referral;
}

/// Read as the vehicles file is, so that both say the same of the same mistake.
std::optional<std::vector<dispatch::Vehicle>> read_vehicles(ObjectReader& body, Errors& errors) {
    const JsonValue* given = body.take("vehicles");
    if (given == nullptr) {
        return std::nullopt;
    }
    JsonWriter file;
    file.begin_object().key("vehicles").raw(to_json(*given)).end_object();
    try {
        return dispatch::read_vehicles(file.take());
    } catch (const InputError& error) {
        errors.insert(errors.end(), error.fields().begin(), error.fields().end());
        return std::nullopt;
    }
}

void write_meeting(JsonWriter& json, const std::optional<dispatch::Meeting>& meeting) {
    if (!meeting) {
        json.null();
        return;
    }
    constexpr int decimals = 7;
    json.begin_object();
    json.key("latitude").value(meeting->point.latitude().degrees, decimals);
    json.key("longitude").value(meeting->point.longitude().degrees, decimals);
    json.key("first_arrives");
    write_expected(json, meeting->first_arrives);
    json.key("second_arrives");
    write_expected(json, meeting->second_arrives);
    json.key("landing");
    if (meeting->landing.empty()) {
        json.null();
    } else {
        json.value(meeting->landing);
    }
    json.end_object();
}

std::vector<std::string> names_of(triage::CapabilitySet kit) {
    std::vector<std::string> names;
    for (const triage::Capability capability : kit.members()) {
        names.emplace_back(to_name(capability));
    }
    return names;
}

void write_when_possible(JsonWriter& json, const dispatch::Way& way, const Snapshot& snapshot) {
    constexpr int decimals = 2;
    json.key("places").begin_list();
    for (const referral::Stage& stage : way.recommendation.chosen->stages) {
        const facilities::Facility& place = snapshot.facilities.facility(stage.facility);
        json.begin_object().member("facility", place.id).member("name", place.name);
        json.member("phones", place.phones).end_object();
    }
    json.end_list();
    json.key("leaves");
    write_expected(json, way.leaves);
    json.key("meeting");
    write_meeting(json, way.meeting);
    json.key("arrives");
    write_expected(json, way.arrives);
    json.key("care_begins");
    write_expected(json, way.care_begins);
    json.key("chance_in_time").value(way.chance_in_time, decimals);
}

void write_way(JsonWriter& json, const dispatch::Way& way, const TransportPlanAnswer& answer,
               const Snapshot& snapshot, const Words& words) {
    json.begin_object().member("kind", dispatch::to_name(way.kind));
    json.member("possible", way.is_possible());
    json.key("vehicles");
    write_vehicles(json, way.vehicles, answer.vehicles);
    json.member("sets_out", way.sets_out);
    json.key("with_her");
    write_expected(json, way.with_her);
    if (way.is_possible()) {
        json.member("outcome", to_name(way.recommendation.outcome));
        write_when_possible(json, way, snapshot);
    }
    std::vector<std::string> skills;
    for (const dispatch::Skill skill : way.escort_skills) {
        skills.emplace_back(dispatch::to_name(skill));
    }
    json.member("on_board", names_of(way.on_board)).member("escort_skills", skills);
    json.member("waits_for_dawn", way.waits_for_dawn).member("takes_a_ferry", way.takes_a_ferry);
    json.member("remarks", words.texts(way.remarks)).member("against", words.texts(way.against));
    json.end_object();
}

/// From where she leaves, or where she changes vehicles, to the last place; null when she waits.
void write_geometry(JsonWriter& json, const dispatch::Way& way) {
    if (!way.is_possible()) {
        json.null();
        return;
    }
    std::vector<GeoPoint> line;
    for (const referral::Stage& stage : way.recommendation.chosen->stages) {
        const auto part = stage.route.line();
        line.insert(line.end(), part.begin(), part.end());
    }
    write_line(json, line);
}

void write_changes(JsonWriter& json, const TransportPlanAnswer& answer, const Words& words) {
    json.key("changed").begin_list();
    for (const dispatch::ChangedPromise& changed : answer.plan.changed) {
        json.begin_object().member("referral", changed.referral).key("was");
        write_vehicles(json, changed.was, answer.vehicles);
        json.key("now");
        write_vehicles(json, changed.now, answer.vehicles);
        json.member("why", words.text(changed.why)).end_object();
    }
    json.end_list();
}

void write_cost(JsonWriter& json, const char* name, dispatch::Cost cost) {
    constexpr int decimals = 3;
    json.key(name).begin_object();
    json.key("lateness").value(dispatch::lateness_in(cost), decimals);
    json.member("seconds", dispatch::seconds_in(cost)).end_object();
}

}  // namespace

dispatch::Promise read_promise(const JsonValue& value, const std::string& pointer, Errors& errors) {
    ObjectReader reader{value, pointer, errors};
    dispatch::Promise promise;
    reader.require("referral");
    promise.referral = ReferralId{reader.text("referral").value_or("")};
    const auto* vehicles = reader.list("vehicles", most_vehicles_of_one);
    for (std::size_t i = 0; vehicles != nullptr && i < vehicles->size(); ++i) {
        if ((*vehicles)[i].kind() == JsonKind::text) {
            promise.vehicles.emplace_back((*vehicles)[i].text());
        } else {
            errors.push_back({reader.pointer_to("vehicles") + "/" + std::to_string(i),
                              "the id of a vehicle is needed"});
        }
    }
    promise.is_aboard = reader.boolean("aboard").value_or(false);
    reader.finish();
    return promise;
}

void write_vehicles(JsonWriter& json, const std::vector<VehicleId>& ids,
                    const std::vector<dispatch::Vehicle>& vehicles) {
    json.begin_list();
    for (const VehicleId& id : ids) {
        const auto vehicle =
            std::find_if(vehicles.begin(), vehicles.end(),
                         [&](const dispatch::Vehicle& one) { return one.id == id; });
        json.begin_object().member("id", id);
        if (vehicle != vehicles.end()) {
            json.member("name", vehicle->name).member("phones", vehicle->phones);
        }
        json.end_object();
    }
    json.end_list();
}

TransportPlanRequest parse_transport_plan_request(std::string_view text) {
    return parse_body(text, [&](ObjectReader& body, std::vector<FieldError>& errors) {
        TransportPlanRequest request;
        body.require("referrals");
        const auto* referrals = body.list("referrals", most_referrals);
        std::set<ReferralId> known;
        for (std::size_t i = 0; referrals != nullptr && i < referrals->size(); ++i) {
            const std::string pointer = body.pointer_to("referrals") + "/" + std::to_string(i);
            request.referrals.push_back(read_referral((*referrals)[i], pointer, errors));
            if (!known.insert(request.referrals.back().id).second) {
                errors.push_back({pointer + "/id", "stands twice"});
            }
        }
        request.vehicles = read_vehicles(body, errors);
        const auto* promises = body.list("promises", most_referrals);
        for (std::size_t i = 0; promises != nullptr && i < promises->size(); ++i) {
            request.promises.push_back(read_promise(
                (*promises)[i], body.pointer_to("promises") + "/" + std::to_string(i), errors));
        }
        constexpr Range changes{0, most_referrals};
        request.most_changed_promises = static_cast<std::size_t>(
            body.whole_number("most_changed_promises", changes)
                .value_or(static_cast<int>(request.most_changed_promises)));
        if (const JsonValue* decided = body.take("decided")) {
            request.decided = read_promise(*decided, body.pointer_to("decided"), errors);
        }
        return request;
    });
}

void write_transport_plan(JsonWriter& json, const TransportPlanAnswer& answer,
                          const Snapshot& snapshot, const Words& words) {
    json.begin_object().member("made_at", answer.made_at);
    json.member("is_optimal", answer.plan.is_optimal);
    write_cost(json, "cost", answer.plan.cost);
    write_cost(json, "decision_costs_more", answer.plan.decision_costs_more);
    json.key("carried").begin_list();
    for (const dispatch::Carried& carried : answer.plan.carried) {
        json.begin_object().member("referral", carried.referral);
        json.member("rides_with", carried.rides_with).key("tour").begin_list();
        for (const ReferralId& one : carried.tour) {
            json.value(one);
        }
        json.end_list().key("way");
        write_way(json, carried.way, answer, snapshot, words);
        json.key("geometry");
        write_geometry(json, carried.way);
        json.end_object();
    }
    json.end_list();
    write_changes(json, answer, words);
    json.key("ways").begin_list();
    for (const dispatch::Way& way : answer.ways) {
        write_way(json, way, answer, snapshot, words);
    }
    json.end_list();
    if (answer.cover) {
        json.key("cover");
        write_cover(json, answer.cover, snapshot, answer.vehicles, words);
    }
    json.end_object();
}

}  // namespace waybourne::server
