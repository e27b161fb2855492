#include "triage/protocol_file.hpp"

#include <doctest/doctest.h>

#include <algorithm>

#include "tests/triage/support.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::triage {
namespace {

using nlohmann::json;

const json& shipped_file() {
    static const json file = json::parse(read_source_file("triage/protocol/protocol.json"));
    return file;
}

std::vector<FieldError> errors_of(const std::string& text) {
    try {
        parse_protocol(text);
    } catch (const InputError& error) {
        return error.fields();
    }
    return {};
}

/// The detail of the error at this place; empty when there is none.
std::string error_at(const json& file, const std::string& pointer) {
    for (const FieldError& error : errors_of(file.dump())) {
        if (error.pointer == pointer) {
            return error.detail;
        }
    }
    return {};
}

/// The shipped file with one part changed.
json with(const std::string& pointer, const json& part) {
    json file = shipped_file();
    file[json::json_pointer(pointer)] = part;
    return file;
}

bool is_optional(const std::string& key) {
    static const std::vector<std::string> optional{
        "confirm",         "wrong_unit", "of_reading",    "safer",         "danger",
        "not_asked_when",  "worse",      "label",         "set_aside",     "set",
        "when of caution", "given_when", "withheld_when", "never_ignored", "note_only"};
    return std::find(optional.begin(), optional.end(), key) != optional.end();
}

TEST_CASE("The protocol that ships is read whole, with the fingerprint of its bytes") {
    const std::string text = read_source_file("triage/protocol/protocol.json");
    const Protocol protocol = parse_protocol(text);
    CHECK(protocol.rules.size() == 104);  // clinical specification e.3
    CHECK(protocol.sha256 == sha256(text));
    CHECK(protocol.find_field("sys_bp") == protocol.reading.systolic);
    CHECK_FALSE(protocol.find_field("systolic").has_value());
}

TEST_CASE("A file without any one of its parts is refused, and the missing part is named") {
    // Every key of the file's head, and of the fullest entry of each of its lists.
    std::vector<std::string> pointers{"/protocol", "/reading", "/reading/watch_minutes",
                                      "/derived/shock_index", "/terms/bleeds"};
    for (const char* list :
         {"fields", "rules", "actions", "doses", "derived_answers", "contradictions"}) {
        pointers.emplace_back("/" + std::string(list) + "/0");
    }
    pointers.emplace_back("/rules/0/needs/0");
    int removed = 0;
    const auto try_without = [&](const std::string& parent, const std::string& key) {
        json file = shipped_file();
        file[json::json_pointer(parent)].erase(key);
        CAPTURE(parent);
        CAPTURE(key);
        CHECK(error_at(file, "#" + parent + "/" + key) == "is missing");
        ++removed;
    };
    for (const auto& [key, part] : shipped_file().items()) {
        try_without("", key);
    }
    for (const std::string& pointer : pointers) {
        for (const auto& [key, part] : shipped_file()[json::json_pointer(pointer)].items()) {
            if (!is_optional(key)) {
                try_without(pointer, key);
            }
        }
    }
    CHECK(removed > 70);
}

TEST_CASE("A part of the wrong kind is refused, with what is expected") {
    for (const auto& part : shipped_file().items()) {
        const std::string& key = part.key();
        CAPTURE(key);
        CHECK(error_at(with("/" + key, 7), "#/" + key).find("expected") != std::string::npos);
    }
    CHECK(error_at(with("/rules/0/within_minutes", "soon"), "#/rules/0/within_minutes") ==
          "is a text where a number is expected");
    CHECK(error_at(with("/rules/0/within_minutes", 0), "#/rules/0/within_minutes") ==
          "is not a whole number of minutes from 1 to 100000");
    CHECK(error_at(with("/rules/0/sources", json::array()), "#/rules/0/sources") ==
          "names no source");
    CHECK(error_at(with("/fields/0/type", "colour"), "#/fields/0/type") ==
          "is not number, step, sign or choice");
    CHECK(error_at(
              with("/protocol/approved_by", {{"name", "A"}, {"role", "lead"}, {"at", "yesterday"}}),
              "#/protocol/approved_by/at")
              .find("RFC 3339") != std::string::npos);
}

TEST_CASE("An unknown name is refused with the nearest one that is known") {
    CHECK(error_at(with("/rules/0/when", "bleedz"), "#/rules/0/when") ==
          "'bleedz' is not known; did you mean 'bleeds'?");
    CHECK(error_at(with("/rules/0/when", {{"sys_pb", {{"at_least", 1}}}}),
                   "#/rules/0/when/sys_pb") == "'sys_pb' is not known; did you mean 'sys_bp'?");
    CHECK(error_at(with("/rules/0/when", {{"bleeding", "heavvy"}}), "#/rules/0/when/bleeding")
              .find("'heavy'") != std::string::npos);
    CHECK(error_at(with("/rules/0/needs/0/any_of/0", "blood_transfusions"),
                   "#/rules/0/needs/0/any_of/0") ==
          "the capability 'blood_transfusions' is not known; did you mean 'blood_transfusion'?");
    CHECK(error_at(with("/rules/0/do_now/0", "A1b"), "#/rules/0/do_now/0").find("not known") !=
          std::string::npos);
    CHECK(error_at(with("/rules/0/withinminutes", 3), "#/rules/0/withinminutes") ==
          "is not known; did you mean 'within_minutes'?");
}

TEST_CASE("A condition must say one thing, in a form that can be true") {
    const std::string place = "#/rules/0/when";
    const auto refused = [&](const json& condition, const std::string& at) {
        return error_at(with("/rules/0/when", condition), place + at);
    };
    CHECK(refused(json::object(), "") == "has 0 keys where a condition has one");
    CHECK(refused({{"all", json::array()}}, "/all") == "is an empty list of conditions");
    CHECK(refused({{"pulse", {{"at_least", 9}, {"at_most", 8}}}}, "/pulse") ==
          "no number lies in this range");
    CHECK(refused({{"pulse", json::object()}}, "/pulse").find("compares with nothing") == 0);
    CHECK(refused({{"pulse", {{"at_leest", 9}}}}, "/pulse/at_leest").find("'at_least'") !=
          std::string::npos);
    CHECK(refused({{"shock_index", {{"at_least", 0.95}}}}, "/shock_index").find("tenths") !=
          std::string::npos);
    CHECK(refused("pallor", "").find("is a field") != std::string::npos);
    CHECK(refused(5, "").find("object") != std::string::npos);
}

TEST_CASE("Names are given once and mean one thing") {
    json file = shipped_file();
    file["rules"][1]["id"] = file["rules"][0]["id"];
    CHECK(error_at(file, "#/rules/1/id").find("used twice") != std::string::npos);
    file = shipped_file();
    file["fields"].push_back(file["fields"][0]);
    CHECK_FALSE(errors_of(file.dump()).empty());
    file = shipped_file();
    file["terms"]["any"] = file["terms"]["bleeds"];
    CHECK(error_at(file, "#/terms/any").find("meaning of its own") != std::string::npos);
}

TEST_CASE("Terms may stand in any order, but none may stand in its own condition") {
    json file = shipped_file();  // its keys are in the order of the alphabet
    CHECK(errors_of(file.dump()).empty());
    file["terms"]["bleeds"]["when"] = "flow_sign";  // which has bleeds in it
    CHECK(error_at(file, "#/terms/flow_sign/when/any/0") ==
          "'bleeds' is a part of its own condition");
}

TEST_CASE("All errors of a file are told at once") {
    json file = shipped_file();
    file["protocol"].erase("id");
    file["rules"][3]["when"] = "nonsense_term";
    file["doses"][2].erase("maximum");
    const auto errors = errors_of(file.dump());
    std::vector<std::string> places;
    for (const FieldError& error : errors) {
        places.push_back(error.pointer);
    }
    CHECK(places ==
          std::vector<std::string>{"#/protocol/id", "#/doses/2/maximum", "#/rules/3/when"});
}

TEST_CASE("What is no JSON, is cut short, nests without end or says a thing twice is refused") {
    const std::string text = read_source_file("triage/protocol/protocol.json");
    CHECK(errors_of("").size() == 1);
    CHECK(errors_of("not json").size() == 1);
    CHECK(errors_of(text.substr(0, text.size() / 2)).size() == 1);
    CHECK(errors_of(std::string(100'000, '[')).front().detail == "nested deeper than 40");
    CHECK(errors_of(R"({"rules": [], "rules": []})").front().detail ==
          "the key 'rules' stands twice in one object");
    CHECK_FALSE(errors_of("[]").empty());
    CHECK(errors_of("{}").size() > 10);
}

}  // namespace
}  // namespace waybourne::triage
