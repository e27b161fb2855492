#include "server/json/fhir.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <set>

#include "tests/server/has.hpp"
#include "tests/server/recorded_sample.hpp"

// HL7 FHIR R4 (4.0.1): hl7.org/fhir/R4. That bundles are valid by the schema that HL7 publishes and
// by a public validator is tested in api_test.mjs; here is what stands in them. Status mapping: our
// own, docs/fhir.md.

namespace waybourne::server::test {

namespace {

JsonValue bundle_of(const RecordedSample& sample, const std::string& code) {
    const Reply reply = sample.send("GET", "/v1/referrals/" + code + "/fhir");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    CHECK(reply.field("Content-Type").starts_with("application/fhir+json"));
    return parse_json(reply.body);
}

std::vector<const JsonValue*> resources(const JsonValue& bundle, const std::string& type) {
    std::vector<const JsonValue*> found;
    for (const JsonValue& entry : at(bundle, "entry").items()) {
        if (text_at(entry, "resource.resourceType") == type) {
            found.push_back(&at(entry, "resource"));
        }
    }
    return found;
}

const JsonValue& one(const JsonValue& bundle, const std::string& type) {
    const auto found = resources(bundle, type);
    REQUIRE(found.size() == 1);
    return *found.front();
}

/// The observation with this code.
const JsonValue* observation(const JsonValue& bundle, const std::string& code) {
    for (const JsonValue* resource : resources(bundle, "Observation")) {
        if (text_at(at(*resource, "code.coding").items().at(0), "code") == code) {
            return resource;
        }
    }
    return nullptr;
}

struct TaskState {
    std::string status;
    std::string state;
    std::string tag;
    std::string body;
};

TaskState task_of(const RecordedSample& sample, const std::string& code) {
    const Reply reply = sample.send("GET", "/v1/referrals/" + code + "/fhir/task");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    const JsonValue task = parse_json(reply.body);
    return {text_at(task, "status"),
            text_at(at(task, "businessStatus.coding").items().at(0), "code"), reply.field("ETag"),
            reply.body};
}

Reply put(const RecordedSample& sample, const std::string& code, const std::string& body,
          const std::string& fields) {
    return sample.send("PUT", "/v1/referrals/" + code + "/fhir/task", body, fields);
}

/// As a receiving system does it: reads the Task, changes it and sends it back.
Reply change(const RecordedSample& sample, const std::string& code, const std::string& status,
             const std::string& more = "") {
    const TaskState now = task_of(sample, code);
    std::string body = now.body;
    const std::string from = "\"status\":\"" + now.status + "\"";
    body.replace(body.find(from), from.size(), "\"status\":\"" + status + "\"" + more);
    return put(sample, code, body, "If-Match: " + now.tag + "\r\n");
}

std::size_t events_of(const RecordedSample& sample, const std::string& code) {
    return at(sample.show(code), "history").items().size();
}

}  // namespace

TEST_CASE("A hospital's own system gets the referral with everything it needs, and no name") {
    const RecordedSample sample;
    const std::string code = sample.open();
    const JsonValue bundle = bundle_of(sample, code);
    CHECK(text_at(bundle, "type") == "collection");

    const JsonValue& request = one(bundle, "ServiceRequest");
    CHECK(text_at(request, "status") == "active");
    CHECK(text_at(request, "intent") == "order");
    CHECK_FALSE(at(request, "orderDetail").items().empty());
    CHECK_FALSE(at(request, "reasonCode").items().empty());
    CHECK_FALSE(at(request, "note").items().empty());  // the cautions go with it
    // severe hypertension: a medicine within 240 minutes (clinical specification, HTN-2)
    CHECK(text_at(request, "occurrenceDateTime") == "2026-03-04T13:40:00Z");

    const JsonValue& patient = one(bundle, "Patient");
    std::set<std::string> members;
    for (const JsonMember& member : patient.members()) {
        members.insert(member.name);
    }
    CHECK(members == std::set<std::string>{"resourceType", "id", "identifier"});
    CHECK(text_at(at(patient, "identifier").items().at(0), "value") == code);

    CHECK(text_at(one(bundle, "Task"), "status") == "requested");
    CHECK(text_at(one(bundle, "Encounter"), "status") == "planned");
    CHECK(resources(bundle, "Organization").size() == 2);
    CHECK(resources(bundle, "Location").size() == 2);
}

TEST_CASE("Every reference leads to a resource of the same bundle") {
    const RecordedSample sample;
    const JsonValue bundle = bundle_of(sample, sample.open());
    std::set<std::string> urls;
    for (const JsonValue& entry : at(bundle, "entry").items()) {
        CHECK(urls.insert(text_at(entry, "fullUrl")).second);
    }
    const std::string text = to_json(bundle);
    std::size_t references = 0;
    const std::string mark = "\"reference\":\"";
    for (std::size_t from = text.find(mark); from != std::string::npos;
         from = text.find(mark, from + 1)) {
        const std::size_t begin = from + mark.size();
        CHECK(urls.count(text.substr(begin, text.find('"', begin) - begin)) == 1);
        ++references;
    }
    MESSAGE(references << " references followed");
    CHECK(references > 10);
}

TEST_CASE("Vital signs carry the LOINC codes and UCUM units of the R4 vital-signs profiles") {
    const RecordedSample sample;
    const std::string body = opening_body();
    const std::string findings = R"("severe_headache": "yes")";
    std::string more = body;
    more.replace(more.find(findings), findings.size(),
                 R"("severe_headache": "yes", "convulsions": "no", "visual_disturbance": "unknown",
                    "temp_c": 38.2, "resp_rate": 22, "spo2": 96, "hb_g_dl": 9.5, "avpu": "A",
                    "urine_protein": 2, "safe_at_home": "no")");
    const Reply opened = sample.send("POST", "/v1/referrals", more);
    REQUIRE_MESSAGE(opened.status == 201, opened.body);
    const JsonValue bundle = bundle_of(sample, text_at(parse_json(opened.body), "code"));
    // codes and units: hl7.org/fhir/R4 bp, heartrate, bodytemp, resprate, oxygensat; haemoglobin
    // and gestational age: the value sets named in docs/fhir.md
    const std::map<std::string, std::pair<double, std::string>> expected{
        {"8867-4", {96, "/min"}}, {"8310-5", {38.2, "Cel"}}, {"9279-1", {22, "/min"}},
        {"2708-6", {96, "%"}},    {"718-7", {9.5, "g/dL"}},  {"11884-4", {34, "wk"}}};
    for (const auto& one : expected) {
        const auto& [code, value] = one;
        CAPTURE(one.first);
        const JsonValue* found = observation(bundle, code);
        REQUIRE(found != nullptr);
        CHECK(at(*found, "valueQuantity.value").number() == doctest::Approx(value.first));
        CHECK(text_at(*found, "valueQuantity.code") == value.second);
        CHECK(text_at(*found, "valueQuantity.system") == "http://unitsofmeasure.org");
    }
    const JsonValue* pressure = observation(bundle, "85354-9");
    REQUIRE(pressure != nullptr);
    const auto& parts = at(*pressure, "component").items();
    REQUIRE(parts.size() == 2);
    CHECK(text_at(at(parts[0], "code.coding").items().at(0), "code") == "8480-6");
    CHECK(at(parts[0], "valueQuantity.value").number() == 165);
    CHECK(text_at(at(parts[1], "code.coding").items().at(0), "code") == "8462-4");
    CHECK(text_at(parts[1], "valueQuantity.code") == "mm[Hg]");
    // answers: yes and no as they are; unknown is never written, least of all as a no
    CHECK(at(*observation(bundle, "severe_headache"), "valueBoolean").boolean());
    CHECK_FALSE(at(*observation(bundle, "convulsions"), "valueBoolean").boolean());
    CHECK(observation(bundle, "visual_disturbance") == nullptr);
    CHECK(observation(bundle, "fever_reported") == nullptr);
    // told, not written: as on the note
    CHECK(observation(bundle, "safe_at_home") == nullptr);
}

TEST_CASE(
    "A receiving system accepts, receives her and closes with an outcome, by the Task alone") {
    RecordedSample sample;
    const std::string code = sample.open();
    CHECK(task_of(sample, code).status == "requested");
    CHECK(change(sample, code, "received").status == 200);
    CHECK(text_at(sample.show(code), "state") == "informed");
    sample.clock().pass(60s);
    const Reply accepted = change(sample, code, "accepted");
    REQUIRE_MESSAGE(accepted.status == 200, accepted.body);
    CHECK(text_at(parse_json(accepted.body), "status") == "accepted");
    CHECK(text_at(sample.show(code), "reply") == "accepted");
    sample.clock().pass(60s);
    CHECK(change(sample, code, "in-progress").status == 200);
    CHECK(text_at(sample.show(code), "state") == "arrived");
    CHECK(text_at(one(bundle_of(sample, code), "Encounter"), "status") == "arrived");
    sample.clock().pass(60s);
    CHECK(change(sample, code, "completed").status == 200);
    CHECK(text_at(sample.show(code), "state") == "received");
    sample.clock().pass(60s);
    const std::string output = R"(,"output":[{"type":{"coding":[{"system":"urn:waybourne:person",
        "code":"mother-1"}]},"valueCodeableConcept":{"coding":[{"system":"urn:waybourne:outcome",
        "code":"alive_well"}]}}])";
    const Reply closed = change(sample, code, "completed", output);
    REQUIRE_MESSAGE(closed.status == 200, closed.body);
    CHECK(text_at(sample.show(code), "state") == "closed");
    CHECK(at(parse_json(closed.body), "output").items().size() == 1);
    CHECK(text_at(one(bundle_of(sample, code), "ServiceRequest"), "status") == "completed");
}

TEST_CASE("A place that cannot take her says so with its reason") {
    const RecordedSample sample;
    const std::string code = sample.open();
    const Reply declined =
        change(sample, code, "rejected", R"(,"statusReason":{"text":"no surgeon until 07:00"})");
    REQUIRE_MESSAGE(declined.status == 200, declined.body);
    const JsonValue shown = sample.show(code);
    CHECK(text_at(shown, "reply") == "declined");
    CHECK(text_at(parse_json(declined.body), "statusReason.text") == "no surgeon until 07:00");
}

TEST_CASE("A state of ours in the Task says the step exactly") {
    const RecordedSample sample;
    const std::string code = sample.open();
    const std::string body = R"({"resourceType": "Task", "status": "in-progress", "intent": "order",
        "businessStatus": {"coding": [{"system": "urn:waybourne:referral-state",
                                       "code": "departed"}]}})";
    const Reply told = put(sample, code, body, "If-Match: " + task_of(sample, code).tag + "\r\n");
    REQUIRE_MESSAGE(told.status == 200, told.body);
    CHECK(text_at(sample.show(code), "state") == "departed");
}

TEST_CASE("The rules of a referral hold for its Task: what has been seen, what is possible") {
    const RecordedSample sample;
    const std::string code = sample.open();
    const TaskState first = task_of(sample, code);
    const auto refused_as = [&](const Reply& reply, int status, const std::string& issue) {
        CHECK_MESSAGE(reply.status == status, reply.body);
        CHECK(reply.field("Content-Type").starts_with("application/fhir+json"));
        const JsonValue outcome = parse_json(reply.body);
        CHECK(text_at(outcome, "resourceType") == "OperationOutcome");
        CHECK(text_at(at(outcome, "issue").items().at(0), "code") == issue);
        CHECK(events_of(sample, code) == 1);
    };
    const std::string accepted = R"({"resourceType": "Task", "status": "accepted"})";
    refused_as(put(sample, code, accepted, ""), 428, "required");
    refused_as(put(sample, code, accepted, "If-Match: W/\"999\"\r\n"), 412, "conflict");
    const Reply early = put(sample, code, R"({"resourceType": "Task", "status": "completed"})",
                            "If-Match: " + first.tag + "\r\n");
    refused_as(early, 409, "business-rule");
    CHECK(has(early.body, "possible"));
    refused_as(
        sample.send("GET", "/v1/referrals/22222224/fhir/task"),
        sample.send("GET", "/v1/referrals/22222224").status,
        sample.send("GET", "/v1/referrals/22222224").status == 404 ? "not-found" : "invalid");
}

TEST_CASE("A Task that cannot be understood is refused with every reason, and changes nothing") {
    const RecordedSample sample;
    const std::string code = sample.open();
    const std::string tag = "If-Match: " + task_of(sample, code).tag + "\r\n";
    const std::vector<std::pair<std::string, std::string>> wrong{
        {R"({"resourceType": "Patient", "status": "accepted"})", "resourceType"},
        {R"({"status": "accepted"})", "resourceType"},
        {R"({"resourceType": "Task", "status": "entered-in-error"})", "status"},
        {R"({"resourceType": "Task", "status": "ready"})", "status"},
        {R"({"resourceType": "Task", "status": "accepted", "colour": "x"})", "colour"},
        {R"({"resourceType": "Task", "status": "accepted", "note": [{"text": "her name"}]})",
         "note"},
        {R"({"resourceType": "Task", "status": "accepted", "modifierExtension": []})",
         "modifierExtension"},
        {R"({"resourceType": "Task", "status": "accepted", "owner": {"reference": "Organization/x"}})",
         "owner"},
        {R"({"resourceType": "Task", "status": "accepted", "intent": "plan"})", "intent"},
        {R"({"resourceType": "Task", "status": "in-progress", "businessStatus": {"coding":
            [{"system": "urn:waybourne:referral-state", "code": "flying"}]}})",
         "businessStatus"},
        {R"({"resourceType": "Task", "status": "completed", "output": [{"type": {"text": "x"}}]})",
         "output/0"},
        {"[]", ""},
        {"{", ""}};
    for (const auto& one : wrong) {
        const auto& [body, member] = one;
        CAPTURE(one.first);
        const Reply reply = put(sample, code, body, tag);
        CHECK(reply.status == 400);
        CHECK(has(reply.body, "OperationOutcome"));
        CHECK(has(reply.body, member));
    }
    CHECK(events_of(sample, code) == 1);
}

TEST_CASE("A Task sent back unchanged changes nothing and is no fault") {
    const RecordedSample sample;
    const std::string code = sample.open();
    const TaskState now = task_of(sample, code);
    const Reply same = put(sample, code, now.body, "If-Match: " + now.tag + "\r\n");
    CHECK(same.status == 200);
    CHECK(same.body == now.body);
    CHECK(events_of(sample, code) == 1);
}

TEST_CASE("A change sent again because no answer came is stored once") {
    const RecordedSample sample;
    const std::string code = sample.open();
    const std::string fields =
        "If-Match: " + task_of(sample, code).tag + "\r\nIdempotency-Key: system-1\r\n";
    const std::string body = R"({"resourceType": "Task", "status": "accepted"})";
    CHECK(put(sample, code, body, fields).status == 200);
    CHECK(put(sample, code, body, fields).status == 200);
    CHECK(events_of(sample, code) == 2);
}

TEST_CASE("A dispatcher's system sees no vital signs, a stranger's nothing") {
    RecordedSample sample;
    const std::string code = sample.open();
    const auto record = sample.records().find(code);
    const auto snapshot = sample.snapshot().get();
    const Caller desk{"desk", Role::dispatcher, {}, false};
    const Caller hospital{"hospital", Role::facility, {FacilityId{"sorvrith-hospital"}}, false};
    const auto shown = [&](const Caller& caller) {
        return parse_json(render_fhir_bundle({*record, *snapshot, caller, sample.clock().now()}));
    };
    CHECK(resources(shown(desk), "Observation").empty());
    CHECK_FALSE(resources(shown(hospital), "Observation").empty());
    CHECK(one(shown(desk), "ServiceRequest").find("supportingInfo") == nullptr);
    const Caller stranger{"other", Role::facility, {FacilityId{"dorvath-clinic"}}, false};
    CHECK_THROWS_AS(sample.desk().visible(stranger, code), NotFound);
}

TEST_CASE("A practice case can never be taken for a real one by the system that gets it") {
    RecordedSample sample;
    const std::string code = sample.open();
    auto record = *sample.records().find(code);
    record.is_practice = true;
    const Caller caller{};
    const auto snapshot = sample.snapshot().get();
    const JsonValue bundle =
        parse_json(render_fhir_bundle({record, *snapshot, caller, sample.clock().now()}));
    for (const JsonValue& entry : at(bundle, "entry").items()) {
        CHECK(text_at(at(entry, "resource.meta.tag").items().at(0), "code") == "HTEST");
    }
}

}  // namespace waybourne::server::test
