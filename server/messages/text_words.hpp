#pragma once
/// The words that people write in text messages, and what each of them says.
///
/// They stand in `text_words.json`, language by language, so that somebody who speaks one can read
/// and mend it without reading code.

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "routing/route.hpp"
#include "triage/protocol.hpp"

namespace waybourne::server {

enum class TextTokenKind : std::uint8_t { word, number, slash, plus, is, question, stop };

/// The smallest piece of a text.
struct TextToken {
    TextTokenKind kind = TextTokenKind::stop;
    /// Words: small ASCII letters, accents left out. Numbers: as written, with a point. A run of
    /// `+`: as many.
    std::string text;
    bool operator==(const TextToken&) const = default;
};

/// Small ASCII letters, without accents; what is neither becomes a space. O(length).
std::string plain_text(std::string_view text);

/// Words and numbers part where letters meet digits: `p96` is two. A comma or point between digits
/// is the decimal sign, but not after a slash (`160/110,96`). Whatever stands in no alphabet parts
/// words. O(length).
std::vector<TextToken> text_tokens(std::string_view text);

enum class TimeUnit : std::uint8_t { minutes, hours, days, weeks };

/// What a word says by itself, whatever stands around it.
enum class WordUse : std::uint8_t {
    none,
    yes,
    no,
    unknown,
    also_no,  ///< carries a "no" on to what follows: `no fits or headache`
    filler,   ///< says nothing
    ready,    ///< of a place: `blood back`
    until,
    go,  ///< open the referral that was proposed
};

/// A fact that a phrase states: the wire name of a field and of its answer.
using TextFact = std::pair<std::string, std::string>;

/// What one phrase can mean. It can mean several things at once: `labour 14 h` says that she is in
/// labour, and for how long.
struct PhraseMeaning {
    WordUse use = WordUse::none;
    std::vector<TextFact> facts = {};
    std::vector<std::string> numbers = {};       ///< fields whose number may stand after it
    std::vector<std::string> after_number = {};  ///< fields whose number may stand before it
    std::optional<TimeUnit> unit = {};
    std::optional<routing::Means> means = {};
    /// What a place may lack: the name of a resource, or `place` for all of it.
    std::optional<std::string> care = {};
    bool is_pressure = false;
    /// Known, but it could mean different things: it is said back with a question.
    bool is_unclear = false;
    bool operator==(const PhraseMeaning&) const = default;
};

/// All phrases of all languages. Immutable.
class TextWords {
public:
    /// @throws DataError naming the phrase for two meanings that cannot both hold
    TextWords(std::string_view json, const triage::Protocol& protocol);

    /// The longest phrase that begins there: how many tokens it takes, and what it means. None: no
    /// phrase begins there. A colon or slash within it does not matter. O(words of the longest
    /// phrase × log phrases).
    std::optional<std::pair<std::size_t, const PhraseMeaning*>> find(
        std::span<const TextToken> tokens) const;

    /// What a misspelt word was meant to be: the one known word of one slip (two from nine letters
    /// on) when all words so near mean the same. Words below five letters, and those that say yes
    /// or no, are taken as they are. O(phrases × length²).
    const PhraseMeaning* find_near(std::string_view word) const;

    /// The language that a text is written in, e.g. `fr`: the one with more words than any other
    /// has in phrases that stand in one language only. Empty: none has. Single letters say nothing
    /// of it. O(words × log phrases).
    std::string language_of(std::string_view text) const;

    const std::map<std::string, PhraseMeaning, std::less<>>& phrases() const { return phrases_; }
    /// Fields and answers of the file that the protocol does not have: what is said of them is not
    /// understood.
    const std::vector<std::string>& not_in_protocol() const { return not_in_protocol_; }

private:
    std::vector<std::string> not_in_protocol_;
    std::map<std::string, PhraseMeaning, std::less<>> phrases_;
    /// In which languages each phrase stands.
    std::map<std::string, std::set<std::string>, std::less<>> languages_;
    std::size_t longest_ = 0;
};

}  // namespace waybourne::server
