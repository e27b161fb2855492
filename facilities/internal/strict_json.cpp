#include "facilities/internal/strict_json.hpp"

#include <algorithm>
#include <limits>

#include "vocabulary/json_check.hpp"
#include "vocabulary/nearest_name.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::facilities {

namespace {

/// The value as it was given, cut short.
std::string shown(const Json& value) {
    if (value.is_structured()) {
        return value.is_array() ? "a list" : "an object";
    }
    std::string text = value.dump(-1, ' ', false, Json::error_handler_t::replace);
    return text.size() <= 40 ? text : shortened(text) + "…";
}

bool is_text(const Json& value) {
    return value.is_string();
}
bool is_whole(const Json& value) {
    return value.is_number_integer();
}
bool is_object(const Json& value) {
    return value.is_object();
}
bool is_array(const Json& value) {
    return value.is_array();
}

}  // namespace

Json parse_strictly(std::string_view text) {
    check_json(text);
    return Json::parse(text.begin(), text.end());
}

std::string pointer_part(std::string_view name) {
    std::string part;
    for (const char c : shortened(name, 60)) {
        part += c == '~' ? "~0" : c == '/' ? "~1" : std::string(1, c);
    }
    return part;
}

Members::Members(const Json& object, std::string path, std::span<const std::string> known,
                 std::vector<FieldError>& errors)
    : object_(object), path_(std::move(path)), errors_(errors) {
    for (const auto& [name, value] : object_.items()) {
        if (std::find(known.begin(), known.end(), name) == known.end()) {
            const auto nearest = nearest_name(name, known);
            note(name, "is not known here" +
                           (nearest ? "; did you mean '" + *nearest + "'?" : std::string()));
        }
    }
}

bool Members::has(const std::string& name) const {
    return find(name) != nullptr;
}

const Json* Members::find(const std::string& name) const {
    const auto found = object_.find(name);
    return found == object_.end() || found->is_null() ? nullptr : &*found;
}

void Members::note(std::string_view name, std::string detail) {
    errors_.push_back({path(name), std::move(detail)});
}

const Json* Members::of_type(const std::string& name, bool (*is_type)(const Json&),
                             std::string_view expected) {
    const Json* value = find(name);
    if (value != nullptr && !is_type(*value)) {
        note(name, shown(*value) + " is not " + std::string(expected));
        return nullptr;
    }
    return value;
}

std::optional<std::string> Members::text(const std::string& name) {
    const Json* value = of_type(name, is_text, "a text");
    return value == nullptr ? std::nullopt : std::optional(value->get<std::string>());
}

std::string Members::needed_text(const std::string& name) {
    if (!has(name)) {
        note(name, "is needed");
        return {};
    }
    return text(name).value_or("");
}

std::optional<int> Members::count(const std::string& name) {
    const Json* value = of_type(name, is_whole, "a whole number");
    if (value == nullptr) {
        return std::nullopt;
    }
    constexpr int most = 1'000'000;
    const bool is_huge = value->is_number_unsigned() && value->get<std::uint64_t>() > most;
    if (is_huge || value->get<std::int64_t>() < 0) {
        note(name, shown(*value) + " is outside 0 to 1000000");
        return std::nullopt;
    }
    return value->get<int>();
}

std::optional<Seconds> Members::minutes(const std::string& name) {
    const auto whole = count(name);
    return whole ? std::optional<Seconds>(std::chrono::minutes(*whole)) : std::nullopt;
}

std::optional<Instant> Members::instant(const std::string& name) {
    const auto given = text(name);
    try {
        return given ? std::optional(parse_rfc3339(*given)) : std::nullopt;
    } catch (const InputError& error) {
        note(name, error.what());
        return std::nullopt;
    }
}

std::optional<OpeningHours> Members::hours(const std::string& name) {
    const auto given = text(name);
    try {
        return given ? std::optional(parse_opening_hours(*given)) : std::nullopt;
    } catch (const InputError& error) {
        note(name, error.what());
        return std::nullopt;
    }
}

const Json* Members::object(const std::string& name) {
    return of_type(name, is_object, "an object");
}

const Json* Members::array(const std::string& name) {
    return of_type(name, is_array, "a list");
}

}  // namespace waybourne::facilities
