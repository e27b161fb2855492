#include "server/messages/said.hpp"

#include <doctest/doctest.h>

#include "referral/referral_code.hpp"

// What people type on plain phones. Our own grammar, no source; digits as in clinical.md, i.1.

namespace waybourne::server::test {

TEST_CASE("A digit is understood however it is typed, with or without a code") {
    for (const char* text : {"1", " 1 ", "1.", "1!", "Reply 1", "reply: 1", "(1)", "\t1\r\n",
                             "Répondez 1", "réponse: 1", "Jibu 1", "kesi: 1"}) {
        CAPTURE(text);
        CHECK(parse_said_text(text) == SaidText{1, {}, {}});
    }
    const std::string code = referral::to_referral_code(12345);
    const std::string in_two = code.substr(0, 4) + "-" + code.substr(4);
    for (const std::string& text :
         {"2 " + code, code + " 2", "case " + code + ": 2", "Reply 2, code " + in_two + "."}) {
        CAPTURE(text);
        CHECK(parse_said_text(text) == SaidText{2, code, {}});
    }
    std::string misread = code;
    misread.back() = misread.back() == 'A' ? 'C' : 'A';
    for (const std::string& text :
         {"2 " + misread, "2 " + code + " and more", std::string{"12"}, std::string{"1 2"},
          std::string{"one"}, std::string{}, std::string{"yes 1 yes"}, code}) {
        CAPTURE(text);
        CHECK(parse_said_text(text) == SaidText{});
    }
}

TEST_CASE("What is longer than two messages, or no text at all, is not understood") {
    CHECK(parse_said_text(std::string(600, '1')) == SaidText{});
    CHECK(parse_said_text(std::string(600, ' ') + "1") == SaidText{});
    CHECK(parse_said_text("\xff\xfe\x00\x01") == SaidText{});
    CHECK(parse_said_text("\xe2\x91\xa0") == SaidText{});  // a digit in a circle
}

TEST_CASE("A ward says what is ready, what is not, and until when") {
    CHECK(parse_said_text("READY surgeon") == SaidText{{}, {}, SaidReady{true, "surgeon", {}}});
    CHECK(parse_said_text("not ready: theatre team until 18:00") ==
          SaidText{{}, {}, SaidReady{false, "theatre_team", 18 * 60}});
    CHECK(parse_said_text("Ready blood_transfusion until 8:05.") ==
          SaidText{{}, {}, SaidReady{true, "blood_transfusion", 8 * 60 + 5}});
    for (const char* text : {"READY", "not ready", "ready until 18:00", "ready x until 25:00",
                             "ready x until 18:61", "ready x until soon", "already surgeon"}) {
        CAPTURE(text);
        CHECK(parse_said_text(text) == SaidText{});
    }
}

}  // namespace waybourne::server::test
