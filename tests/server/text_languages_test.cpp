#include <doctest/doctest.h>

#include <array>

#include "referral/referral_code.hpp"
#include "referral/text_message.hpp"
#include "tests/server/has.hpp"
#include "tests/server/texting_sample.hpp"

// Texts are answered in the language that they are written in, and sent in that of the number. The
// French and Swahili words await a licensed reviewer who speaks them.

namespace waybourne::server::test {

namespace {

/// The sample's numbers, all of them in this language.
Keys numbers_in(const std::string& language) {
    auto numbers = sample_numbers().numbers();
    for (Number& number : numbers) {
        number.language = language;
    }
    return Keys{{}, std::move(numbers)};
}

}  // namespace

TEST_CASE("The language of a text is heard in words that stand in one language only") {
    const TextWords words = sample_text_words();
    struct Heard {
        const char* text;
        const char* language;
    };
    const Heard all[] = {
        {"preg 34w BP 165/112 p96 severe headache no fits", "en"},
        {"She gave birth 2 days ago and is bleeding heavily", "en"},
        {"A yes", "en"},
        {"go", "en"},
        {"no blood until 18:00", "en"},
        {"enceinte 34 semaines TA 165/112 pouls 96 mal de tete", "fr"},
        {"ENCEINTE, 34 sem, pas de convulsions", "fr"},
        {"A OUI", "fr"},
        {"b non", "fr"},
        {"A envoyez", "fr"},
        {"pas de sang jusqu'à 18:00", "fr"},
        {"mjamzito wiki 34 BP 165/112 mapigo 96 kichwa kinauma hana degedege", "sw"},
        {"A ndiyo", "sw"},
        {"hapana", "sw"},
        {"peleka a", "sw"},
        // nothing that stands in one language only, or as much of one as of another
        {"", ""},
        {"1", ""},
        {"7K3M9HXA 1", ""},
        {"165/112 96", ""},
        {"postpartum convulsions", ""},
        {"oui yes", ""},
        {"a", ""},
        {"?!", ""},
    };
    for (const Heard& one : all) {
        CAPTURE(one.text);
        CHECK(words.language_of(one.text) == one.language);
    }
}

TEST_CASE("A woman is described in French or Swahili, and the answer comes in the same words") {
    TextingSample texting;
    const std::string french =
        texting.text(clinic_number, "enceinte 34 semaines TA 165/112 pouls 96 mal de tete");
    CAPTURE(french);
    CHECK(french.starts_with("A: emmenez-la "));
    CHECK(has(french, "Appelez d'abord +999"));
    CHECK(has(french, "protocole local d'abord"));
    CHECK(has(french, "Répondez A OUI ou A NON"));
    CHECK(referral::text_message_characters(french).value() <= referral::two_text_messages_length);
    const std::string swahili =
        texting.text(clinic_number, "mjamzito wiki 34 BP 165/112 mapigo 96 kichwa kinauma");
    CAPTURE(swahili);
    CHECK(swahili.starts_with("B: mpeleke "));
    CHECK(has(swahili, "Kwanza pigia +999"));
    CHECK(has(swahili, "Jibu B NDIYO au B HAPANA"));
    CHECK(referral::text_message_characters(swahili).value() <= referral::two_text_messages_length);
    // the talk goes on in the words of each reply, and the referral is opened once
    CHECK(texting.text(clinic_number, "A non").starts_with("A: emmenez-la "));
    CHECK(texting.text(clinic_number, "B hapana").starts_with("B: mpeleke "));
    const std::string opened = texting.text(clinic_number, "A envoyez");
    CHECK(has(opened, "Ensuite: 1 départ avec elle"));
}

TEST_CASE("What was understood is said in the language of the answer") {
    TextingSample texting;
    const std::string answer =
        texting.text(clinic_number, "enceinte, pas de convulsions, pouls 88, TA 118/76");
    CAPTURE(answer);
    CHECK(has(answer, "118/76, pouls 88"));
    CHECK(has(answer, "pas de convulsions"));
    CHECK_FALSE(has(answer, "pulse"));
    CHECK_FALSE(has(answer, "status"));
}

TEST_CASE("A number that was registered with a language is texted in it") {
    for (const std::array<const char*, 4>& words : {
             std::array{"en", "ORDER. Case ", "fetch woman at", "Noted "},
             std::array{"fr", "ORDRE. Cas ", "allez chercher la femme", "Noté "},
             std::array{"sw", "AGIZO. Kesi ", "mchukue mwanamke", "Imeandikwa "},
         }) {
        const std::string language = words[0];
        CAPTURE(language);
        TextingSample texting{{}, {}, numbers_in(language)};
        const std::string code = texting.open_with_vehicle();
        texting.outbox().work();
        const auto orders = texting.gateway().texts_to(driver_number);
        REQUIRE(orders.size() == 1);
        CHECK(orders[0].starts_with(words[1] + code));
        CHECK(has(orders[0], words[2]));
        CHECK(texting.gateway().texts_to(hospital_number).size() == 1);
        // a digit shows no language: that of the number
        CHECK(texting.text(driver_number, "5").starts_with(words[3]));
        // an order that has ended is told in it too
        texting.sample().tell(code, R"({"step": "vehicle_assigned", "vehicle": "vehicle-4"})");
        texting.outbox().work();
        const auto after = texting.gateway().texts_to(driver_number);
        REQUIRE(after.size() == 2);
        CHECK(after[1].starts_with(language == "en"   ? "Case " + code + ": this order has ended"
                                   : language == "fr" ? "Cas " + code + ": cet ordre est"
                                                      : "Kesi " + code + ": agizo hili"));
    }
}

TEST_CASE("The words of a text come before the language of its number") {
    TextingSample texting{{}, {}, numbers_in("fr")};
    CHECK(texting.text(clinic_number, "hello?").starts_with("Not understood"));
    CHECK(texting.text(clinic_number, "zzz").starts_with("Pas compris"));
    CHECK(texting.text(clinic_number, "habari").starts_with("Haikueleweka"));
}

TEST_CASE("The letters of a code are no words of another language") {
    TextingSample texting;
    const TextWords words = sample_text_words();
    const auto speaks_french = [&](const std::string& code) {
        return words.language_of("5 " + code) == "fr";  // such as `TA`, tension artérielle
    };
    std::uint64_t number = 0;
    while (!speaks_french(referral::to_referral_code(number))) {
        ++number;
    }
    const std::string code = referral::to_referral_code(number);
    CHECK(has(texting.text(driver_number, "5 " + code), "There is no open case " + code));
}

TEST_CASE("A stranger is answered in the words of the text") {
    TextingSample texting;
    CHECK(texting.text(stranger_number, "bonjour").starts_with("Ce numéro"));
    CHECK(texting.text(stranger_number, "habari").starts_with("Namba hii"));
    CHECK(texting.text(stranger_number, "1").starts_with("This number"));
}

}  // namespace waybourne::server::test
