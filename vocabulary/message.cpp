#include "vocabulary/message.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "vocabulary/error.hpp"

namespace waybourne {

std::string Catalogue::text(std::string_view id) const {
    const auto found = texts_.find(id);
    return found == texts_.end() ? "[" + std::string(id) + "]" : found->second;
}

std::string Catalogue::text(const Message& message) const {
    const auto known = texts_.find(message.id);
    if (known == texts_.end()) {
        return text(std::string_view{message.id});
    }
    const std::string_view pattern = known->second;
    std::string words;
    for (std::size_t at = 0; at < pattern.size();) {
        const std::size_t open = pattern.find('{', at);
        const std::size_t close = open == std::string_view::npos ? open : pattern.find('}', open);
        if (close == std::string_view::npos) {
            words += pattern.substr(at);
            break;
        }
        words += pattern.substr(at, open - at);
        const std::string_view name = pattern.substr(open + 1, close - open - 1);
        const auto value = std::find_if(message.values.begin(), message.values.end(),
                                        [&](const auto& named) { return named.first == name; });
        words += value == message.values.end() ? pattern.substr(open, close + 1 - open)
                                               : std::string_view{value->second};
        at = close + 1;
    }
    return words;
}

Catalogue Catalogue::with(const Catalogue& other) const {
    Catalogue both = *this;
    std::vector<FieldError> errors;
    for (const auto& [id, words] : other.texts_) {
        const auto [place, is_new] = both.texts_.emplace(id, words);
        if (!is_new && place->second != words) {
            errors.push_back({"#/texts/" + id, "two different texts have this id"});
        }
    }
    if (!errors.empty()) {
        throw InputError("catalogues disagree", errors);
    }
    return both;
}

Catalogue parse_catalogue(std::string_view json) {
    const auto file = nlohmann::json::parse(json, nullptr, false);
    if (!file.is_object() || !file.contains("language") || !file["language"].is_string() ||
        !file.contains("texts") || !file["texts"].is_object()) {
        throw InputError(R"(a catalogue is {"language": "en", "texts": {"id": "words"}})");
    }
    std::map<std::string, std::string, std::less<>> texts;
    std::vector<FieldError> errors;
    for (const auto& [id, words] : file["texts"].items()) {
        if (!words.is_string() || words.get_ref<const std::string&>().empty()) {
            errors.push_back({"#/texts/" + id, "is not a text"});
            continue;
        }
        texts.emplace(id, words.get<std::string>());
    }
    if (!errors.empty()) {
        throw InputError("the catalogue has wrong entries", errors);
    }
    return {file["language"].get<std::string>(), std::move(texts)};
}

}  // namespace waybourne
