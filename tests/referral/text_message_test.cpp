#include "referral/text_message.hpp"

#include <doctest/doctest.h>

#include <cstdint>
#include <fstream>
#include <map>
#include <sstream>

#include "tests/referral/small_district.hpp"
#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::referral;

namespace {

Catalogue english() {
    std::ifstream file(WAYBOURNE_SOURCE_DIR "/referral/texts.en.json");
    std::stringstream text;
    text << file.rdbuf();
    return parse_catalogue(text.str());
}

SmallDistrict hospital_in_an_hour(const std::string& name) {
    SmallDistrict district;
    district.place("hospital", {Capability::magnesium_sulfate, Capability::operative_delivery})
        .way("hospital", 60min);
    district.facility("hospital").name = name;
    return district;
}

const auto wanted = {critical({Capability::magnesium_sulfate}, 120min),
                     critical({Capability::operative_delivery}, 240min)};

const MessageContext context{"22222223", ten, 2h};

triage::Findings with_fits() {
    triage::Findings findings;
    findings.values["status"] = std::string("pregnant");
    findings.values["gestation_weeks"] = 36.0;
    findings.values["convulsions"] = triage::Answer::yes;
    findings.readings.push_back({ten - 20min, 160, 100, 88});
    findings.readings.push_back({ten - 5min, 172, 114, 96});
    return findings;
}

/// A character of the first plane (RFC 3629).
std::string utf8(char32_t character) {
    const auto byte = [](char32_t value) { return static_cast<char>(value); };
    if (character < 0x80) {
        return {byte(character)};
    }
    const char last = byte(0x80U | (character & 0x3FU));
    if (character < 0x800) {
        return {byte(0xC0U | (character >> 6U)), last};
    }
    return {byte(0xE0U | (character >> 12U)), byte(0x80U | ((character >> 6U) & 0x3FU)), last};
}

}  // namespace

TEST_CASE("A message fits when it takes at most 160 characters of the phone's alphabet") {
    // 3GPP TS 23.038, 6.2.1 (from memory).
    CHECK(text_message_characters("Be there by 14:20") == 17);
    CHECK(text_message_characters("èéùìòÇØøÅåÄÖÑÜäöñüàß@£$¥") == 24);
    // 14 characters, 9 of them in the extension: [ ] € { } | ~ ^ and the backslash.
    CHECK(text_message_characters("[1] €5 {a}|~^\\") == 14 + 9);
    CHECK_FALSE(text_message_characters("ç").has_value());
    CHECK_FALSE(text_message_characters("Добро").has_value());
    CHECK(in_text_message_alphabet("Nkhotakota – ‘Boma’ Áçê 路") == "Nkhotakota - 'Boma' Ace ?");
}

TEST_CASE("The alphabet is the published one, character by character, and nothing else") {
    std::ifstream file(WAYBOURNE_SOURCE_DIR "/tests/sources/gsm_alphabet.txt");
    std::map<char32_t, std::size_t> length_of;
    for (std::string line; std::getline(file, line);) {
        if (line.starts_with("#")) {
            continue;
        }
        std::istringstream columns(line);
        std::string code;
        std::uint32_t unicode = 0;
        columns >> code >> std::hex >> unicode;
        length_of[unicode] = code.size() / 2;  // one code, or an escape and a code
    }
    REQUIRE(length_of.size() == 127 + 10);
    // all of Unicode's first plane but the surrogates, which are no characters
    for (char32_t character = 1; character < 0x10000; ++character) {
        if (character >= 0xD800 && character < 0xE000) {
            continue;
        }
        const auto known = length_of.find(character);
        const auto counted = text_message_characters(utf8(character));
        CAPTURE(static_cast<std::uint32_t>(character));
        if (known == length_of.end()) {
            CHECK_FALSE(counted.has_value());
        } else {
            CHECK(counted == known->second);
        }
    }
}

TEST_CASE("The driver reads where to go, by when, and how many minutes that is") {
    auto district = hospital_in_an_hour("District hospital");
    const auto answer = district.ask(wanted);
    // Magnesium by 12:00, that is 14:00 there: two hours from now.
    CHECK(
        driver_message(context, *answer.chosen, district.facilities(), english()) ==
        "Case 22222223. Take woman to District hospital now. Be there by 14:00 (120 min). Reply 2 "
        "when there.");
}

TEST_CASE("When she is late anyway the driver is told to be as quick as he can, not a time") {
    auto district = hospital_in_an_hour("District hospital");
    const auto answer = district.ask({critical({Capability::operative_delivery}, 30min)});
    CHECK(driver_message(context, *answer.chosen, district.facilities(), english()) ==
          "Case 22222223. Take woman to District hospital now, as soon as you can. Reply 2 when "
          "there.");
}

TEST_CASE("With a stop on the way the driver reads both places") {
    SmallDistrict district;
    district.place("centre", {Capability::magnesium_sulfate}).way("centre", 35min);
    district.place("hospital", {Capability::operative_delivery}).way("hospital", 95min);
    district.onward("centre", "hospital", 70min);
    const auto answer = district.ask(wanted);
    CHECK(driver_message(context, *answer.chosen, district.facilities(), english()) ==
          "Case 22222223. Take woman now first to Place centre, be there by 14:00 (120 min), then "
          "to Place hospital. Reply 2 when there.");
}

TEST_CASE("However long the names, it stays one message") {
    auto district =
        hospital_in_an_hour(std::string(90, 'x') + " [hôpital] " + std::string(90, 'y'));
    const auto answer = district.ask(wanted);
    const auto text = driver_message(context, *answer.chosen, district.facilities(), english());
    CHECK(text_message_characters(text).value() == text_message_length);
    CHECK(text.find("Reply 2 when there.") != std::string::npos);
}

TEST_CASE("Neither driver nor family reads what is suspected or seen") {
    auto district = hospital_in_an_hour("Hospital");
    const auto answer = district.ask(wanted);
    const auto text = driver_message(context, *answer.chosen, district.facilities(), english());
    for (const char* word : {"fits", "BP", "bleeding", "magnesium", "caesarean", "weeks"}) {
        CAPTURE(word);
        CHECK(text.find(word) == std::string::npos);
    }
}

TEST_CASE("The receiving site reads when she comes, what is seen, and what to have ready") {
    auto district = hospital_in_an_hour("Hospital");
    const auto answer = district.ask(wanted);
    // The latest reading counts. Arrival 11:00, that is 13:00 there.
    CHECK(receiving_site_message(context, *answer.chosen, 0, with_fits(), english()) ==
          "Case 22222223 arriving 13:00 (60 min). 36 wk, fits, BP 172/114, pulse 96. Needs: "
          "magnesium, theatre. Reply 1 ready / 3 cannot.");
}

TEST_CASE("What could shame her stays out of the message") {
    // clinical.md i.1: abortion, infection, violence, HIV, mind.
    SmallDistrict district;
    district
        .place("hospital", {Capability::uterine_evacuation, Capability::mental_health_emergency,
                            Capability::parenteral_antibiotics})
        .way("hospital", 60min);
    const auto answer = district.ask({critical({Capability::uterine_evacuation}, 120min),
                                      need({Capability::mental_health_emergency}, 120min),
                                      need({Capability::parenteral_antibiotics}, 120min)});
    auto findings = with_fits();
    findings.values["status"] = std::string("post_abortion");
    findings.values["self_harm_thoughts"] = triage::Answer::yes;
    findings.values["trauma"] = triage::Answer::yes;
    const auto text = receiving_site_message(context, *answer.chosen, 0, findings, english());
    for (const char* word : {"abort", "miscarr", "mental", "mind", "harm", "infect", "antibiotic",
                             "violence", "injur", "evacuation"}) {
        CAPTURE(word);
        CHECK(text.find(word) == std::string::npos);
    }
}

TEST_CASE("With every need at once the message to the site still fits, needs before findings") {
    SmallDistrict district;
    CapabilitySet all;
    std::vector<triage::Need> needs;
    for (std::size_t index = 0; index < triage::capability_count; ++index) {
        const auto capability = static_cast<Capability>(index);
        all.insert(capability);
        needs.push_back(critical({capability}, 120min));
    }
    district.place("hospital", all).way("hospital", 60min);
    const auto answer = district.ask(needs);
    const auto text = receiving_site_message(context, *answer.chosen, 0, with_fits(), english());
    CHECK(text_message_characters(text).value() <= text_message_length);
    CHECK(text.find("fits,") == std::string::npos);
    CHECK(text.find("Reply 1 ready / 3 cannot.") != std::string::npos);
}

TEST_CASE("Without a place there is no message") {
    const auto catalogue = english();
    CHECK_THROWS_AS(driver_message(context, Choice{}, {}, catalogue), InputError);
    CHECK_THROWS_AS(receiving_site_message(context, Choice{}, 0, {}, catalogue), InputError);
}

TEST_CASE(
    "Four at houses with long names: the order of a tour still fits two messages in every "
    "language") {
    auto district = hospital_in_an_hour(std::string(60, 'h'));
    const auto answer = district.ask(wanted);
    std::vector<TourStop> stops;
    for (const char* code : {"22222223", "22222224", "22222225", "22222226"}) {
        stops.push_back(
            {code, {GeoPoint{Latitude{-12.3456}, Longitude{-123.4567}}, std::string(60, 'n')}});
    }
    for (const char* language : {"en", "fr", "sw"}) {
        CAPTURE(language);
        std::ifstream file(std::string(WAYBOURNE_SOURCE_DIR "/referral/texts.") + language +
                           ".json");
        std::stringstream words;
        words << file.rdbuf();
        const Catalogue catalogue = parse_catalogue(words.str());
        for (const bool is_changed : {false, true}) {
            const auto text = tour_order(context, stops, *answer.chosen, is_changed,
                                         district.facilities(), catalogue);
            CAPTURE(text);
            CHECK(text_message_characters(text).value() <= two_text_messages_length);
            // names are cut, codes never, positions by 10 m at most
            std::size_t at = text.find(std::string{"1) "});
            for (const TourStop& stop : stops) {
                at = text.find(stop.code + " -12.34", at);
                CHECK(at != std::string::npos);
                const auto point = text.substr(at + stop.code.size() + 1, 18);
                const bool is_whole = point.starts_with("-12.3456,-123.4567") ||
                                      point.starts_with("-12.346,-123.457");
                CHECK(is_whole);
            }
        }
    }
    CHECK(tour_order(
              context,
              std::vector<TourStop>{{"22222223", {{}, "Kezhiru"}}, {"22222224", {{}, "Luzhenni"}}},
              *hospital_in_an_hour("Hospital").ask(wanted).chosen, false,
              hospital_in_an_hour("Hospital").facilities(), english()) ==
          "ORDER. Case 22222223, tour. Fetch in order 1) 22222223 Kezhiru, 2) 22222224 "
          "Luzhenni. Then all to Hospital by 14:00 (120 min). Reply digit+code: 7 got it, 5 "
          "set out, 6 with her, 1 left, 2 arrived, 3 cannot, 4 worse.");
}
