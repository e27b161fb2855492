#pragma once
/// A sentence for a person, before it has a language.

#include <map>
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

/// The texts of one language. Immutable; share it freely between threads.
class Catalogue {
public:
    Catalogue() = default;
    /// @param language a BCP 47 tag such as `en`
    Catalogue(std::string language, std::map<std::string, std::string, std::less<>> texts)
        : language_(std::move(language)), texts_(std::move(texts)) {}

    const std::string& language() const { return language_; }
    const std::map<std::string, std::string, std::less<>>& texts() const { return texts_; }
    bool has(std::string_view id) const { return texts_.find(id) != texts_.end(); }

    /// The text with its placeholders filled. A missing text is shown as its id in brackets,
    /// `[facilities.closed]`: a visible gap, never an empty line. O(length).
    std::string text(const Message& message) const;
    std::string text(std::string_view id) const;

    /// This catalogue with another's texts added.
    /// @throws InputError if a text id stands in both with different words
    Catalogue with(const Catalogue& other) const;

private:
    std::string language_;
    std::map<std::string, std::string, std::less<>> texts_;
};

/// Reads a catalogue file: a JSON object `{"language": "en", "texts": {"id": "words {name}"}}`.
/// @throws InputError with every wrong entry
Catalogue parse_catalogue(std::string_view json);

}  // namespace waybourne
