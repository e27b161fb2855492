#include "server/messages/text_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>

#include "server/json/value.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/nearest_name.hpp"
#include "vocabulary/small_letters.hpp"

namespace waybourne::server {

namespace {

bool is_digit(char letter) {
    return letter >= '0' && letter <= '9';
}

/// Letters of the three languages, and those that phones put in their place, without accents.
constexpr std::array<std::pair<std::string_view, char>, 36> accented{{
    {"à", 'a'}, {"á", 'a'}, {"â", 'a'}, {"ä", 'a'}, {"ã", 'a'}, {"À", 'a'}, {"Á", 'a'}, {"Â", 'a'},
    {"ç", 'c'}, {"Ç", 'c'}, {"è", 'e'}, {"é", 'e'}, {"ê", 'e'}, {"ë", 'e'}, {"È", 'e'}, {"É", 'e'},
    {"Ê", 'e'}, {"Ë", 'e'}, {"ì", 'i'}, {"í", 'i'}, {"î", 'i'}, {"ï", 'i'}, {"Î", 'i'}, {"ñ", 'n'},
    {"ò", 'o'}, {"ó", 'o'}, {"ô", 'o'}, {"ö", 'o'}, {"Ô", 'o'}, {"ù", 'u'}, {"ú", 'u'}, {"û", 'u'},
    {"ü", 'u'}, {"Ù", 'u'}, {"Û", 'u'}, {"°", ' '},
}};

/// Takes a plain text apart.
class Tokenizer {
public:
    explicit Tokenizer(std::string_view text) : text_(text) {}

    std::vector<TextToken> run() {
        while (at_ < text_.size()) {
            take_next();
        }
        return std::move(tokens_);
    }

private:
    char letter(std::size_t ahead = 0) const {
        return at_ + ahead < text_.size() ? text_[at_ + ahead] : ' ';
    }
    bool is_letter() const { return letter() >= 'a' && letter() <= 'z'; }

    void take_next() {
        if (is_letter()) {
            take_run(TextTokenKind::word, [&] { return is_letter(); });
        } else if (is_digit(letter())) {
            take_number();
        } else if (letter() == '+') {
            take_run(TextTokenKind::plus, [&] { return letter() == '+'; });
        } else {
            take_sign();
        }
    }

    template <typename Belongs>
    void take_run(TextTokenKind kind, const Belongs& belongs) {
        const std::size_t begin = at_;
        while (at_ < text_.size() && belongs()) {
            ++at_;
        }
        tokens_.push_back({kind, std::string{text_.substr(begin, at_ - begin)}});
    }

    void take_number() {
        const bool follows_slash = !tokens_.empty() && tokens_.back().kind == TextTokenKind::slash;
        take_run(TextTokenKind::number, [&] { return is_digit(letter()); });
        const bool is_decimal = letter() == '.' || (letter() == ',' && !follows_slash);
        if (is_decimal && is_digit(letter(1))) {
            ++at_;
            std::string& number = tokens_.back().text;
            number += '.';
            while (is_digit(letter())) {
                number += letter();
                ++at_;
            }
        }
    }

    /// `B.P. 165`, `p. 96`
    bool is_of_an_initial() const {
        const auto is_letter_at = [&](std::size_t at) {
            return at < text_.size() && text_[at] >= 'a' && text_[at] <= 'z';
        };
        const bool is_behind_one =
            at_ > 0 && is_letter_at(at_ - 1) && (at_ == 1 || !is_letter_at(at_ - 2));
        const std::size_t next = std::min(text_.find_first_not_of(' ', at_ + 1), text_.size());
        const bool is_before_number = next < text_.size() && is_digit(text_[next]);
        return is_behind_one &&
               (is_before_number || (is_letter_at(at_ + 1) && !is_letter_at(at_ + 2)));
    }

    void take_sign() {
        const bool is_between_numbers =
            !tokens_.empty() && at_ > 0 && is_digit(text_[at_ - 1]) && is_digit(letter(1));
        switch (letter()) {
            case '/':
                tokens_.push_back({TextTokenKind::slash, "/"});
                break;
            case '-':
                if (is_between_numbers) {
                    tokens_.push_back({TextTokenKind::slash, "/"});
                }
                break;
            case ':':
            case '=':
                tokens_.push_back({TextTokenKind::is, ":"});
                break;
            case '?':
                tokens_.push_back({TextTokenKind::question, "?"});
                break;
            case '.':
                if (!is_of_an_initial()) {
                    tokens_.push_back({TextTokenKind::stop, "."});
                }
                break;
            case ',':
            case ';':
            case '!':
            case '\n':
                tokens_.push_back({TextTokenKind::stop, "."});
                break;
            default:
                break;
        }
        ++at_;
    }

    std::string_view text_;
    std::size_t at_ = 0;
    std::vector<TextToken> tokens_;
};

/// What parts two words of one phrase.
bool is_joint(const TextToken& token) {
    return token.kind == TextTokenKind::is || token.kind == TextTokenKind::slash;
}

std::string phrase_of(std::span<const TextToken> tokens) {
    std::string phrase;
    for (const TextToken& token : tokens) {
        if (is_joint(token)) {
            continue;
        }
        phrase += (phrase.empty() ? "" : " ") + token.text;
    }
    return phrase;
}

[[noreturn]] void refuse(const std::string& what) {
    throw DataError("text_words.json: " + what);
}

const JsonValue& member(const JsonValue& value, const char* name) {
    const JsonValue* found = value.find(name);
    if (found == nullptr) {
        refuse(std::string{name} + " is missing");
    }
    return *found;
}

template <typename Value>
Value named(const std::string& name,
            std::initializer_list<std::pair<std::string_view, Value>> names) {
    for (const auto& [known, value] : names) {
        if (known == name) {
            return value;
        }
    }
    refuse("'" + name + "' is none of the names that may stand there");
}

/// Reads the file.
class Reader {
public:
    Reader(const triage::Protocol& protocol,
           std::map<std::string, PhraseMeaning, std::less<>>& phrases,
           std::map<std::string, std::set<std::string>, std::less<>>& languages,
           std::vector<std::string>& not_in_protocol)
        : protocol_(protocol),
          phrases_(phrases),
          languages_(languages),
          not_in_protocol_(not_in_protocol) {}

    void read(const JsonValue& file) {
        for (const auto& [name, language] : member(file, "languages").members()) {
            language_ = name;
            each(language, "words", [](PhraseMeaning& phrase, const std::string& use) {
                phrase.use = named<WordUse>(use, {{"yes", WordUse::yes},
                                                  {"no", WordUse::no},
                                                  {"unknown", WordUse::unknown},
                                                  {"also_no", WordUse::also_no},
                                                  {"filler", WordUse::filler},
                                                  {"ready", WordUse::ready},
                                                  {"go", WordUse::go}});
            });
            each(language, "units", [](PhraseMeaning& phrase, const std::string& unit) {
                phrase.unit = named<TimeUnit>(unit, {{"minutes", TimeUnit::minutes},
                                                     {"hours", TimeUnit::hours},
                                                     {"days", TimeUnit::days},
                                                     {"weeks", TimeUnit::weeks}});
            });
            each(language, "numbers", [&](PhraseMeaning& phrase, const std::string& field) {
                add_numeric(phrase.numbers, field);
            });
            each(language, "after_number", [&](PhraseMeaning& phrase, const std::string& field) {
                add_numeric(phrase.after_number, field);
            });
            each(language, "means", [](PhraseMeaning& phrase, const std::string& means) {
                phrase.means = named<routing::Means>(
                    means, {{"on_foot", routing::Means::on_foot},
                            {"motorcycle", routing::Means::motorcycle},
                            {"car", routing::Means::car},
                            {"four_wheel_drive", routing::Means::four_wheel_drive}});
            });
            read_facts(member(language, "choices"));
            read_facts(member(language, "signs"));
            each(language, "care",
                 [](PhraseMeaning& phrase, const std::string& care) { phrase.care = care; });
            for (const JsonValue& phrase : member(language, "until").items()) {
                at(phrase).use = WordUse::until;
            }
            for (const JsonValue& phrase : member(language, "pressure").items()) {
                at(phrase).is_pressure = true;
            }
            for (const JsonValue& phrase : member(language, "unclear").items()) {
                at(phrase).is_unclear = true;
            }
        }
        check();
    }

private:
    PhraseMeaning& at(const JsonValue& phrase) {
        const auto tokens = text_tokens(phrase.text());
        if (tokens.empty()) {
            refuse("a phrase is empty");
        }
        const std::string words = phrase_of(tokens);
        languages_[words].insert(language_);
        return phrases_[words];
    }

    template <typename Put>
    void each(const JsonValue& language, const char* part, const Put& put) {
        for (const auto& [name, phrases] : member(language, part).members()) {
            for (const JsonValue& phrase : phrases.items()) {
                put(at(phrase), name);
            }
        }
    }

    void read_facts(const JsonValue& fields) {
        for (const auto& [field, answers] : fields.members()) {
            for (const auto& [answer, phrases] : answers.members()) {
                if (!has_answer(field, answer)) {
                    not_in_protocol_.push_back(fmt::format("{} {}", field, answer));
                    continue;
                }
                for (const JsonValue& phrase : phrases.items()) {
                    add(at(phrase).facts, TextFact{field, answer});
                }
            }
        }
    }

    template <typename Value>
    static void add(std::vector<Value>& values, const Value& value) {
        if (std::find(values.begin(), values.end(), value) == values.end()) {
            values.push_back(value);
        }
    }

    void add_numeric(std::vector<std::string>& fields, const std::string& name) {
        const auto found = protocol_.find_field(name);
        const bool is_numeric =
            found && (protocol_.fields[*found].type == triage::FieldType::number ||
                      protocol_.fields[*found].type == triage::FieldType::step);
        if (is_numeric) {
            add(fields, name);
        } else {
            add(not_in_protocol_, name);
        }
    }

    bool has_answer(const std::string& name, const std::string& answer) const {
        const auto found = protocol_.find_field(name);
        if (!found) {
            return false;
        }
        const auto& choices = protocol_.fields[*found].choices;
        return std::find(choices.begin(), choices.end(), answer) != choices.end();
    }

    /// A phrase may state several facts, but not two about one field; and a word that says yes or
    /// no states none.
    void check() const {
        for (const auto& [phrase, meaning] : phrases_) {
            std::set<std::string> fields;
            for (const TextFact& fact : meaning.facts) {
                if (!fields.insert(fact.first).second) {
                    refuse("'" + phrase + "' means two answers to " + fact.first);
                }
            }
            if (meaning.use != WordUse::none && !meaning.facts.empty()) {
                refuse("'" + phrase + "' is both a fact and a word of its own");
            }
        }
    }

    const triage::Protocol& protocol_;
    std::map<std::string, PhraseMeaning, std::less<>>& phrases_;
    std::map<std::string, std::set<std::string>, std::less<>>& languages_;
    std::vector<std::string>& not_in_protocol_;
    std::string language_;  ///< being read
};

}  // namespace

std::string plain_text(std::string_view text) {
    std::string plain;
    for (std::size_t at = 0; at < text.size();) {
        const char letter = text[at];
        if (static_cast<unsigned char>(letter) < 0x80U) {
            plain += small_letter(letter);
            ++at;
            continue;
        }
        const auto* known = std::find_if(accented.begin(), accented.end(), [&](const auto& one) {
            return text.substr(at).starts_with(one.first);
        });
        plain += known == accented.end() ? ' ' : known->second;
        at += known == accented.end() ? 1 : known->first.size();
    }
    return plain;
}

std::vector<TextToken> text_tokens(std::string_view text) {
    const std::string plain = plain_text(text);
    return Tokenizer{plain}.run();
}

TextWords::TextWords(std::string_view json, const triage::Protocol& protocol) {
    JsonValue file;
    try {
        file = parse_json(json);
    } catch (const InputError& error) {
        refuse(error.what());
    }
    Reader{protocol, phrases_, languages_, not_in_protocol_}.read(file);
    for (const auto& [phrase, meaning] : phrases_) {
        longest_ = std::max(longest_, text_tokens(phrase).size());
    }
}

std::optional<std::pair<std::size_t, const PhraseMeaning*>> TextWords::find(
    std::span<const TextToken> tokens) const {
    for (std::size_t length = std::min(longest_ + 1, tokens.size()); length > 0; --length) {
        if (is_joint(tokens[0]) || is_joint(tokens[length - 1])) {
            continue;
        }
        const auto found = phrases_.find(phrase_of(tokens.first(length)));
        if (found != phrases_.end()) {
            return std::pair{length, &found->second};
        }
    }
    return std::nullopt;
}

std::string TextWords::language_of(std::string_view text) const {
    const auto tokens = text_tokens(text);
    std::map<std::string, std::size_t> words_in;
    for (std::size_t at = 0; at < tokens.size();) {
        const auto rest = std::span{tokens}.subspan(at);
        const auto found = find(rest);
        const std::size_t length = found ? found->first : 1;
        const std::string phrase = phrase_of(rest.first(length));
        const auto known = languages_.find(phrase);
        if (found && phrase.size() > 1 && known->second.size() == 1) {
            words_in[*known->second.begin()] += length;
        }
        at += length;
    }
    std::size_t most = 0;
    std::string language;
    for (const auto& [name, words] : words_in) {
        if (words >= most) {
            language = words == most ? "" : name;
            most = words;
        }
    }
    return language;
}

const PhraseMeaning* TextWords::find_near(std::string_view word) const {
    constexpr std::size_t shortest = 5;
    constexpr std::size_t long_word = 9;
    constexpr std::size_t longest_word = 24;
    if (word.size() < shortest || word.size() > longest_word) {
        return nullptr;
    }
    std::size_t best = word.size() < long_word ? 1 : 2;
    const PhraseMeaning* found = nullptr;
    bool is_unsure = false;
    for (const auto& [phrase, meaning] : phrases_) {
        const std::size_t longer = std::max(phrase.size(), word.size());
        const std::size_t shorter = std::min(phrase.size(), word.size());
        if (meaning.use != WordUse::none || phrase.size() < shortest || longer - shorter > best) {
            continue;
        }
        const std::size_t distance = edit_distance(word, phrase);
        if (distance > best) {
            continue;
        }
        is_unsure = distance == best && found != nullptr && (is_unsure || !(*found == meaning));
        if (distance < best || found == nullptr) {
            found = &meaning;
        }
        best = distance;
    }
    return is_unsure ? nullptr : found;
}

}  // namespace waybourne::server
