#include "server/json/open_plan.hpp"

#include "server/json/cover.hpp"
#include "server/json/object_reader.hpp"
#include "server/json/recommendation.hpp"
#include "server/json/referral.hpp"
#include "server/json/referral_body.hpp"
#include "server/json/transport_plan.hpp"
#include "server/json/vehicle.hpp"

namespace waybourne::server {

namespace {

// Far beyond one district (ours, no source).
constexpr std::size_t most_accepted = 60;

std::string_view name_of(Planning planning) {
    switch (planning) {
        case Planning::planned:
            return "planned";
        case Planning::under_way:
            return "under_way";
        case Planning::none:
            break;
    }
    return "none";
}

void write_needs(JsonWriter& json, const OpenWoman& woman, const Words& words) {
    json.key("needs").begin_list();
    if (woman.assessment) {
        for (const triage::Need& need : woman.assessment->needs) {
            if (!need.available_here) {
                json.begin_object().member("text", words.capabilities(need.any_of));
                json.member("critical", need.critical).member("deadline", need.deadline);
                json.end_object();
            }
        }
    }
    json.end_list();
}

void write_woman(JsonWriter& json, const OpenWoman& woman, const OpenPlanAnswer& answer,
                 const Words& words) {
    const ReferralRecord& record = *woman.record;
    const auto& assessment = woman.assessment;
    json.begin_object().member("code", record.code).member("practice", record.is_practice);
    json.member("version", record.acted_version);
    json.member("state", wire_name(record.life.state()));
    json.member("journey", wire_name(record.life.journey));
    json.member("sender", record.life.sender).member("asked", record.life.asked);
    json.member("second_vehicle", record.life.second_vehicle).key("takeover");
    if (record.life.takeover) {
        json.value(wire_name(*record.life.takeover));
    } else {
        json.null();
    }
    json.member("deadline", assessment ? assessment->earliest_deadline : std::nullopt);
    json.key("at");
    if (woman.at) {
        json.begin_object();
        write_point_members(json, *woman.at);
        json.end_object();
    } else {
        json.null();
    }
    write_needs(json, woman, words);
    json.member("planning", name_of(woman.planning)).member("why", words.texts(woman.why));
    json.key("vehicles");
    write_vehicles(json, woman.vehicles, answer.open.vehicles);
    json.key("accepted");
    if (record.transport) {
        write_accepted(json, *record.transport);
    } else {
        json.null();
    }
    json.key("expected");
    write_expected(json, record.expected_arrival());
    write_overdue(json, record, words);
    json.end_object();
}

}  // namespace

void write_open_plan(JsonWriter& json, const OpenPlanAnswer& answer, const Snapshot& snapshot,
                     const Words& words) {
    json.begin_object().key("referrals").begin_list();
    for (const OpenWoman& woman : answer.open.women) {
        write_woman(json, woman, answer, words);
    }
    json.end_list().key("plan");
    write_transport_plan(json, answer.planned, snapshot, words);
    json.key("cover");
    write_cover(json, answer.cover, snapshot, answer.open.vehicles, words);
    json.end_object();
}

std::vector<dispatch::Promise> parse_accepted_transport(std::string_view text) {
    return parse_body(text, [&](ObjectReader& body, std::vector<FieldError>& errors) {
        std::vector<dispatch::Promise> accepted;
        body.require("carried");
        const auto* carried = body.list("carried", most_accepted);
        for (std::size_t i = 0; carried != nullptr && i < carried->size(); ++i) {
            const std::string pointer = body.pointer_to("carried") + "/" + std::to_string(i);
            accepted.push_back(read_promise((*carried)[i], pointer, errors));
        }
        if (errors.empty() && accepted.empty()) {
            body.refuse("carried", "says nothing: name at least one referral");
        }
        return accepted;
    });
}

}  // namespace waybourne::server
