#pragma once
/// Reading the members of one JSON object, so that every error is found at once and nothing unknown
/// slips through.

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "server/json/value.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::server {

/// The least and the greatest value that is taken, both included.
struct Range {
    double least = 0;
    double most = 0;
};

/// Takes members by name and remembers which: `finish` refuses the others, naming the nearest known
/// one. Each wrong member is added to `errors` under its RFC 6901 pointer and read as missing.
class ObjectReader {
public:
    /// `value` not being an object is an error under `pointer`; it then reads as an empty one.
    ObjectReader(const JsonValue& value, std::string pointer, std::vector<FieldError>& errors);

    /// Null when missing. JSON's `null` counts as missing everywhere.
    const JsonValue* take(const std::string& name);
    std::optional<std::string> text(const std::string& name);
    std::optional<double> number(const std::string& name, Range range);
    std::optional<int> whole_number(const std::string& name, Range range);
    std::optional<bool> boolean(const std::string& name);
    std::optional<Instant> instant(const std::string& name);
    /// One of `choices`, as its place among them.
    std::optional<std::size_t> choice(const std::string& name,
                                      std::span<const std::string> choices);
    /// Null when missing or no list, or longer than `most`.
    const std::vector<JsonValue>* list(const std::string& name, std::size_t most);

    void require(const std::string& name);
    void refuse(const std::string& name, const std::string& detail);
    std::string pointer_to(const std::string& name) const;
    void finish();

private:
    const JsonValue* take_as(const std::string& name, JsonKind kind);

    const JsonValue* object_;
    std::string pointer_;
    std::vector<FieldError>& errors_;
    std::vector<std::string> known_;
};

/// @throws InputError with all of them, if there are any
void throw_if_any(const std::vector<FieldError>& errors);

/// What `read(body, errors)` makes of a whole body, which is one object.
/// @throws InputError as `parse_json`, and with every error that was found
template <typename Read>
auto parse_body(std::string_view json, const Read& read) {
    const JsonValue value = parse_json(json);
    std::vector<FieldError> errors;
    ObjectReader body{value, "#", errors};
    auto made = read(body, errors);
    body.finish();
    throw_if_any(errors);
    return made;
}

/// "unknown name", and the nearest known one when there is one.
std::string unknown_name(const std::string& name, std::span<const std::string> known);

/// A figure as people write it: `97.1`, `40`, never `1e+02`.
std::string to_figure(double value);

}  // namespace waybourne::server
