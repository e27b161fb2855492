#include "server/json/value.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <nlohmann/json.hpp>
#include <optional>

#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// Builds the value from the parser's events. A frame is a list or object that is still open.
class Builder {
public:
    using Json = nlohmann::json;

    bool null() { return put(JsonValue{}); }
    bool boolean(bool value) { return put(JsonValue{value}); }
    bool number_integer(Json::number_integer_t value) {
        return put(JsonValue{static_cast<double>(value)});
    }
    bool number_unsigned(Json::number_unsigned_t value) {
        return put(JsonValue{static_cast<double>(value)});
    }
    bool number_float(Json::number_float_t value, const Json::string_t& /*as_written*/) {
        return put(JsonValue{value});
    }
    bool string(Json::string_t& value) { return put(JsonValue{std::move(value)}); }
    bool binary(Json::binary_t& /*value*/) { return false; }

    bool start_object(std::size_t /*size*/) { return open(true); }
    bool key(Json::string_t& name) {
        Frame& frame = frames_.back();
        const bool twice = std::any_of(frame.members.begin(), frame.members.end(),
                                       [&](const JsonMember& m) { return m.name == name; });
        if (twice) {
            problem_ = FieldError{path() + "/" + pointer_step(name), "stands twice in one object"};
            return false;
        }
        frame.members.push_back({std::move(name), JsonValue{}});
        return true;
    }
    bool end_object() {
        JsonValue whole{std::move(frames_.back().members)};
        frames_.pop_back();
        return put(std::move(whole));
    }
    bool start_array(std::size_t /*size*/) { return open(false); }
    bool end_array() {
        JsonValue whole{std::move(frames_.back().items)};
        frames_.pop_back();
        return put(std::move(whole));
    }
    bool parse_error(std::size_t position, const std::string& /*last_token*/,
                     const nlohmann::detail::exception& error) {
        constexpr int number_out_of_range = 406;
        problem_ = FieldError{
            path(),
            error.id == number_out_of_range
                ? "holds a number too large for a double, at byte " + std::to_string(position)
                : "is not valid JSON (RFC 8259, UTF-8) at byte " + std::to_string(position)};
        return false;
    }

    JsonValue take() { return std::move(result_); }
    const std::optional<FieldError>& problem() const { return problem_; }

private:
    struct Frame {
        bool is_object = false;
        std::vector<JsonMember> members;
        std::vector<JsonValue> items;
    };

    bool open(bool is_object) {
        if (frames_.size() == json_depth_limit) {
            problem_ = FieldError{"#", "is nested deeper than " + std::to_string(json_depth_limit) +
                                           " lists and objects"};
            return false;
        }
        frames_.push_back({is_object, {}, {}});
        return true;
    }
    bool put(JsonValue value) {
        if (frames_.empty()) {
            result_ = std::move(value);
        } else if (frames_.back().is_object) {
            frames_.back().members.back().value = std::move(value);
        } else {
            frames_.back().items.push_back(std::move(value));
        }
        return true;
    }
    std::string path() const {
        std::string pointer = "#";
        for (std::size_t i = 0; i + 1 < frames_.size(); ++i) {
            const Frame& frame = frames_[i];
            pointer += "/" + (frame.is_object ? pointer_step(frame.members.back().name)
                                              : std::to_string(frame.items.size()));
        }
        return pointer;
    }

    std::vector<Frame> frames_;
    JsonValue result_;
    std::optional<FieldError> problem_;
};

}  // namespace

std::string_view to_words(JsonKind kind) {
    constexpr std::array<std::string_view, 6> words{"null",   "true or false", "a number",
                                                    "a text", "a list",        "an object"};
    return words.at(static_cast<std::size_t>(kind));
}

JsonValue::JsonValue() = default;
JsonValue::JsonValue(bool value) : content_(value) {}
JsonValue::JsonValue(double value) : content_(value) {}
JsonValue::JsonValue(std::string value) : content_(std::move(value)) {}
JsonValue::JsonValue(std::vector<JsonValue> items) : content_(std::move(items)) {}
JsonValue::JsonValue(std::vector<JsonMember> members) : content_(std::move(members)) {}
JsonValue::JsonValue(const JsonValue&) = default;
JsonValue::JsonValue(JsonValue&&) noexcept = default;
JsonValue& JsonValue::operator=(const JsonValue&) = default;
JsonValue& JsonValue::operator=(JsonValue&&) noexcept = default;
JsonValue::~JsonValue() = default;

bool JsonValue::boolean() const {
    return std::get<bool>(content_);
}
double JsonValue::number() const {
    return std::get<double>(content_);
}
const std::string& JsonValue::text() const {
    return std::get<std::string>(content_);
}
const std::vector<JsonValue>& JsonValue::items() const {
    return std::get<std::vector<JsonValue>>(content_);
}
const std::vector<JsonMember>& JsonValue::members() const {
    return std::get<std::vector<JsonMember>>(content_);
}
const JsonValue* JsonValue::find(std::string_view name) const {
    if (kind() != JsonKind::object) {
        return nullptr;
    }
    const auto found = std::find_if(members().begin(), members().end(),
                                    [&](const JsonMember& m) { return m.name == name; });
    return found == members().end() ? nullptr : &found->value;
}

JsonValue parse_json(std::string_view text) {
    Builder builder;
    const bool whole = nlohmann::json::sax_parse(text.begin(), text.end(), &builder);
    if (builder.problem()) {
        throw InputError("the JSON cannot be read", {*builder.problem()});
    }
    if (!whole) {
        throw InputError("the JSON cannot be read");
    }
    return builder.take();
}

std::string pointer_step(std::string_view name) {
    constexpr std::string_view plain =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-._";
    constexpr std::string_view digits = "0123456789ABCDEF";
    std::string step;
    for (const char letter : name) {
        if (letter == '~') {
            step += "~0";
        } else if (letter == '/') {
            step += "~1";
        } else if (plain.find(letter) != std::string_view::npos) {
            step += letter;
        } else {
            const auto byte = static_cast<unsigned char>(letter);
            step += {'%', digits[byte >> 4U], digits[byte & 15U]};
        }
    }
    return step;
}

}  // namespace waybourne::server
