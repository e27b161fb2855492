#include "server/json/recommendation.hpp"

#include <cmath>

#include "server/facility_name.hpp"
#include "server/json/assessment.hpp"
#include "server/json/facility.hpp"
#include "server/json/route.hpp"

namespace waybourne::server {

namespace {

constexpr int chance_decimals = 4;

void write_who(JsonWriter& json, const FacilityId& id, const RecommendationView& view) {
    json.member("facility", id.value());
    json.member("name", name_of(view.facilities, id));
}

void write_phones(JsonWriter& json, const FacilityId& id, const RecommendationView& view) {
    const facilities::Facility* facility = view.facilities.find_facility(id);
    json.member("phones", facility == nullptr ? std::vector<std::string>{} : facility->phones);
}

void write_stage(JsonWriter& json, const referral::Stage& stage, const RecommendationView& view) {
    json.begin_object();
    write_who(json, stage.facility, view);
    write_phones(json, stage.facility, view);
    json.key("meets").begin_list();
    for (const triage::Capability capability : stage.meets) {
        json.value(to_name(capability));
    }
    json.end_list().member("leave_by", stage.leave_by);
    json.key("arrival");
    write_expected(json, stage.arrival);
    json.key("care_begins");
    write_expected(json, stage.care_begins);
    json.key("travel_time_s");
    write_travel_time(json, stage.travel_time);
    json.member("distance_m", std::int64_t{std::llround(stage.distance.value())});
    json.member("margin_s", stage.margin).key("readiness").begin_list();
    for (const facilities::Readiness& readiness : stage.readiness) {
        write_readiness(json, readiness, view.words);
    }
    json.end_list().key("chance_in_time").value(stage.chance_in_time, chance_decimals);
    json.key("legs");
    write_legs(json, stage.route);
    json.key("geometry");
    write_line(json, stage.route.line());
    json.end_object();
}

void write_stages(JsonWriter& json, const std::vector<referral::Stage>& stages,
                  const RecommendationView& view) {
    json.key("stages").begin_list();
    for (const referral::Stage& stage : stages) {
        write_stage(json, stage, view);
    }
    json.end_list();
}

void write_passed_over(JsonWriter& json, const referral::PassedOver& place,
                       const RecommendationView& view) {
    json.begin_object();
    write_who(json, place.facility, view);
    json.key("travel_time_s");
    if (place.travel_time) {
        write_travel_time(json, *place.travel_time);
    } else {
        json.null();
    }
    json.member("reasons", view.words.texts(place.reasons)).end_object();
}

void write_call(JsonWriter& json, const referral::CallFirst& call, const RecommendationView& view) {
    json.begin_object();
    write_who(json, call.facility, view);
    write_phones(json, call.facility, view);
    json.member("wait_minutes", std::int64_t{ceil_minutes(call.wait).count()});
    json.member("if_declined",
                call.if_declined ? std::optional(call.if_declined->value()) : std::nullopt);
    json.end_object();
}

}  // namespace

void write_expected(JsonWriter& json, const std::optional<referral::Expected>& expected) {
    if (!expected) {
        json.null();
        return;
    }
    json.begin_object().member("typical", expected->typical);
    json.member("allow", expected->allow).end_object();
}

std::string_view to_name(referral::Outcome outcome) {
    switch (outcome) {
        case referral::Outcome::in_time:
            return "in_time";
        case referral::Outcome::late:
            return "late";
        case referral::Outcome::nowhere:
            return "nowhere";
        case referral::Outcome::stay:
            break;
    }
    return "stay";
}

void write_snapshot_stamp(JsonWriter& json, const SnapshotStamp& stamp) {
    json.begin_object().member("map", stamp.map_sha256).member("facilities", stamp.facilities);
    json.member("reports", stamp.reports).member("version", stamp.version);
    json.member("made_at", stamp.made_at).end_object();
}

void write_recommendation(JsonWriter& json, const RecommendationView& view) {
    const referral::Recommendation& recommendation = view.recommendation;
    json.begin_object().key("assessment");
    write_assessment(json, view.assessment, view.words);
    json.member("outcome", to_name(recommendation.outcome));
    write_stages(
        json,
        recommendation.chosen ? recommendation.chosen->stages : std::vector<referral::Stage>{},
        view);
    json.key("alternatives").begin_list();
    for (const referral::Choice& choice : recommendation.alternatives) {
        json.begin_object();
        write_stages(json, choice.stages, view);
        json.key("chance_in_time").value(choice.chance_in_time, chance_decimals).end_object();
    }
    json.end_list().key("passed_over").begin_list();
    for (const referral::PassedOver& place : recommendation.passed_over) {
        write_passed_over(json, place, view);
    }
    json.end_list().key("call_first").begin_list();
    for (const referral::CallFirst& call : recommendation.call_first) {
        write_call(json, call, view);
    }
    json.end_list().member("meanwhile", view.words.texts(recommendation.meanwhile));
    json.member("remarks", view.words.texts(recommendation.remarks));
    json.member("referral_note", view.referral_note).key("snapshot");
    write_snapshot_stamp(json, view.snapshot);
    json.member("cautions", view.words.texts(recommendation.cautions)).end_object();
}

}  // namespace waybourne::server
