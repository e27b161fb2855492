#include "vocabulary/message.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "vocabulary/error.hpp"

namespace waybourne {

namespace {

/// `38.5` and the like: digits, one point, digits.
bool is_decimal_number(std::string_view text) {
    const std::size_t point = text.find('.');
    return point != std::string_view::npos && point > 0 && point + 1 < text.size() &&
           text.find_first_not_of("0123456789.") == std::string_view::npos &&
           text.find('.', point + 1) == std::string_view::npos;
}

}  // namespace

std::string Catalogue::text(std::string_view id) const {
    const auto found = texts_->find(id);
    return found == texts_->end() ? "[" + std::string(id) + "]" : found->second;
}

std::string Catalogue::text(const Message& message) const {
    const auto known = texts_->find(message.id);
    if (known == texts_->end()) {
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
        if (value == message.values.end()) {
            words += pattern.substr(open, close + 1 - open);
        } else if (decimal_sign_ != "." && is_decimal_number(value->second)) {
            const std::size_t point = value->second.find('.');
            words += value->second.substr(0, point) + decimal_sign_;
            words += value->second.substr(point + 1);
        } else {
            words += value->second;
        }
        at = close + 1;
    }
    return words;
}

Catalogue Catalogue::with(const Catalogue& other) const {
    Texts both = *texts_;
    std::vector<FieldError> errors;
    for (const auto& [id, words] : other.texts()) {
        const auto [place, is_new] = both.emplace(id, words);
        if (!is_new && place->second != words) {
            errors.push_back({"#/texts/" + id, "two different texts have this id"});
        }
    }
    if (!errors.empty()) {
        throw InputError("catalogues disagree", errors);
    }
    return {language_, std::move(both), decimal_sign_};
}

Catalogue Catalogue::over(const Catalogue& below) const {
    Texts both = *texts_;
    both.insert(below.texts().begin(), below.texts().end());
    return {language_, std::move(both), decimal_sign_};
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
    const auto decimal_sign = file.value("decimal_sign", nlohmann::json("."));
    if (decimal_sign != "." && decimal_sign != ",") {
        errors.push_back({"#/decimal_sign", R"(is neither "." nor ",")"});
    }
    if (!errors.empty()) {
        throw InputError("the catalogue has wrong entries", errors);
    }
    return {file["language"].get<std::string>(), std::move(texts), decimal_sign.get<std::string>()};
}

}  // namespace waybourne
