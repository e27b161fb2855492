#pragma once
/// JSON that is read with care: nothing unknown, nothing twice, every error with its place.

#include <nlohmann/json.hpp>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "facilities/opening_hours.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::facilities {

/// Ordered, so that resources and services keep the order in which they were written.
using Json = nlohmann::ordered_json;

/// @throws InputError for what is no JSON, is nested deeper than 32, or has a name twice in an
/// object
Json parse_strictly(std::string_view text);

/// One part of a pointer, escaped as RFC 6901 wants.
std::string pointer_part(std::string_view name);

/// The members of one object: each is asked for once, by name and type; what is wrong is noted with
/// the member's path and reads as nothing.
class Members {
public:
    /// @param path of this object, e.g. `properties/`; empty or ends in a slash
    /// @param known every name that may stand here; an unknown one is an error
    Members(const Json& object, std::string path, std::span<const std::string> known,
            std::vector<FieldError>& errors);

    bool has(const std::string& name) const;
    /// Null when it is absent, or null in the file.
    const Json* find(const std::string& name) const;
    std::string path(std::string_view name) const { return path_ + pointer_part(name); }
    void note(std::string_view name, std::string detail);

    std::optional<std::string> text(const std::string& name);
    std::string needed_text(const std::string& name);
    std::optional<int> count(const std::string& name);
    std::optional<Seconds> minutes(const std::string& name);
    std::optional<Instant> instant(const std::string& name);
    std::optional<OpeningHours> hours(const std::string& name);
    /// Null when it is absent or no object (array).
    const Json* object(const std::string& name);
    const Json* array(const std::string& name);

private:
    const Json* of_type(const std::string& name, bool (*is_type)(const Json&),
                        std::string_view expected);

    const Json& object_;
    std::string path_;
    std::vector<FieldError>& errors_;
};

}  // namespace waybourne::facilities
