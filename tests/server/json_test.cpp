#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <limits>
#include <nlohmann/json.hpp>
#include <random>

#include "server/json/recorded.hpp"
#include "server/json/referral_body.hpp"
#include "server/json/request.hpp"
#include "server/json/value.hpp"
#include "server/json/writer.hpp"
#include "vocabulary/error.hpp"

// RFC 8259 for what JSON is, RFC 6901 for pointers, RFC 3629 for UTF-8.

namespace waybourne::server::test {

namespace {

std::string refusal(const std::string& json) {
    try {
        parse_json(json);
    } catch (const InputError& error) {
        return error.fields().empty()
                   ? error.what()
                   : error.fields().front().pointer + " " + error.fields().front().detail;
    }
    return "";
}

}  // namespace

TEST_CASE("A damaged line of a stored way is named as damage, whatever is wrong with it") {
    const auto body_with = [](const std::string& geometry) {
        return R"({"way":{"to":"sorvrith-hospital","geometry":)" + geometry + "}}";
    };
    CHECK(parse_stored_body(body_with(R"({"coordinates":[[1.5,-2.5],[3,4]]})")).way->line.size() ==
          2);
    CHECK(parse_stored_body(body_with("null")).way->line.empty());
    for (const char* geometry :
         {R"({"coordinates":[[1]]})", R"({"coordinates":[7]})", R"({"coordinates":[["1","2"]]})",
          R"({"coordinates":[[500,0]]})", R"({"coordinates":{}})", R"({"line":[]})", "[]"}) {
        CAPTURE(geometry);
        CHECK_THROWS_AS(parse_stored_body(body_with(geometry)), InputError);
        journal::Envelope envelope;
        envelope.sequence = 7;
        envelope.kind = "referral.opened";
        envelope.subject = "referral/X";
        envelope.body = body_with(geometry);
        CHECK_THROWS_AS(with_envelope(nullptr, envelope), DataError);
    }
}

TEST_CASE("A saved state with a slip in it is set aside, and never taken for what it is not") {
    for (const char* state :
         {"{}", R"({"referrals":7})", R"({"referrals":[],"reports":[],"notices":[]})",
          R"({"referrals":[],"reports":[],"notices":[],"lifted":[7]})", "[]"}) {
        CAPTURE(state);
        CHECK_THROWS_AS(read_recorded(state), InputError);
    }
}

TEST_CASE("What could be taken in two ways is refused, with its place") {
    CHECK(refusal(R"({"a": {"b": 1, "b": 2}})") == "#/a/b stands twice in one object");
    CHECK(refusal(R"([{"a": 1}, {"a/b": 1, "a/b": 1}])") == "#/1/a~1b stands twice in one object");
    CHECK(refusal(std::string(17, '[') + std::string(17, ']')) ==
          "# is nested deeper than 16 lists and objects");
    CHECK(refusal(std::string(16, '[') + std::string(16, ']')).empty());
    CHECK(refusal("1e999").find("too large") != std::string::npos);
    for (const char* bad : {"", " ", "{", "NaN", "Infinity", "-", "01", "'a'", "{\"a\":1,}",
                            "[1] 2", "\"\xff\"", "\"\xc0\xaf\"", "\"\xed\xa0\x80\"", "\"\x01\""}) {
        CAPTURE(bad);
        CHECK(refusal(bad).find("is not valid JSON") != std::string::npos);
    }
}

TEST_CASE("A refusal never repeats what was sent") {
    CHECK(refusal("{\"name\": \"Amina\", oops").find("Amina") == std::string::npos);
}

TEST_CASE("A pointer is the one of RFC 6901, section 6") {
    CHECK(pointer_step("a/b") == "a~1b");
    CHECK(pointer_step("m~n") == "m~0n");
    CHECK(pointer_step("c%d") == "c%25d");
    CHECK(pointer_step("k\"l") == "k%22l");
    CHECK(pointer_step(" ") == "%20");
}

TEST_CASE("What is written is JSON, whatever the text holds") {
    JsonWriter json;
    json.begin_object().member("a", "q\"\\\n\x01\xff\xed\xa0\x80z").key("b").begin_list();
    json.value(1).null().value(true).end_list().key("c").value(0.5, 4);
    json.key("d").value(std::numeric_limits<double>::infinity(), 2);
    json.key("e").value(-0.00001, 2).end_object();
    const std::string text = json.take();
    CHECK(text ==
          "{\"a\":\"q\\\"\\\\\\n\\u0001\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBDz\","
          "\"b\":[1,null,true],\"c\":0.5,\"d\":null,\"e\":0}");
    CHECK_NOTHROW(parse_json(text));
}

TEST_CASE("A text is read back as it was written, whichever letter stands where") {
    for (std::size_t at = 0; at < 20; ++at) {
        for (int letter = 0; letter < 128; ++letter) {
            std::string text(20, 'a');
            text[at] = static_cast<char>(letter);
            JsonWriter json;
            json.value(text);
            const std::string written = json.take();
            CAPTURE(written);
            // the library reads what we write
            CHECK(nlohmann::json::parse(written).get<std::string>() == text);
        }
        std::string beyond = std::string(at, 'a') + "\u00e9\u1e84\U0001F469" + std::string(9, 'b');
        JsonWriter json;
        json.value(beyond);
        CHECK(json.take() == '"' + beyond + '"');
    }
}

TEST_CASE("A position is longitude before latitude (RFC 7946, 3.1.1), to a centimetre") {
    const auto written = [](double latitude, double longitude, int indent) {
        JsonWriter json{indent};
        json.value(GeoPoint{Latitude{latitude}, Longitude{longitude}});
        return json.take();
    };
    CHECK(written(0, 0, 0) == "[0,0]");
    CHECK(written(-0.00000001, -180, 0) == "[-180,0]");
    CHECK(written(-89.9999999, 179.5, 0) == "[179.5,-89.9999999]");
    CHECK(written(1.25, 6.1234567, 2) == "[6.1234567, 1.25]");
}

TEST_CASE("Numbers come out as the C library prints them, without zeros at the end") {
    std::mt19937 random{7};
    for (int i = 0; i < 20'000; ++i) {
        const int decimals = static_cast<int>(random() % 10);
        const auto units = static_cast<std::int64_t>(random()) >> (random() % 32);
        const double number = static_cast<double>(i % 2 == 0 ? units : -units) / 1e4;
        std::array<char, 64> expected{};
        std::snprintf(expected.data(), expected.size(), "%.*f", 4, number);
        std::string text{expected.data()};
        text.erase(text.find_last_not_of('0') + 1);
        text.erase(text.find_last_not_of('.') + 1);
        JsonWriter json;
        json.value(number, std::max(decimals, 4));
        CHECK(json.take() == (text == "-0" ? "0" : text));
    }
}

TEST_CASE("Numbers come out as short as they are, and never as minus nothing") {
    const auto written = [](double number, int decimals) {
        JsonWriter json;
        json.value(number, decimals);
        return json.take();
    };
    CHECK(written(0, 7) == "0");
    CHECK(written(-0.00000001, 7) == "0");
    CHECK(written(-0.0000001, 7) == "-0.0000001");
    CHECK(written(12.5, 7) == "12.5");
    CHECK(written(-179.9999999, 7) == "-179.9999999");
    CHECK(written(100, 2) == "100");
    CHECK(written(0.995, 2) == "1");
    CHECK(written(1e17, 2) == "100000000000000000.00");
}

TEST_CASE("Null and what is left out are unknown, never no") {
    const auto findings = parse_findings(
        R"({"readings": null, "findings": {"convulsions": null, "severe_headache": "unknown"}})");
    CHECK(findings.readings.empty());
    CHECK(findings.values.count("convulsions") == 0);
    CHECK(std::get<triage::Answer>(findings.values.at("severe_headache")) ==
          triage::Answer::unknown);
}

TEST_CASE("A place is a facility or a point, never both and never half") {
    const auto is_refused = [](const std::string& from) {
        try {
            parse_recommendation_request(R"({"from": )" + from + "}");
        } catch (const InputError& error) {
            return error.fields().at(0).pointer == "#/from";
        }
        return false;
    };
    CHECK(is_refused("{}"));
    CHECK(is_refused(R"({"latitude": 1})"));
    CHECK(is_refused(R"({"facility": "a", "latitude": 1, "longitude": 1})"));
    CHECK(is_refused("null"));
    CHECK(
        std::get<FacilityId>(parse_recommendation_request(R"({"from": {"facility": "a"}})").from) ==
        FacilityId{"a"});
}

TEST_CASE("A facility that was called twice has two answers: which one counts is not guessed") {
    CHECK_THROWS_AS(parse_recommendation_request(R"({"from": {"facility": "a"}, "calls": [
        {"facility": "b", "answer": "accepted"}, {"facility": "b", "answer": "refused"}]})"),
                    InputError);
}

}  // namespace waybourne::server::test
