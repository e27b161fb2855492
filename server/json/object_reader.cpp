#include "server/json/object_reader.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "vocabulary/nearest_name.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::server {

namespace {

/// Names are repeated in errors only when short: an error shows what was given, not all of it.
std::string quoted(const std::string& text) {
    constexpr std::size_t most = 60;
    return text.size() <= most ? text : shortened(text, most) + "…";
}

}  // namespace

std::string to_figure(double value) {
    if (std::abs(value) < 1e15) {
        return fmt::format("{}", value);
    }
    return fmt::format("{:.3g}", value);
}

std::string unknown_name(const std::string& name, std::span<const std::string> known) {
    std::string detail = "\"" + quoted(name) + "\" is not known here";
    constexpr std::size_t longest_known = 80;
    if (name.size() <= longest_known) {
        if (const auto nearest = nearest_name(name, known)) {
            detail += "; did you mean \"" + *nearest + "\"?";
        }
    }
    return detail;
}

ObjectReader::ObjectReader(const JsonValue& value, std::string pointer,
                           std::vector<FieldError>& errors)
    : object_(&value), pointer_(std::move(pointer)), errors_(errors) {
    if (value.kind() != JsonKind::object) {
        errors_.push_back(
            {pointer_, fmt::format("is {}; an object is needed", to_words(value.kind()))});
        object_ = nullptr;
    }
}

std::string ObjectReader::pointer_to(const std::string& name) const {
    return pointer_ + "/" + pointer_step(name);
}

void ObjectReader::refuse(const std::string& name, const std::string& detail) {
    errors_.push_back({pointer_to(name), detail});
}

const JsonValue* ObjectReader::take(const std::string& name) {
    known_.push_back(name);
    const JsonValue* value = object_ == nullptr ? nullptr : object_->find(name);
    return value == nullptr || value->kind() == JsonKind::null ? nullptr : value;
}

const JsonValue* ObjectReader::take_as(const std::string& name, JsonKind kind) {
    const JsonValue* value = take(name);
    if (value != nullptr && value->kind() != kind) {
        refuse(name, fmt::format("is {}; {} is needed", to_words(value->kind()), to_words(kind)));
        return nullptr;
    }
    return value;
}

std::optional<std::string> ObjectReader::text(const std::string& name) {
    const JsonValue* value = take_as(name, JsonKind::text);
    return value == nullptr ? std::nullopt : std::optional(value->text());
}

std::optional<double> ObjectReader::number(const std::string& name, Range range) {
    const JsonValue* value = take_as(name, JsonKind::number);
    if (value == nullptr) {
        return std::nullopt;
    }
    const double given = value->number();
    if (!(given >= range.least && given <= range.most)) {
        refuse(name, fmt::format("{} is outside {} to {}", to_figure(given), to_figure(range.least),
                                 to_figure(range.most)));
        return std::nullopt;
    }
    return given;
}

std::optional<int> ObjectReader::whole_number(const std::string& name, Range range) {
    const auto given = number(name, range);
    if (given && *given != std::floor(*given)) {
        refuse(name, to_figure(*given) + " is not a whole number");
        return std::nullopt;
    }
    return given ? std::optional(static_cast<int>(*given)) : std::nullopt;
}

std::optional<bool> ObjectReader::boolean(const std::string& name) {
    const JsonValue* value = take_as(name, JsonKind::boolean);
    return value == nullptr ? std::nullopt : std::optional(value->boolean());
}

std::optional<Instant> ObjectReader::instant(const std::string& name) {
    const JsonValue* value = take_as(name, JsonKind::text);
    if (value == nullptr) {
        return std::nullopt;
    }
    try {
        return parse_rfc3339(value->text());
    } catch (const InputError&) {
        refuse(name, "\"" + quoted(value->text()) +
                         R"(" is not an instant like "2026-03-04T09:40:00Z" (RFC 3339))");
        return std::nullopt;
    }
}

std::optional<std::size_t> ObjectReader::choice(const std::string& name,
                                                std::span<const std::string> choices) {
    const JsonValue* value = take_as(name, JsonKind::text);
    if (value == nullptr) {
        return std::nullopt;
    }
    const auto found = std::find(choices.begin(), choices.end(), value->text());
    if (found == choices.end()) {
        refuse(name, fmt::format("\"{}\" is not one of {}", quoted(value->text()),
                                 fmt::join(choices, ", ")));
        return std::nullopt;
    }
    return static_cast<std::size_t>(found - choices.begin());
}

const std::vector<JsonValue>* ObjectReader::list(const std::string& name, std::size_t most) {
    const JsonValue* value = take_as(name, JsonKind::list);
    if (value == nullptr) {
        return nullptr;
    }
    if (value->items().size() > most) {
        refuse(name,
               fmt::format("holds {} entries; at most {} are taken", value->items().size(), most));
        return nullptr;
    }
    return &value->items();
}

void ObjectReader::require(const std::string& name) {
    const JsonValue* value = object_ == nullptr ? nullptr : object_->find(name);
    if (object_ != nullptr && (value == nullptr || value->kind() == JsonKind::null)) {
        refuse(name, "is missing");
    }
}

void ObjectReader::finish() {
    if (object_ == nullptr) {
        return;
    }
    for (const JsonMember& member : object_->members()) {
        if (std::find(known_.begin(), known_.end(), member.name) == known_.end()) {
            refuse(member.name, unknown_name(member.name, known_));
        }
    }
}

void throw_if_any(const std::vector<FieldError>& errors) {
    if (!errors.empty()) {
        throw InputError(errors.size() == 1 ? "1 field is wrong"
                                            : std::to_string(errors.size()) + " fields are wrong",
                         errors);
    }
}

}  // namespace waybourne::server
