#pragma once
/// A JSON text as plain values, and a reader that notes every error with its place.

#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "vocabulary/error.hpp"

namespace waybourne::triage {

/// One JSON value. Objects keep their order.
struct TextTree {
    using List = std::vector<TextTree>;
    using Object = std::vector<std::pair<std::string, TextTree>>;
    std::variant<std::monostate, bool, double, std::string, List, Object> value;

    const TextTree* find(std::string_view key) const;
};

/// @throws InputError for text that is not JSON, nests deeper than 40, or names a key twice
TextTree parse_text_tree(std::string_view json);

/// Where a value stands, in words: "a number", "a list" and so on.
std::string kind_in_words(const TextTree& tree);

/// Reads the parts of one tree; every error is noted, and reading goes on with a stand-in.
class TreeReader {
public:
    TreeReader(const TextTree& tree, std::string pointer, std::vector<FieldError>& errors);

    const TextTree& tree() const { return *tree_; }
    const std::string& pointer() const { return pointer_; }
    void refuse(const std::string& detail) const;

    /// Whether the key is there and not null. Marks it as known.
    bool has(std::string_view key);
    /// The part under a key; a missing part is an error, and reads as null.
    TreeReader at(std::string_view key);
    /// The parts of a list; anything else is an error and reads as empty.
    std::vector<TreeReader> items() const;
    /// The keys and parts of an object; anything else is an error and reads as empty.
    std::vector<std::pair<std::string, TreeReader>> entries() const;

    /// The value itself; another type is an error.
    std::string text() const;  ///< not empty
    double number() const;
    bool truth() const;
    bool is_text() const { return std::holds_alternative<std::string>(tree_->value); }
    bool is_list() const { return std::holds_alternative<TextTree::List>(tree_->value); }
    bool is_object() const { return std::holds_alternative<TextTree::Object>(tree_->value); }
    bool is_null() const { return std::holds_alternative<std::monostate>(tree_->value); }

    std::string text_at(std::string_view key) { return at(key).text(); }
    double number_at(std::string_view key) { return at(key).number(); }
    std::vector<std::string> texts_at(std::string_view key);
    bool truth_or_no_at(std::string_view key) { return has(key) && at(key).truth(); }

    /// Notes every key that nobody asked for, with the nearest one that was.
    void refuse_unknown_keys() const;

private:
    TreeReader(const TextTree& tree, std::string pointer, std::vector<FieldError>* errors);

    const TextTree* tree_;
    std::string pointer_;
    /// None for a part that is missing: one error for it is enough.
    std::vector<FieldError>* errors_;
    std::vector<std::string> known_keys_;
};

}  // namespace waybourne::triage
