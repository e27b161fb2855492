#include <doctest/doctest.h>

#include "referral/text_message.hpp"
#include "server/messages/care_text.hpp"
#include "tests/server/has.hpp"
#include "tests/server/texting_sample.hpp"

// A health worker with a plain phone: what she writes about a woman, and what comes back. What
// each case needs is told by the triage tests; here it is the talk that counts.

namespace waybourne::server::test {

namespace {

/// The shortest moment in which a text can follow another.
constexpr Seconds soon = 60s;

}  // namespace

TEST_CASE("A woman described in one text is answered with where, by when and whom to phone") {
    TextingSample texting;
    const std::string answer = texting.text(
        clinic_number, "preg 34w BP 165/112 p96 alert severe headache no fits no bleeding prot 2+");
    CAPTURE(answer);
    CHECK(answer.starts_with("A: take her to "));
    CHECK(has(answer, ", there by "));
    CHECK(has(answer, "First call +999"));
    CHECK(has(answer, "Support only: local protocol first."));
    CHECK(has(answer, "Trial rules, not signed."));
    CHECK_FALSE(has(answer, "NOT UNDERSTOOD"));
    CHECK(referral::text_message_characters(answer).value() <= referral::two_text_messages_length);
}

TEST_CASE("The place is the one that the same findings lead to over the API") {
    TextingSample texting;
    const std::string answer =
        texting.text(clinic_number, "34 weeks pregnant, BP 165/112, pulse 96, severe headache");
    const Keys keys = sample_numbers();
    const FacilityId clinic = keys.find_number(clinic_number)->caller.facilities.front();
    const Reply reply = texting.sample().send(
        "POST", "/v1/recommendations",
        R"({"readings": [{"taken_at": ")" + to_rfc3339(texting.clock().now()) +
            R"(", "systolic_mmhg": 165, "diastolic_mmhg": 112, "pulse_per_minute": 96}],
               "findings": {"status": "pregnant", "gestation_weeks": 34, "severe_headache": "yes"},
               "from": {"facility": ")" +
            clinic.value() + "\"}}");
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    const JsonValue made = parse_json(reply.body);
    CHECK(has(answer, text_at(at(made, "stages").items().front(), "name")));
}

TEST_CASE("What was not understood is said back, and never taken for a no") {
    TextingSample texting;
    const std::string answer =
        texting.text(clinic_number, "pregnant, bleeding, wobbly elbow, BP 16/11");
    CAPTURE(answer);
    CHECK(has(answer, "NOT UNDERSTOOD: bleeding, wobbly elbow, 16/11"));
    const std::string refused = texting.text(clinic_number, "pregnant pulse 900");
    CHECK(has(refused, "pulse 900"));
}

TEST_CASE("When she must leave now, what to do first is said, as much of it as there is room for") {
    TextingSample texting;
    const std::string answer = texting.text(
        clinic_number, "gave birth 1 hour ago, heavy bleeding, womb soft, BP 85/50 pulse 126");
    CAPTURE(answer);
    CHECK(has(answer, " Now: Do all of this together, not one after another: rub up the womb"));
    CHECK(has(answer, " and more."));
    CHECK(has(answer, " Reply A GO to send her."));
    CHECK(referral::text_message_characters(answer).value() <= referral::two_text_messages_length);
}

TEST_CASE("How the referral is opened is said in every language, however little room there is") {
    TextingSample texting;
    const std::string french = texting.text(
        clinic_number, "a accouche il y a 1 heure, saigne beaucoup, TA 85/50 pouls 126");
    CAPTURE(french);
    CHECK(has(french, " Répondez A ENVOYER pour l'envoyer."));
    const std::string swahili =
        texting.text(clinic_number, "amejifungua saa 1, damu nyingi, presha 85/50 mapigo 126");
    CAPTURE(swahili);
    CHECK(has(swahili, " Jibu B PELEKA ili apelekwe."));
}

TEST_CASE("Of a way with a stop both places are named, and what is late still has its time") {
    TextingSample texting;
    const std::string answer = texting.text(
        clinic_number, "36 weeks pregnant, fits, drowsy, BP 172/114 pulse 100, no bleeding");
    CAPTURE(answer);
    CHECK(
        answer.starts_with("A: NO PLACE IS IN TIME. Least late: Ammovreth health centre, about "));
    CHECK(has(answer, ", then on to Venzhoth hospital. Leave now. First call +999"));
}

TEST_CASE("The question that matters most is answered with yes or no, and the answer counts") {
    TextingSample texting;
    const std::string asked = texting.text(clinic_number, "preg 34w BP 145/95 p96 alert");
    CAPTURE(asked);
    REQUIRE(has(asked, "Reply A YES or A NO: "));
    const std::string question = asked.substr(asked.find("A NO: "));
    texting.clock().pass(soon);
    for (const char* no : {"a no", "NON", " hapana. "}) {
        const std::string next = texting.text(clinic_number, no);
        CAPTURE(next);
        CHECK(next.starts_with("A: "));
        CHECK_FALSE(has(next, question.substr(0, question.find('?'))));
    }
}

TEST_CASE("Two women are never mixed: each has her letter, and a bare yes is for one alone") {
    TextingSample texting;
    const std::string first = texting.text(clinic_number, "preg 34w BP 145/95 p96 alert");
    const std::string second = texting.text(clinic_number, "postpartum day 2 fever 38,9 p 118");
    CHECK(first.starts_with("A: "));
    CHECK(second.starts_with("B: "));
    CHECK(has(texting.text(clinic_number, "yes"), "Which case?"));
    CHECK(texting.text(clinic_number, "B no").starts_with("B: "));
    CHECK(texting.text(clinic_number, "yes A").starts_with("A: "));
    CHECK(has(texting.text(clinic_number, "C yes"), "No such case waits"));
}

TEST_CASE("A case is forgotten after two hours: old readings say too little") {
    TextingSample texting;
    texting.text(clinic_number, "preg 34w BP 145/95 p96 alert");
    texting.clock().pass(Seconds{2h});
    CHECK(has(texting.text(clinic_number, "A yes"), "No such case waits"));
    // a letter is not given again at once: a late "A go" must not send another woman
    CHECK(texting.text(clinic_number, "preg 34w BP 145/95 p96").starts_with("B: "));
    CHECK(has(texting.text(clinic_number, "A go"), "No such case waits"));
}

TEST_CASE("A ninth woman takes no other's letter, and whoever had to go is named") {
    TextingSample texting;
    const std::string bleeding = "after birth 1 h, heavy bleeding, BP 90/60 p 120";
    CHECK(texting.text(clinic_number, bleeding, "gw-0").starts_with("A: "));
    for (const char letter : {'B', 'C', 'D', 'E', 'F', 'G', 'H'}) {
        const std::string answer = texting.text(clinic_number, "preg 34w BP 145/95 p96 alert");
        CHECK(answer.starts_with(std::string{letter} + ": "));
        CHECK_FALSE(has(answer, "IS OVER"));
    }
    const std::string ninth = texting.text(clinic_number, "preg 30w severe headache", "gw-9");
    CAPTURE(ninth);
    CHECK(ninth.starts_with("J: "));  // I looks like a number
    CHECK(has(ninth, "A IS OVER"));
    CHECK(referral::text_message_characters(ninth).value_or(9999) <=
          referral::two_text_messages_length);
    // the gateway brings the ninth again: the same case, the same words
    CHECK(texting.text(clinic_number, "preg 30w severe headache", "gw-9") == ninth);
    const auto entries = texting.sample().records().sequence();
    CHECK(has(texting.text(clinic_number, "A go"), "No such case waits"));
    CHECK(texting.sample().records().sequence() == entries);
    CHECK_FALSE(has(texting.text(clinic_number, "J no"), "IS OVER"));
    CHECK(texting.text(clinic_number, bleeding).starts_with("K: "));
}

TEST_CASE("Whoever was sent makes room first, and nothing needs to be said of her") {
    TextingSample texting;
    texting.text(clinic_number, "preg 34w BP 145/95 p96 alert");
    texting.text(clinic_number, "preg 34w BP 165/112 p96 severe headache");
    REQUIRE(texting.text(clinic_number, "B go").starts_with("Noted "));
    for (int i = 0; i < 6; ++i) {
        texting.text(clinic_number, "preg 34w BP 145/95 p96 alert");
    }
    const std::string ninth = texting.text(clinic_number, "preg 30w severe headache");
    CHECK(ninth.starts_with("J: "));
    CHECK_FALSE(has(ninth, "IS OVER"));
    CHECK(texting.text(clinic_number, "A no").starts_with("A: "));
    CHECK(has(texting.text(clinic_number, "B no"), "No such case waits"));
}

TEST_CASE("Letters go round, past those that wait, and none is a word that says yes or no") {
    TextingSample texting;
    TextCases cases{sample_words_file(), texting.sample().desk(), texting.sample().snapshot(),
                    texting.clock()};
    const Caller clinic = sample_numbers().find_number(clinic_number)->caller;
    std::string given;
    for (int i = 0; i < 23; ++i) {
        given += cases.answer(clinic, {clinic_number, "preg 34w BP 145/95 p96 alert"})->front();
        texting.clock().pass(Seconds{16min});  // seven wait, then the oldest is forgotten
    }
    CHECK(given == "ABCDEFGHJKLMPQRSTUVWXZA");
    const TextWords words = sample_text_words();
    for (const char letter : given) {
        const auto phrase = words.phrases().find(plain_text(std::string{letter}));
        const WordUse use = phrase == words.phrases().end() ? WordUse::none : phrase->second.use;
        CAPTURE(letter);
        CHECK((use == WordUse::none || use == WordUse::filler));
    }
}

TEST_CASE("Go opens the referral, once, as told by text") {
    TextingSample texting;
    texting.text(clinic_number, "preg 34w BP 165/112 p96 severe headache", "gw-1");
    const std::string opened = texting.text(clinic_number, "A go", "gw-2");
    CAPTURE(opened);
    REQUIRE(opened.starts_with("Noted "));
    const std::string before = "case ";
    const std::string code = opened.substr(opened.find(before) + before.size(), 8);
    CHECK(texting.state(code) == "opened");
    CHECK(text_at(texting.sample().show(code), "channel") == "text");
    const auto entries = texting.sample().records().sequence();
    CHECK(has(texting.text(clinic_number, "go A"), code));
    CHECK(texting.sample().records().sequence() == entries);
    CHECK(has(texting.text(clinic_number, "1"), code));
    CHECK(texting.state(code) == "departed");
}

TEST_CASE("The same text brought twice is one case") {
    TextingSample texting;
    const std::string words = "preg 34w BP 145/95 p96 alert";
    CHECK(texting.text(clinic_number, words, "gw-7").starts_with("A: "));
    CHECK(texting.text(clinic_number, words, "gw-7").starts_with("A: "));
    CHECK(texting.text(clinic_number, words, "gw-8").starts_with("B: "));
}

TEST_CASE("Nothing of a woman is stored before a referral is opened") {
    TextingSample texting;
    const auto before = texting.sample().records().sequence();
    texting.text(clinic_number, "preg 34w BP 165/112 p96 severe headache");
    texting.text(clinic_number, "A no");
    CHECK(texting.sample().records().sequence() == before);
}

TEST_CASE("A text of nothing that is known is answered with what can be said") {
    TextingSample texting;
    CHECK(has(texting.text(clinic_number, "good morning team"), "Send what you see and measure"));
    CHECK(has(texting.text(driver_number, "preg 34w BP 165/112"), "Send one digit"));
    CHECK(has(texting.text(stranger_number, "preg 34w BP 165/112"), "not registered"));
}

TEST_CASE("A ward says in its own words what it lacks, and until when") {
    const TextingSample texting;
    const TextWords words = sample_text_words();
    const auto said = [&](const char* text) { return read_care_text(words, text); };
    const std::optional<int> six = 18 * 60;
    CHECK(said("no blood until 18:00") == SaidReady{false, "blood", six});
    CHECK(said("No blood till 18h") == SaidReady{false, "blood", six});
    CHECK(said("pas de sang jusqu'à 18h30") == SaidReady{false, "blood", 18 * 60 + 30});
    CHECK(said("hakuna damu hadi saa 18:00") == SaidReady{false, "blood", six});
    CHECK(said("no surgeon") == SaidReady{false, "surgeon", {}});
    CHECK(said("Surgeon is back.") == SaidReady{true, "surgeon", {}});
    CHECK(said("power ready until 06:00") == SaidReady{true, "power", 6 * 60});
    for (const char* other :
         {"no blood until late", "no blood pressure", "blood", "no fits", "no blood, surgeon", "",
          "no blood until 25:00", "no blood until 18:75"}) {
        CAPTURE(other);
        CHECK_FALSE(said(other).has_value());
    }
}

TEST_CASE("What a ward lacks by text counts for recommendations") {
    TextingSample texting;
    CHECK(has(texting.text(hospital_number, "no blood until 18:00"), "blood not ready"));
    CHECK(has(texting.text(hospital_number, "blood back"), "blood ready"));
    CHECK(texting.text(hospital_number, "preg 34w BP 165/112").starts_with("A: "));
}

}  // namespace waybourne::server::test
