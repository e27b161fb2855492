#include "server/languages.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <regex>
#include <set>

#include "server/answer.hpp"
#include "server/answer_json.hpp"
#include "server/json/request.hpp"
#include "server/json/value.hpp"
#include "server/words.hpp"
#include "tests/server/served_sample.hpp"

namespace waybourne::server::test {

namespace {

Catalogue catalogue_file(const std::string& room, std::string_view language) {
    std::ifstream file{std::string(WAYBOURNE_SOURCE_DIR) + "/" + room + "/texts." +
                       std::string(language) + ".json"};
    REQUIRE_MESSAGE(file.good(), room << " has no words in " << language);
    return parse_catalogue(std::string{std::istreambuf_iterator<char>{file}, {}});
}

const std::vector<std::string>& rooms() {
    static const std::vector<std::string> all{"triage/protocol", "facilities", "referral",
                                              "dispatch", "server"};
    return all;
}

std::multiset<std::string> found(const std::string& text, const std::regex& what) {
    return {std::sregex_token_iterator{text.begin(), text.end(), what}, {}};
}

/// Every number in a text, with a point before its decimals and nothing between its thousands.
std::multiset<std::string> numbers_in(const std::string& text) {
    static const std::regex decimal_comma{"([0-9]),([0-9])"};
    static const std::regex between_thousands{"([0-9])(?: |\u00a0|\u202f)(?=[0-9]{3}(?![0-9]))"};
    static const std::regex number{R"([0-9]+(?:\.[0-9]+)?)"};
    return found(std::regex_replace(std::regex_replace(text, decimal_comma, "$1.$2"),
                                    between_thousands, "$1"),
                 number);
}

std::string chosen(std::string_view accept_language) {
    return catalogue_for(*sample_snapshot(), accept_language).language();
}

const Catalogue& spoken(const std::string& language) {
    return catalogue_for(*sample_snapshot(), language);
}

/// The sentences of an answer: what stands under these names, however deep.
void gather_sentences(const JsonValue& value, bool is_sentence, std::set<std::string>& all) {
    static const std::set<std::string> names{"text",    "why",     "because",   "facts",
                                             "reasons", "remarks", "meanwhile", "cautions"};
    if (value.kind() == JsonKind::text && is_sentence) {
        all.insert(value.text());
    } else if (value.kind() == JsonKind::list) {
        for (const JsonValue& item : value.items()) {
            gather_sentences(item, is_sentence, all);
        }
    } else if (value.kind() == JsonKind::object) {
        for (const JsonMember& member : value.members()) {
            gather_sentences(member.value, names.contains(member.name), all);
        }
    }
}

std::set<std::string> sentences_of(const std::string& json) {
    std::set<std::string> all;
    gather_sentences(parse_json(json), false, all);
    return all;
}

std::set<std::string> lines_of(const std::string& text) {
    std::set<std::string> all;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t end = std::min(text.find('\n', at), text.size());
        all.insert(text.substr(at, end - at));
        at = end + 1;
    }
    return all;
}

/// What one language says as another does, of three words or more: names are not translated.
std::set<std::string> not_translated(const std::set<std::string>& one,
                                     const std::set<std::string>& other) {
    std::set<std::string> same;
    std::set_intersection(one.begin(), one.end(), other.begin(), other.end(),
                          std::inserter(same, same.end()));
    std::erase_if(same, [](const std::string& text) {
        return std::count(text.begin(), text.end(), ' ') < 3;
    });
    return same;
}

const std::vector<std::string> requests{
    R"({"at": "2026-03-04T09:40:00Z",
        "readings": [{"taken_at": "2026-03-04T09:35:00Z", "systolic_mmhg": 165,
                      "diastolic_mmhg": 112, "pulse_per_minute": 96}],
        "findings": {"status": "pregnant", "gestation_weeks": 34, "severe_headache": "yes",
                     "urine_protein": 2, "temp_c": 38.5},
        "available_here": ["oral_antihypertensive"], "from": {"facility": "kezhiru-clinic"}})",
    R"({"findings": {"status": "postpartum", "days_postpartum": 0, "bleeding": "heavy",
                     "placenta_delivered": "no", "avpu": "V", "severe_pallor": "yes"},
        "from": {"facility": "kezhiru-clinic"}, "transport": {"means": "on_foot"}})",
    R"({"findings": {"status": "in_labour", "convulsions": "yes", "cord_visible": "yes",
                     "temp_c": 61}, "from": {"facility": "kezhiru-clinic"}, "can_phone": false})"};

}  // namespace

TEST_CASE("Each language has every text, with the same values and the same numbers") {
    const std::regex placeholder{R"(\{[a-z_]+\})"};
    for (const std::string& room : rooms()) {
        const Catalogue english = catalogue_file(room, "en");
        for (const std::string_view language : catalogue_languages) {
            const Catalogue other = catalogue_file(room, language);
            CHECK(other.language() == language);
            for (const auto& text : english.texts()) {
                CAPTURE(language);
                CAPTURE(text.first);
                REQUIRE(other.has(text.first));
                const std::string translated = other.text(std::string_view{text.first});
                CHECK(found(translated, placeholder) == found(text.second, placeholder));
                CHECK(numbers_in(translated) == numbers_in(text.second));
            }
            CHECK(other.texts().size() == english.texts().size());
        }
    }
}

TEST_CASE("Whoever asks is answered in the language preferred most of those there are") {
    // The weights and the wildcard: RFC 9110, section 12.4.2 and 12.5.4; `fr-CH` finds `fr` by the
    // lookup of RFC 4647, section 3.4.
    CHECK(chosen("") == "en");
    CHECK(chosen("fr") == "fr");
    CHECK(chosen("fr-CH, fr;q=0.9, en;q=0.8") == "fr");
    CHECK(chosen("en;q=0.8, sw;q=0.9") == "sw");
    CHECK(chosen("da, en-GB;q=0.8, sw;q=0.7") == "en");
    CHECK(chosen("SW-TZ") == "sw");
    CHECK(chosen("da, *;q=0.1") == "en");
    CHECK(chosen("fr;q=0, sw;q=0.001") == "sw");
    CHECK(chosen("fr ; q=1.000 , sw") == "fr");
    for (const char* nonsense : {",", ";", "q=1", "fr;q=2", "fr;q=0.1234", "fr;q=0.x", "fr;x=1",
                                 "fr;q", "da", "\xff\xfe", "fr q=1"}) {
        CAPTURE(nonsense);
        CHECK(chosen(nonsense) == "en");
    }
}

TEST_CASE("An answer in another language says nothing in English") {
    const auto snapshot = sample_snapshot();
    const Instant now = parse_rfc3339(sample_now);
    for (const std::string& request : requests) {
        const auto asked = parse_recommendation_request(request);
        const server::Answer english_answer =
            answer_recommendation(*snapshot, asked, now, snapshot->catalogue);
        const auto english =
            sentences_of(recommendation_json(*snapshot, asked, now, snapshot->catalogue));
        REQUIRE(english.size() > 10);
        for (const Catalogue& catalogue : snapshot->other_languages) {
            CAPTURE(catalogue.language());
            const auto other = sentences_of(recommendation_json(*snapshot, asked, now, catalogue));
            CHECK(other.size() > 10);
            for (const std::string& text : not_translated(english, other)) {
                FAIL_CHECK(text);
            }
            const server::Answer answer = answer_recommendation(*snapshot, asked, now, catalogue);
            for (const std::string& line : not_translated(lines_of(english_answer.referral_note),
                                                          lines_of(answer.referral_note))) {
                FAIL_CHECK(line);
            }
        }
    }
}

TEST_CASE("The days, the months and spans of time are the language's own") {
    const auto snapshot = sample_snapshot();
    const Instant now = parse_rfc3339(sample_now);
    const Instant tomorrow = parse_rfc3339("2026-03-05T07:00:00Z");
    CHECK(Words{spoken("en"), snapshot->zone, now}.clock(tomorrow) == "Thu 5 March 07:00");
    CHECK(Words{spoken("fr"), snapshot->zone, now}.clock(tomorrow) == "jeu. 5 mars 07:00");
    CHECK(Words{spoken("en"), snapshot->zone, now}.span(65min) == "1 hour 5 minutes");
    CHECK(Words{spoken("fr"), snapshot->zone, now}.span(65min) == "1 heure 5 minutes");
    CHECK(Words{spoken("sw"), snapshot->zone, now}.span(125min) == "saa 2 dakika 5");
}

TEST_CASE("Over HTTP the answer comes in the reader's language, and says which that is") {
    const ServedSample sample;
    const std::string body = R"({"findings": {"status": "in_labour", "convulsions": "yes"}})";
    const auto reply_to = [&](std::string bytes, const std::string& accept_language) {
        bytes.insert(bytes.find("\r\n") + 2, "Accept-Language: " + accept_language + "\r\n");
        RawClient client{sample.port()};
        REQUIRE(client.send(bytes));
        return parse_reply(client.receive());
    };
    const Reply french = reply_to(post_bytes("/v1/assessments", body), "fr-CH");
    CHECK(french.status == 200);
    CHECK(french.field("Content-Language") == "fr");
    CHECK(french.field("Vary").find("Accept-Language") != std::string::npos);
    const Reply english = post(sample.port(), "/v1/assessments", body);
    CHECK(english.field("Content-Language") == "en");
    CHECK(sentences_of(french.body) != sentences_of(english.body));
    const std::string get_protocol = "GET /v1/protocol HTTP/1.1\r\nHost: localhost\r\n\r\n";
    CHECK(reply_to(get_protocol, "sw").field("ETag") != reply_to(get_protocol, "en").field("ETag"));
}

TEST_CASE("What a place lacks is named in the reader's language") {
    const auto& snapshot = *sample_snapshot();
    for (const auto& [language, words] :
         {std::pair{"en", "no surgeon until 07:00"},
          std::pair{"fr", "sans chirurgien jusqu’à 07:00"},
          std::pair{"sw", "hakuna daktari wa upasuaji hadi 07:00"}}) {
        const Words in{spoken(language), snapshot.zone, snapshot.read_at};
        CHECK(in.text(Message{"facilities.none_until", {{"what", "surgeon"}, {"time", "07:00"}}}) ==
              words);
    }
    // a register may name what no catalogue knows
    const Words in{spoken("fr"), snapshot.zone, snapshot.read_at};
    CHECK(in.text(Message{"facilities.none_left", {{"what", "blue boxes"}}}) ==
          "il n’en reste plus : blue boxes");
}

TEST_CASE("Everything that the sample's places may lack has a name in each language") {
    for (const std::string_view language : catalogue_languages) {
        const Catalogue names = catalogue_file("facilities", language);
        for (const facilities::Facility& place : sample_snapshot()->facilities.facilities()) {
            for (const facilities::Resource& resource : place.resources) {
                CAPTURE(resource.name);
                CHECK(names.has("facilities.resource." + resource.name));
            }
        }
    }
}

}  // namespace waybourne::server::test
