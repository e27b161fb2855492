#include "server/messages/findings_text.hpp"

#include <doctest/doctest.h>

#include <algorithm>

#include "server/json/writer.hpp"
#include "tests/server/findings_text_cases.hpp"
#include "tests/server/texting_sample.hpp"
#include "vocabulary/error.hpp"

// What a text about a woman says. The fields and answers are those of the protocol; that what is
// read leads to the right care is for the triage tests to show.

namespace waybourne::server::test {

namespace {

std::string in_one_line(const TextedFindings& read) {
    std::string line;
    const auto add = [&](const std::string& piece) { line += (line.empty() ? "" : " ") + piece; };
    const auto text = [](const std::optional<int>& number) {
        return number ? std::to_string(*number) : std::string{"-"};
    };
    for (const triage::Reading& reading : read.findings.readings) {
        if (reading.systolic || reading.diastolic) {
            add(text(reading.systolic) + "/" + text(reading.diastolic));
        }
        if (reading.pulse) {
            add("pulse=" + text(reading.pulse));
        }
    }
    std::vector<std::string> facts;
    for (const auto& [field, value] : read.findings.values) {
        if (const auto* answer = std::get_if<triage::Answer>(&value)) {
            facts.push_back(field + (*answer == triage::Answer::yes ? "=yes" : "=no"));
        } else if (const auto* number = std::get_if<double>(&value)) {
            facts.push_back(field + "=" + JsonWriter{}.value(*number, 2).take());
        } else {
            facts.push_back(field + "=" + std::get<std::string>(value));
        }
    }
    std::sort(facts.begin(), facts.end());
    for (const std::string& fact : facts) {
        add(fact);
    }
    if (read.means) {
        add("by=" + routing::to_name(*read.means));
    }
    for (const std::string& piece : read.not_understood) {
        add("?" + piece);
    }
    return line;
}

std::vector<std::string> pieces_of(std::string_view line) {
    std::vector<std::string> pieces;
    std::string piece;
    for (const char letter : line) {
        if (letter == ' ' && !piece.starts_with('?')) {
            pieces.push_back(std::exchange(piece, {}));
        } else if (letter == '?' && !piece.empty()) {
            piece.pop_back();
            pieces.push_back(std::exchange(piece, "?"));
        } else {
            piece += letter;
        }
    }
    pieces.push_back(piece);
    std::erase(pieces, "");
    std::sort(pieces.begin(), pieces.end());
    return pieces;
}

std::string read(std::string_view text) {
    static const TextWords words = sample_text_words();
    return in_one_line(read_texted_findings(words, sample_snapshot()->protocol, text,
                                            parse_rfc3339("2026-03-04T09:40:00Z")));
}

}  // namespace

TEST_CASE("Every message of the table says what a health worker means by it") {
    CHECK(texted_cases.size() >= 300);
    for (const TextedCase& one : texted_cases) {
        CAPTURE(one.text);
        CHECK(pieces_of(read(one.text)) == pieces_of(one.says));
    }
}

TEST_CASE("The order of what is written does not matter") {
    const std::vector<std::string> pieces{"preg 34w", "BP 165/112", "p 96",  "severe headache",
                                          "no fits",  "prot 2+",    "T 37,8"};
    std::vector<std::size_t> order{0, 1, 2, 3, 4, 5, 6};
    const auto expected = pieces_of(
        "165/112 pulse=96 convulsions=no gestation_weeks=34 severe_headache=yes status=pregnant "
        "temp_c=37.8 urine_protein=2");
    int orders = 0;
    do {
        std::string text;
        for (const std::size_t i : order) {
            text += pieces[i] + ", ";
        }
        CAPTURE(text);
        CHECK(pieces_of(read(text)) == expected);
        ++orders;
    } while (std::next_permutation(order.begin(), order.end()));
    CHECK(orders == 5'040);
}

TEST_CASE("No sign is ever read as absent without a word that says no") {
    const TextWords words = sample_text_words();
    int phrases = 0;
    for (const auto& entry : words.phrases()) {
        const std::string& phrase = entry.first;
        const PhraseMeaning& meaning = entry.second;
        const auto protocol = sample_snapshot();
        for (const TextFact& fact : meaning.facts) {
            if (fact.second != "yes") {
                continue;
            }
            CAPTURE(phrase);
            // whatever stands before and behind it
            for (const std::string& text :
                 {phrase, "zzz " + phrase + " zzz", "no zzz " + phrase, "12 " + phrase,
                  phrase + " 12/12", "BP 120/80 " + phrase + " BP 120/80"}) {
                const auto said = read_texted_findings(words, protocol->protocol, text, {});
                const auto found = said.findings.values.find(fact.first);
                const bool is_no = found != said.findings.values.end() &&
                                   found->second == triage::FindingValue{triage::Answer::no};
                CHECK_FALSE(is_no);
            }
            ++phrases;
        }
    }
    MESSAGE(phrases << " phrases");
    CHECK(phrases > 300);
}

TEST_CASE("Every word of the list is about something that the protocol knows") {
    CHECK(sample_text_words().not_in_protocol().empty());
}

TEST_CASE("A list of words that says two things at once is refused") {
    const triage::Protocol& protocol = sample_snapshot()->protocol;
    const auto list = [](const std::string& signs) {
        return R"({"form": 1, "languages": {"en": {"words": {"no": ["no"]}, "units": {},
                   "numbers": {}, "after_number": {}, "means": {}, "choices": {}, "until": [],
                   "care": {}, "pressure": [], "unclear": [], "signs": )" +
               signs + "}}}";
    };
    CHECK_NOTHROW(TextWords(list(R"({"convulsions": {"yes": ["fits"]}})"), protocol));
    for (const char* wrong :
         {R"({"convulsions": {"yes": ["fits"], "no": ["Fits"]}})",
          R"({"convulsions": {"yes": ["no"]}})", R"({"convulsions": {"yes": [""]}})"}) {
        CAPTURE(wrong);
        CHECK_THROWS_AS(TextWords(list(wrong), protocol), DataError);
    }
    CHECK_THROWS_AS(TextWords("{", protocol), DataError);
    CHECK_THROWS_AS(TextWords("{}", protocol), DataError);
    CHECK(TextWords(list(R"({"hiccups": {"yes": ["hic"]}})"), protocol).not_in_protocol() ==
          std::vector<std::string>{"hiccups yes"});
}

}  // namespace waybourne::server::test
