#pragma once
/// A sentence for a person, before it has a language.

#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

namespace waybourne {

/// The id of a text in the catalogues, and the values for its `{placeholders}`. Rooms answer with
/// messages; the edge turns them into words with a `Catalogue`. Values are already in plain words,
/// digits or names; an `Instant` is given in RFC 3339 and shown in local time by the catalogue.
struct Message {
    std::string id;
    std::vector<std::pair<std::string, std::string>> values = {};
    bool operator==(const Message&) const = default;
};

/// The texts of one language. Immutable; copies share the texts, between threads too.
class Catalogue {
public:
    using Texts = std::map<std::string, std::string, std::less<>>;

    Catalogue() : Catalogue("", {}) {}
    /// @param language a BCP 47 tag such as `en`
    /// @param decimal_sign what stands before the decimals of a number among a message's values
    Catalogue(std::string language, Texts texts, std::string decimal_sign = ".")
        : language_(std::move(language)),
          decimal_sign_(std::move(decimal_sign)),
          texts_(std::make_shared<const Texts>(std::move(texts))) {}

    const std::string& language() const { return language_; }
    const std::string& decimal_sign() const { return decimal_sign_; }
    const Texts& texts() const { return *texts_; }
    bool has(std::string_view id) const { return texts_->find(id) != texts_->end(); }

    /// The text with its placeholders filled. A missing text is shown as its id in brackets,
    /// `[facilities.closed]`: a visible gap, never an empty line. O(length).
    std::string text(const Message& message) const;
    std::string text(std::string_view id) const;

    /// This catalogue with another's texts added.
    /// @throws InputError if a text id stands in both with different words
    Catalogue with(const Catalogue& other) const;

    /// This catalogue, with the other's text wherever this one has none: a sentence in another
    /// language rather than a gap.
    Catalogue over(const Catalogue& below) const;

private:
    std::string language_;
    std::string decimal_sign_;
    std::shared_ptr<const Texts> texts_;
};

/// Reads a catalogue file: a JSON object `{"language": "en", "texts": {"id": "words {name}"}}`,
/// with
/// `"decimal_sign": ","` where a number has a comma. What else it says, e.g. who has reviewed it,
/// is for people.
/// @throws InputError with every wrong entry
Catalogue parse_catalogue(std::string_view json);

}  // namespace waybourne
