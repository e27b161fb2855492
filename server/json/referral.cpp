#include "server/json/referral.hpp"

#include <algorithm>

#include "referral/referral_times.hpp"
#include "referral/step.hpp"
#include "server/answer.hpp"
#include "server/json/assessment.hpp"
#include "server/json/outgoing_message.hpp"
#include "server/json/recommendation.hpp"
#include "server/json/referral_body.hpp"
#include "server/languages.hpp"
#include "server/referrals/permission.hpp"
#include "server/referrals/standing_alerts.hpp"

namespace waybourne::server {

namespace {

void write_times(JsonWriter& json, const referral::Life& life) {
    const auto times = referral::referral_times(life);
    json.key("times").begin_object();
    json.member("danger_sign_recognised", times.danger_sign_recognised);
    json.member("decided", times.decided).member("sent", times.sent);
    json.member("answered", times.answered).member("vehicle_assigned", times.vehicle_assigned);
    json.member("left_base", times.left_base);
    json.member("reached_the_woman", times.reached_the_woman);
    json.member("left_with_her", times.left_with_her);
    json.member("reached_the_place", times.reached_the_place);
    json.member("received", times.received).member("care_begun", times.care_begun);
    json.member("outcome", times.outcome).member("outcome_returned", times.outcome_returned);
    json.end_object();
}

void write_needs(JsonWriter& json, const std::optional<triage::Assessment>& assessment,
                 const Words& words) {
    json.key("suspected").begin_list();
    if (assessment) {
        for (const triage::Suspicion& suspicion : assessment->suspected) {
            json.value(words.text(suspicion.text));
        }
    }
    json.end_list().key("needs").begin_list();
    if (assessment) {
        for (const triage::Need& need : assessment->needs) {
            json.begin_object().key("any_of");
            write_capabilities(json, need.any_of);
            json.member("text", words.capabilities(need.any_of));
            json.member("critical", need.critical).member("deadline", need.deadline).end_object();
        }
    }
    json.end_list();
}

void write_people(JsonWriter& json, const referral::Life& life) {
    json.key("persons").begin_list();
    for (const auto& [person, outcome] : life.persons) {
        json.begin_object().member("person", wire_name(person.kind));
        json.member("number", person.number).key("outcome");
        if (outcome) {
            json.value(wire_name(*outcome));
        } else {
            json.null();
        }
        json.end_object();
    }
    json.end_list();
}

void write_raised(JsonWriter& json, const referral::Life& life) {
    json.key("alerts").begin_list();
    for (const auto& [id, alert] : life.alerts) {
        json.begin_object().member("alert", id).member("raised_at", alert.raised_at);
        json.member("acknowledged_at", alert.acknowledged_at).end_object();
    }
    json.end_list();
}

void write_history(JsonWriter& json, const ReferralRecord& record) {
    json.key("history").begin_list();
    for (const ToldEvent& told : record.told) {
        json.begin_object();
        write_event_members(json, told);
        json.end_object();
    }
    json.end_list().key("flags").begin_list();
    for (const referral::Flag& flag : record.life.flags) {
        json.begin_object().member("event", flag.event.value());
        json.member("flag", wire_name(flag.kind)).end_object();
    }
    json.end_list();
}

void write_same_woman(JsonWriter& json, const ReferralView& view, const Words& words) {
    json.key("same_woman").begin_object().member("merged_with", view.merged_with);
    json.key("offers").begin_list();
    for (const referral::MergeOffer& offer : view.offers) {
        const bool is_first = offer.first.value() == view.record.code;
        json.begin_object();
        json.member("code", is_first ? offer.second.value() : offer.first.value());
        json.member("apart_s", offer.apart).member("reasons", words.texts(offer.reasons));
        json.end_object();
    }
    json.end_list().end_object();
}

void write_hold(JsonWriter& json, const std::optional<Hold>& hold) {
    json.key("hold");
    if (hold) {
        json.begin_object().member("at", hold->at).member("who", hold->who);
        json.member("reason", hold->reason).end_object();
    } else {
        json.null();
    }
}

/// Vital signs are for those who give care (data minimisation: drivers and dispatchers need what
/// she needs, not what was found).
void write_findings(JsonWriter& json, const ReferralView& view) {
    json.key("findings");
    const JsonValue* request = nullptr;
    JsonValue given;
    if (gives_care(view.caller) && view.record.given) {
        given = parse_json(*view.record.given);
        request = given.find("request");
    }
    if (request == nullptr) {
        json.null();
        return;
    }
    json.begin_object();
    for (const char* name : {"at", "readings", "findings", "available_here"}) {
        if (const JsonValue* value = request->find(name)) {
            json.key(name).raw(to_json(*value));
        }
    }
    json.end_object();
}

void write_state_members(JsonWriter& json, const ReferralView& view) {
    const referral::Life& life = view.record.life;
    json.member("code", view.record.code).member("version", view.record.acted_version);
    json.member("practice", view.record.is_practice).member("state", wire_name(life.state()));
    json.member("reply", wire_name(life.reply)).member("journey", wire_name(life.journey));
    json.member("is_open", life.is_open());
    json.member("opened_at", life.last(referral::EventKind::opened));
    json.member("channel", view.record.opening
                               ? std::optional(std::string(wire_name(view.record.opening->channel)))
                               : std::nullopt);
    json.member("sender", life.sender).member("asked", life.asked);
    json.member("at", life.at).member("vehicle", life.vehicle);
    json.member("ask_again_at", life.ask_again_at).member("outcome_due", life.outcome_due);
    json.member("outcome_returned_at", life.outcome_returned_at);
}

/// What was done, in words where the protocol has some: a ward reads no ids.
void write_given(JsonWriter& json, const ReferralView& view) {
    const Catalogue& catalogue = catalogue_for(view.snapshot, view.caller.languages);
    json.key("treatments").begin_list();
    for (const Treatment& treatment : view.record.treatments) {
        json.begin_object().member("action", treatment.action).member("at", treatment.at);
        for (const char* kind : {"triage.action.", "triage.dose."}) {
            const std::string id = kind + treatment.action;
            if (catalogue.has(id)) {
                json.member("text", catalogue.text(std::string_view{id}));
            }
        }
        json.end_object();
    }
    json.end_list();
}

}  // namespace

std::optional<triage::Assessment> assessment_of(const ReferralRecord& record,
                                                const Snapshot& snapshot, Instant now) {
    if (!record.opening) {
        return std::nullopt;
    }
    triage::Findings findings = record.opening->request.findings;
    // Deadlines run from when she was found so, and stand still.
    findings.at = findings.at.value_or(record.opening->opened_at);
    try {
        return answer_assessment(snapshot, findings, std::max(now, *findings.at));
    } catch (const InputError&) {
        return std::nullopt;
    }
}

std::optional<triage::Assessment> assessment_of(const ReferralView& view) {
    return assessment_of(view.record, view.snapshot, view.now);
}

void write_overdue(JsonWriter& json, const ReferralRecord& record, const Words& words) {
    json.key("overdue").begin_list();
    for (const StandingAlert& alert : standing_alerts(record, words.now())) {
        json.begin_object().member("alert", alert.id).member("step", alert.what);
        json.member("due", alert.due).member("raised_at", alert.raised_at);
        json.member("owner", wire_name(alert.owner()));
        json.member("acknowledged_at", alert.acknowledged_at);
        json.member("next_owner_at", alert.next_owner_at);
        json.member("text", words.text(message_of(alert.what, alert.due))).end_object();
    }
    json.end_list();
}

std::string possible_steps(const referral::Life& life, const Caller& caller) {
    JsonWriter json;
    json.begin_list();
    for (const referral::EventKind kind : referral::possible_now(life)) {
        if (kind != referral::EventKind::alert_raised && may_tell(caller, kind)) {
            json.value(wire_name(kind));
        }
    }
    return json.end_list().take();
}

std::string render_referral(const ReferralView& view) {
    const Words words{catalogue_for(view.snapshot, view.caller.languages), view.snapshot.zone,
                      view.now};
    JsonWriter json;
    json.begin_object();
    write_state_members(json, view);
    write_people(json, view.record.life);
    write_needs(json, assessment_of(view), words);
    write_given(json, view);
    write_findings(json, view);
    json.key("plan");
    if (view.record.way) {
        write_way(json, *view.record.way);
    } else {
        json.null();
    }
    json.key("transport");
    if (view.record.transport) {
        write_accepted(json, *view.record.transport);
    } else {
        json.null();
    }
    json.key("expected");
    write_expected(json, view.record.expected_arrival());
    write_times(json, view.record.life);
    json.key("possible").raw(possible_steps(view.record.life, view.caller));
    write_overdue(json, view.record, words);
    write_raised(json, view.record.life);
    write_same_woman(json, view, words);
    write_hold(json, view.record.hold);
    json.key("messages");
    write_messages(json, view.record.messages);
    write_history(json, view.record);
    return json.end_object().take();
}

void write_summary(JsonWriter& json, const ReferralSummary& summary) {
    json.begin_object().member("code", summary.code).member("state", wire_name(summary.state));
    json.member("is_open", summary.is_open).member("opened_at", summary.opened_at);
    json.member("sender", summary.sender.value()).member("asked", summary.asked);
    json.member("at", summary.at).member("vehicle", summary.vehicle);
    json.member("practice", summary.is_practice).end_object();
}

void write_arrival(JsonWriter& json, const ReferralView& view) {
    const Words words{catalogue_for(view.snapshot, view.caller.languages), view.snapshot.zone,
                      view.now};
    const referral::Life& life = view.record.life;
    const auto assessment = assessment_of(view);
    json.begin_object().member("code", view.record.code);
    json.member("practice", view.record.is_practice);
    json.member("version", view.record.acted_version);
    json.member("state", wire_name(life.state())).member("reply", wire_name(life.reply));
    json.member("sender", life.sender).member("vehicle", life.vehicle);
    json.key("expected");
    write_expected(json, view.record.expected_arrival());
    write_people(json, life);
    write_needs(json, assessment, words);
    const bool needs_blood =
        assessment &&
        std::any_of(assessment->needs.begin(), assessment->needs.end(), [](const auto& need) {
            return need.any_of.contains(triage::Capability::blood_transfusion);
        });
    json.member("prepare_blood", needs_blood);
    write_given(json, view);
    write_findings(json, view);
    write_overdue(json, view.record, words);
    json.end_object();
}

}  // namespace waybourne::server
