#include "triage/internal/text_tree.hpp"

#include <algorithm>
#include <array>

#include "vocabulary/nearest_name.hpp"

namespace waybourne::triage {

namespace {

const TextTree nothing;

/// As a part of a JSON pointer (RFC 6901, section 3).
std::string escaped(std::string_view key) {
    std::string words;
    for (const char c : key) {
        words += c == '~' ? std::string("~0") : c == '/' ? std::string("~1") : std::string(1, c);
    }
    return words;
}

}  // namespace

const TextTree* TextTree::find(std::string_view key) const {
    if (const auto* object = std::get_if<Object>(&value)) {
        for (const auto& [name, tree] : *object) {
            if (name == key) {
                return &tree;
            }
        }
    }
    return nullptr;
}

std::string kind_in_words(const TextTree& tree) {
    constexpr std::array<const char*, 6> names{"nothing", "true or false", "a number",
                                               "a text",  "a list",        "an object"};
    return names.at(tree.value.index());
}

TreeReader::TreeReader(const TextTree& tree, std::string pointer, std::vector<FieldError>& errors)
    : TreeReader(tree, std::move(pointer), &errors) {}

TreeReader::TreeReader(const TextTree& tree, std::string pointer, std::vector<FieldError>* errors)
    : tree_(&tree), pointer_(std::move(pointer)), errors_(errors) {}

void TreeReader::refuse(const std::string& detail) const {
    if (errors_ != nullptr) {
        errors_->push_back({pointer_, detail});
    }
}

bool TreeReader::has(std::string_view key) {
    known_keys_.emplace_back(key);
    const TextTree* part = tree_->find(key);
    return part != nullptr && !std::holds_alternative<std::monostate>(part->value);
}

TreeReader TreeReader::at(std::string_view key) {
    known_keys_.emplace_back(key);
    const std::string pointer = pointer_ + "/" + escaped(key);
    const TextTree* part = tree_->find(key);
    if (part == nullptr) {
        TreeReader missing{nothing, pointer, errors_};
        if (is_object()) {  // else the whole is wrong, and is told once
            missing.refuse("is missing");
        }
        missing.errors_ = nullptr;
        return missing;
    }
    return {*part, pointer, errors_};
}

std::vector<TreeReader> TreeReader::items() const {
    std::vector<TreeReader> readers;
    const auto* list = std::get_if<TextTree::List>(&tree_->value);
    if (list == nullptr) {
        refuse("is " + kind_in_words(*tree_) + " where a list is expected");
        return readers;
    }
    for (std::size_t i = 0; i < list->size(); ++i) {
        readers.push_back({(*list)[i], pointer_ + "/" + std::to_string(i), errors_});
    }
    return readers;
}

std::vector<std::pair<std::string, TreeReader>> TreeReader::entries() const {
    std::vector<std::pair<std::string, TreeReader>> readers;
    const auto* object = std::get_if<TextTree::Object>(&tree_->value);
    if (object == nullptr) {
        refuse("is " + kind_in_words(*tree_) + " where an object is expected");
        return readers;
    }
    for (const auto& [key, tree] : *object) {
        readers.emplace_back(key, TreeReader{tree, pointer_ + "/" + escaped(key), errors_});
    }
    return readers;
}

std::string TreeReader::text() const {
    const auto* text = std::get_if<std::string>(&tree_->value);
    if (text == nullptr || text->empty()) {
        refuse("is " + (text ? "an empty text" : kind_in_words(*tree_)) +
               " where a text is expected");
        return {};
    }
    return *text;
}

double TreeReader::number() const {
    const auto* number = std::get_if<double>(&tree_->value);
    if (number == nullptr) {
        refuse("is " + kind_in_words(*tree_) + " where a number is expected");
        return 0;
    }
    return *number;
}

bool TreeReader::truth() const {
    const auto* truth = std::get_if<bool>(&tree_->value);
    if (truth == nullptr) {
        refuse("is " + kind_in_words(*tree_) + " where true or false is expected");
        return false;
    }
    return *truth;
}

std::vector<std::string> TreeReader::texts_at(std::string_view key) {
    std::vector<std::string> texts;
    for (const TreeReader& item : at(key).items()) {
        texts.push_back(item.text());
    }
    return texts;
}

void TreeReader::refuse_unknown_keys() const {
    for (const auto& [key, reader] : entries()) {
        if (std::find(known_keys_.begin(), known_keys_.end(), key) != known_keys_.end()) {
            continue;
        }
        const auto nearest = nearest_name(key, known_keys_);
        reader.refuse("is not known" + (nearest ? "; did you mean '" + *nearest + "'?" : ""));
    }
}

}  // namespace waybourne::triage
