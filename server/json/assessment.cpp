#include "server/json/assessment.hpp"

namespace waybourne::server {

namespace {

std::optional<std::int64_t> in_minutes(const std::optional<Seconds>& span) {
    return span ? std::optional(std::int64_t{ceil_minutes(*span).count()}) : std::nullopt;
}

void write_suspicion(JsonWriter& json, const triage::Suspicion& suspicion, const Words& words) {
    json.begin_object().member("condition", suspicion.condition);
    json.member("text", words.text(suspicion.text));
    json.key("because").begin_list();
    for (const triage::Because& because : suspicion.because) {
        json.begin_object().member("rule", because.rule);
        json.member("facts", words.texts(because.facts)).end_object();
    }
    json.end_list().member("sources", suspicion.sources).end_object();
}

void write_need(JsonWriter& json, const triage::Need& need) {
    json.begin_object().key("any_of");
    write_capabilities(json, need.any_of);
    json.member("critical", need.critical).member("within_minutes", in_minutes(need.within));
    json.member("deadline", need.deadline).member("for", need.for_rules);
    json.member("available_here", need.available_here).end_object();
}

void write_instructions(JsonWriter& json, const std::vector<triage::Instruction>& instructions,
                        const Words& words) {
    json.begin_list();
    for (const triage::Instruction& instruction : instructions) {
        json.begin_object().member("action", instruction.action);
        json.member("text", words.text(instruction.text));
        json.member("sources", instruction.sources).end_object();
    }
    json.end_list();
}

void write_question(JsonWriter& json, const triage::Question& question, const Words& words) {
    json.begin_object();
    if (question.fields.size() == 1) {
        json.member("field", question.fields.front());
    } else {
        json.member("fields", question.fields);
    }
    json.member("text", words.text(question.text)).key("could");
    if (question.could) {
        json.begin_object().key("add").begin_list();
        for (const triage::CapabilitySet& any_of : question.could->add) {
            write_capabilities(json, any_of);
        }
        json.end_list();
        json.member("shorten_to_minutes", in_minutes(question.could->shorten_to)).end_object();
    } else {
        json.null();
    }
    json.end_object();
}

void write_refused(JsonWriter& json, const std::vector<triage::Refused>& refused,
                   const Words& words) {
    json.begin_list();
    for (const triage::Refused& value : refused) {
        json.begin_object().member("field", value.field).member("given", value.given);
        json.member("why", words.text(value.why)).end_object();
    }
    json.end_list();
}

void write_deadlines(JsonWriter& json, const triage::Assessment& assessment, const Words& words) {
    json.member("earliest_deadline", assessment.earliest_deadline);
    json.member("within_minutes", in_minutes(assessment.within));
    json.member("leave_now", assessment.leave_now).member("refer", assessment.refer);
    json.member("provisional", assessment.provisional).key("measure_again");
    if (assessment.measure_again) {
        json.begin_object();
        json.member("after_minutes", in_minutes(assessment.measure_again->after));
        json.member("why", words.text(assessment.measure_again->why)).end_object();
    } else {
        json.null();
    }
}

}  // namespace

void write_capabilities(JsonWriter& json, triage::CapabilitySet capabilities) {
    json.begin_list();
    for (const triage::Capability capability : capabilities.members()) {
        json.value(to_name(capability));
    }
    json.end_list();
}

void write_assessment(JsonWriter& json, const triage::Assessment& assessment, const Words& words) {
    json.begin_object().key("protocol").begin_object();
    json.member("id", assessment.protocol.id).member("version", assessment.protocol.version);
    json.member("sha256", assessment.protocol.sha256);
    json.member("approved", assessment.protocol.approved).end_object();
    json.member("assessed_at", assessment.assessed_at);
    json.key("suspected").begin_list();
    for (const triage::Suspicion& suspicion : assessment.suspected) {
        write_suspicion(json, suspicion, words);
    }
    json.end_list().key("needs").begin_list();
    for (const triage::Need& need : assessment.needs) {
        write_need(json, need);
    }
    json.end_list();
    write_deadlines(json, assessment, words);
    json.key("do_now");
    write_instructions(json, assessment.do_now, words);
    json.key("on_the_way");
    write_instructions(json, assessment.on_the_way, words);
    json.key("withheld").begin_list();
    for (const triage::Withheld& withheld : assessment.withheld) {
        json.begin_object().member("action", withheld.action);
        json.member("name", words.text(withheld.name));
        json.member("because", words.text(withheld.because)).end_object();
    }
    json.end_list().key("questions").begin_list();
    for (const triage::Question& question : assessment.questions) {
        write_question(json, question, words);
    }
    json.end_list().key("refused");
    write_refused(json, assessment.refused, words);
    json.key("confirm");
    write_refused(json, assessment.confirm, words);
    json.member("cautions", words.texts(assessment.cautions)).end_object();
}

}  // namespace waybourne::server
