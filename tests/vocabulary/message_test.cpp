#include "vocabulary/message.hpp"

#include <doctest/doctest.h>

#include "vocabulary/error.hpp"

using namespace waybourne;

TEST_CASE("A message becomes words with its values filled in") {
    const Catalogue english{"en", {{"closed", "closed until {when}, call {phone} before {when}"}}};
    CHECK(english.text(Message{"closed", {{"when", "07:00"}, {"phone", "+999 1"}}}) ==
          "closed until 07:00, call +999 1 before 07:00");
}

TEST_CASE("A missing text or value leaves a visible gap, never an empty line") {
    const Catalogue english{"en", {{"closed", "closed until {when}"}, {"odd", "a { b"}}};
    CHECK(english.text("nobody.wrote.this") == "[nobody.wrote.this]");
    CHECK(english.text(Message{"closed"}) == "closed until {when}");
    CHECK(english.text("odd") == "a { b");
}

TEST_CASE("A value that looks like a placeholder is not filled a second time") {
    const Catalogue english{"en", {{"name", "{place}"}}};
    CHECK(english.text(Message{"name", {{"place", "{place}"}}}) == "{place}");
}

TEST_CASE("Two catalogues join unless they give one id different words") {
    const Catalogue one{"en", {{"a", "alpha"}, {"b", "beta"}}};
    const Catalogue both = one.with(Catalogue{"en", {{"b", "beta"}, {"c", "gamma"}}});
    CHECK(both.texts().size() == 3);
    CHECK_THROWS_AS(one.with(Catalogue{"en", {{"a", "other"}}}), InputError);
}

TEST_CASE("What a language does not say is said in the one below it") {
    const Catalogue french{"fr", {{"a", "alpha"}}};
    const Catalogue both = french.over(Catalogue{"en", {{"a", "first"}, {"b", "second"}}});
    CHECK(both.language() == "fr");
    CHECK(both.text("a") == "alpha");
    CHECK(both.text("b") == "second");
}

TEST_CASE("Decimals stand behind the sign of the language, and nothing else changes") {
    const Catalogue french =
        parse_catalogue(R"({"language": "fr", "decimal_sign": ",", "texts": {"is": "= {value}"}})");
    const auto shown = [&](const char* value) {
        return french.text(Message{"is", {{"value", value}}});
    };
    CHECK(shown("38.5") == "= 38,5");
    CHECK(shown("120") == "= 120");
    for (const char* other : {"1.2.3", ".5", "5.", "2026-03-04", "v1.5", "38.5 °C", ""}) {
        CHECK(shown(other) == "= " + std::string(other));
    }
    CHECK(Catalogue{"en", {{"is", "= {value}"}}}.text(Message{"is", {{"value", "38.5"}}}) ==
          "= 38.5");
    CHECK_THROWS_AS(parse_catalogue(R"({"language": "fr", "decimal_sign": ";", "texts": {}})"),
                    InputError);
    CHECK_THROWS_AS(parse_catalogue(R"({"language": "fr", "decimal_sign": 1, "texts": {}})"),
                    InputError);
}

TEST_CASE("A catalogue file is read, and every wrong entry is named at once") {
    CHECK(parse_catalogue(R"({"language": "sw", "texts": {"yes": "ndiyo"}})").text("yes") ==
          "ndiyo");
    CHECK_THROWS_AS(parse_catalogue("{"), InputError);
    CHECK_THROWS_AS(parse_catalogue(R"({"texts": {}})"), InputError);
    try {
        parse_catalogue(R"({"language": "en", "texts": {"a": 1, "b": "fine", "c": ""}})");
        FAIL("was accepted");
    } catch (const InputError& error) {
        REQUIRE(error.fields().size() == 2);
        CHECK(error.fields()[0] == FieldError{"#/texts/a", "is not a text"});
        CHECK(error.fields()[1] == FieldError{"#/texts/c", "is not a text"});
    }
}
