#include "triage/protocol_check.hpp"

#include <doctest/doctest.h>

#include <algorithm>

#include "tests/triage/support.hpp"
#include "triage/protocol_file.hpp"

// What a protocol must pass: the direction table of clinical practice (pulse up, systolic down from
// below 120 and up from 140, any danger sign from no to yes, ...) and the rule that unknown is
// never no; both are the district's own standard, no published source. Where a case changes the
// protocol that ships, the change is a slip of the kind people make when they edit a table.

namespace waybourne::triage {
namespace {

/// Keeps the order of the file: a term may use only those before it.
using json = nlohmann::ordered_json;
using Kind = ProtocolFault::Kind;

const Catalogue& english() {
    static const Catalogue texts =
        parse_catalogue(read_source_file("triage/protocol/texts.en.json"));
    return texts;
}

json shipped_file() {
    return json::parse(read_source_file("triage/protocol/protocol.json"));
}

json& part(json& list, const std::string& key, const std::string& name) {
    return *std::find_if(list.begin(), list.end(),
                         [&](const json& one) { return one[key] == name; });
}

json& rule(json& file, const std::string& id) {
    return part(file["rules"], "id", id);
}

ProtocolVerdict check(const json& file) {
    return check_protocol_file(file.dump(), english());
}

/// The first fault of a kind at a place; fails the case if there is none, and prints it.
ProtocolFault fault_of(const ProtocolVerdict& verdict, Kind kind, const std::string& where) {
    const auto found = std::find_if(
        verdict.faults.begin(), verdict.faults.end(),
        [&](const ProtocolFault& fault) { return fault.kind == kind && fault.where == where; });
    for (const ProtocolFault& fault : verdict.faults) {
        INFO(to_text(fault));
    }
    REQUIRE(found != verdict.faults.end());
    MESSAGE(to_text(*found));
    return *found;
}

/// The findings of a counter-example, with the change made or not.
Situation situation(const Protocol& protocol, const CounterExample& example, bool changed) {
    Situation situation(protocol.fields.size());
    const auto set = [&](const std::string& name, const std::string& value) {
        if (name == "pulse and pressure") {
            situation.set_taken_together(false);
            return;
        }
        const FieldId id = protocol.find_field(name).value();
        const auto& choices = protocol.fields[id].choices;
        const auto choice = std::find(choices.begin(), choices.end(), value);
        if (value == "not answered") {
            situation.forget(id);
        } else if (choice != choices.end()) {
            situation.set(id, static_cast<double>(choice - choices.begin()));
        } else {
            situation.set(id, std::stod(value));
        }
    };
    for (const CounterExample::Line& line : example.findings) {
        set(line.field, line.value);
    }
    if (example.change) {
        set(example.change->field, changed ? example.change->after : example.change->before);
    }
    return situation;
}

bool fires(const json& file, const std::string& id, const CounterExample& example, bool changed) {
    const Protocol protocol = parse_protocol(file.dump());
    const auto found = std::find_if(protocol.rules.begin(), protocol.rules.end(),
                                    [&](const Rule& one) { return one.id == id; });
    return protocol.conditions.evaluate(found->when, situation(protocol, example, changed)) ==
           Answer::yes;
}

TEST_CASE("The protocol that ships is proven: worse never asks for less, and nothing is ignored") {
    const ProtocolVerdict verdict =
        check_protocol_file(read_source_file("triage/protocol/protocol.json"), english());
    for (const ProtocolFault& fault : verdict.faults) {
        FAIL_CHECK(to_text(fault));
    }
    CHECK(verdict.passed());
    CHECK(verdict.rules == 104);
    // Both ways of proving were needed: most rules are safe by their shape, those that ask whether
    // something is still unknown only by trying every finding.
    CHECK(verdict.safe_by_shape > 1000);
    CHECK(verdict.safe_by_enumeration > 50);
}

TEST_CASE("A hole between two limits of the bleeding rules is found, with a woman who falls in") {
    json file = shipped_file();
    // Slip: severe bleeding from 1000 ml, but the rule for heavy bleeding stops at 800.
    rule(file, "PPH-1")["when"] = json::parse(
        R"({"all": ["after_birth", {"blood_loss_ml": {"at_least": 500, "at_most": 800}}]})");
    const ProtocolFault fault = fault_of(check(file), Kind::gap, "PPH-1");
    REQUIRE(fault.counter_example);
    REQUIRE(fault.counter_example->change);
    CHECK(fault.counter_example->change->field == "blood_loss_ml");
    CHECK(fault.counter_example->change->before == "800");
    CHECK(fault.counter_example->change->after == "801");
    CHECK(fires(file, "PPH-1", *fault.counter_example, false));
    CHECK_FALSE(fires(file, "PPH-1", *fault.counter_example, true));
}

TEST_CASE("A rule that no woman can ever meet is found") {
    json file = shipped_file();
    SUBCASE("two numbers that exclude each other") {
        rule(file, "SHK-8")["when"] = json::parse(
            R"({"all": [{"sys_bp": {"less_than": 80}}, "bp_severe", {"dia_bp": {"less_than": 60}}]})");
        CHECK(fault_of(check(file), Kind::unreachable, "SHK-8").explanation ==
              "no finding reaches this rule");
    }
    SUBCASE("pregnant and after birth at once") {
        rule(file, "SHK-8")["when"] = json::parse(R"({"all": ["after_birth", "undelivered"]})");
        fault_of(check(file), Kind::unreachable, "SHK-8");
    }
    SUBCASE("a limit outside what is accepted: a temperature of 45 is refused") {
        rule(file, "FEV-4")["when"] =
            json::parse(R"({"any": ["has_fever", {"temp_c": {"at_least": 45}}]})");
        CHECK(fault_of(check(file), Kind::unreachable, "FEV-4").explanation ==
              R"("temp_c at least 45" is never true for accepted values)");
    }
}

TEST_CASE("A limit written the wrong way round is found: a faster pulse must not ask for less") {
    json file = shipped_file();
    rule(file, "SHK-5")["when"] = json::parse(
        R"({"all": [{"sys_bp": {"less_than": 90}}, {"pulse": {"at_most": 110}}, "flow_sign"]})");
    const ProtocolVerdict verdict = check(file);
    const auto found =
        std::find_if(verdict.faults.begin(), verdict.faults.end(), [](const ProtocolFault& fault) {
            return fault.where == "SHK-5" && fault.kind != Kind::unknown_taken_as_no &&
                   fault.counter_example && fault.counter_example->change &&
                   fault.counter_example->change->field == "pulse";
        });
    REQUIRE(found != verdict.faults.end());
    MESSAGE(to_text(*found));
    CHECK(found->counter_example->change->before == "110");
    CHECK(found->counter_example->change->after == "111");
    CHECK(fires(file, "SHK-5", *found->counter_example, false));
    CHECK_FALSE(fires(file, "SHK-5", *found->counter_example, true));
}

TEST_CASE("Leaving out the cap on the systolic in the shock index is found, as it must be") {
    // Without the cap a rising pressure lifts a bleeding woman out of the limit of 0.9.
    json file = shipped_file();
    file["derived"]["shock_index"]["by_at_most"] = 280;
    const ProtocolVerdict verdict = check(file);
    const auto about_pressure = [](const ProtocolFault& fault) {
        return fault.counter_example && fault.counter_example->change &&
               fault.counter_example->change->field == "sys_bp" &&
               fault.kind != Kind::unknown_taken_as_no;
    };
    REQUIRE(std::any_of(verdict.faults.begin(), verdict.faults.end(), about_pressure));
}

TEST_CASE("More time for a worse finding is found, even when everything is still asked for") {
    json file = shipped_file();
    // Slip: deep drowsiness gets 240 minutes, lighter drowsiness keeps 120.
    for (const char* id : {"CON-2", "CON-3"}) {
        rule(file, id)["within_minutes"] = 240;
    }
    const ProtocolFault fault = fault_of(check(file), Kind::later_deadline, "CON-1");
    CHECK(fault.counter_example->change->field == "avpu");
    CHECK(fault.counter_example->lost.find("within 120 minutes") != std::string::npos);
    CHECK(fault.counter_example->instead.find("within 240 minutes") != std::string::npos);
}

TEST_CASE("An added danger sign that loses a need is found") {
    json file = shipped_file();
    // Slip: constant pain is taken out of the causes of shock, so that it ends the open question
    // without starting the rule for it.
    rule(file, "SHK-2")["when"] =
        json::parse(R"({"all": ["low_flow", {"any": ["bleeds", "has_fever"]}]})");
    rule(file, "SHK-2P")["when"] = json::parse(R"({"all": ["low_flow", "pain", "undelivered"]})");
    const ProtocolFault fault = fault_of(check(file), Kind::worse_asks_less, "SHK-2X");
    CHECK(fires(file, "SHK-2X", *fault.counter_example, false));
    CHECK_FALSE(fires(file, "SHK-2X", *fault.counter_example, true));
}

TEST_CASE(
    "Unknown taken for no is found: not having asked must not ask for less than the safer answer") {
    json file = shipped_file();
    // Slip: the rule for unknown weeks is written for known weeks.
    rule(file, "ROM-1")["when"] = json::parse(
        R"({"all": ["undelivered", {"membranes_ruptured": "yes"}, {"labour_hours": {"less_than": 12}}]})");
    const ProtocolFault fault = fault_of(check(file), Kind::unknown_taken_as_no, "ROM-1");
    CHECK(fault.counter_example->change->after == "not answered");
}

TEST_CASE("A sign that must never be ignored, and is, is found") {
    json file = shipped_file();
    SUBCASE("fits before 20 weeks are left out") {
        rule(file, "ECL-3")["when"] = json::parse(
            R"({"all": [{"convulsions": "yes"}, "known_under_20w", {"known_epilepsy": "yes"}]})");
        part(file["fields"], "name", "known_epilepsy").erase("note_only");
        const ProtocolFault fault = fault_of(check(file), Kind::ignored, "convulsions");
        REQUIRE(fault.counter_example);
        const auto& findings = fault.counter_example->findings;
        CHECK(std::find(findings.begin(), findings.end(),
                        CounterExample::Line{"convulsions", "yes"}) != findings.end());
    }
    SUBCASE("a question is added that no rule reads") {
        file["fields"].push_back(json::parse(
            R"({"name": "snake_bite", "type": "sign", "safer": "no", "worse": "yes", "question": "triage.question.trauma"})"));
        fault_of(check(file), Kind::ignored, "snake_bite");
    }
}

TEST_CASE("A contradiction that sets aside what was given without keeping it too is found") {
    json file = shipped_file();
    // Before the change the weeks given counted as well; without them a second baby ends the need
    // for what early bleeding asks.
    part(file["contradictions"], "id", "PLA-6")["either"] =
        json::parse(R"([{"set_aside": ["gestation_weeks"]}])");
    const ProtocolFault fault = fault_of(check(file), Kind::worse_asks_less, "PLA-6");
    CHECK(fault.counter_example->change->field == "multiple_pregnancy");
}

TEST_CASE("A rule without a source is found, with a woman who would be answered by it") {
    Protocol protocol = shipped_protocol();
    const auto hit = std::find_if(protocol.rules.begin(), protocol.rules.end(),
                                  [](const Rule& one) { return one.id == "HTN-2"; });
    hit->sources.clear();
    const ProtocolFault fault =
        fault_of(check_protocol(protocol, english()), Kind::no_source, "HTN-2");
    REQUIRE(fault.counter_example);
    CHECK(fires(shipped_file(), "HTN-2", *fault.counter_example, false));

    json file = shipped_file();
    rule(file, "HTN-2").erase("sources");
    const ProtocolVerdict verdict = check(file);
    REQUIRE(verdict.faults.size() == 1);
    CHECK(verdict.faults[0].kind == Kind::unreadable);
    CHECK(verdict.faults[0].where.find("#/rules/") == 0);
    MESSAGE(to_text(verdict.faults[0]));
}

TEST_CASE("A drug without a maximum or without contraindications is found") {
    Protocol protocol = shipped_protocol();
    const auto dose = std::find_if(protocol.doses.begin(), protocol.doses.end(),
                                   [](const Dose& one) { return one.id == "D2.nifedipine"; });
    SUBCASE("the maximum is empty") {
        dose->maximum = " ";
        const ProtocolFault fault =
            fault_of(check_protocol(protocol, english()), Kind::incomplete_dose, "D2.nifedipine");
        CHECK(fault.explanation.find("the maximum") != std::string::npos);
        CHECK(fault.counter_example.has_value());
    }
    SUBCASE("the contraindications are empty") {
        dose->contraindications.clear();
        fault_of(check_protocol(protocol, english()), Kind::incomplete_dose, "D2.nifedipine");
    }
    SUBCASE("the maximum is left out of the file") {
        json file = shipped_file();
        part(file["doses"], "id", "D2.nifedipine").erase("maximum");
        const ProtocolVerdict verdict = check(file);
        REQUIRE_FALSE(verdict.passed());
        CHECK(verdict.faults[0].kind == Kind::unreadable);
        MESSAGE(to_text(verdict.faults[0]));
    }
}

TEST_CASE(
    "A capability that nobody knows is refused, and so is a mistyped field, with the nearest "
    "name") {
    json file = shipped_file();
    SUBCASE("capability") {
        rule(file, "HTN-2")["needs"][0]["any_of"][0] = "blood_transfusions";
        const ProtocolVerdict verdict = check(file);
        REQUIRE(verdict.faults.size() == 1);
        CHECK(verdict.faults[0].kind == Kind::unreadable);
        CHECK(verdict.faults[0].explanation.find("blood_transfusion") != std::string::npos);
        MESSAGE(to_text(verdict.faults[0]));
    }
    SUBCASE("field") {
        rule(file, "HTN-2")["when"] = json::parse(R"({"sys_pb": {"at_least": 160}})");
        const ProtocolVerdict verdict = check(file);
        REQUIRE_FALSE(verdict.passed());
        CHECK(verdict.faults[0].explanation.find("sys_bp") != std::string::npos);
        MESSAGE(to_text(verdict.faults[0]));
    }
    SUBCASE("not a protocol at all") {
        CHECK_FALSE(check_protocol_file("{", english()).passed());
    }
}

TEST_CASE("A text that the catalogue lacks is found before anybody sees its id") {
    json file = shipped_file();
    rule(file, "HTN-2")["suspect"] = "triage.suspect.no_such_text";
    fault_of(check(file), Kind::missing_text, "triage.suspect.no_such_text");
}

TEST_CASE("Every finding that the check names for a rule really fires it") {
    // The check looks at conditions as wholes of sets of truths; here each is evaluated plainly.
    Protocol protocol = shipped_protocol();
    for (Rule& one : protocol.rules) {
        one.sources.clear();
    }
    const json file = shipped_file();
    const ProtocolVerdict verdict = check_protocol(protocol, english());
    std::size_t shown = 0;
    for (const ProtocolFault& fault : verdict.faults) {
        REQUIRE(fault.counter_example);
        const auto hit = std::find_if(protocol.rules.begin(), protocol.rules.end(),
                                      [&](const Rule& one) { return one.id == fault.where; });
        CHECK(protocol.conditions.evaluate(
                  hit->when, situation(protocol, *fault.counter_example, false)) == Answer::yes);
        ++shown;
    }
    CHECK(shown == 104);
}

}  // namespace
}  // namespace waybourne::triage
