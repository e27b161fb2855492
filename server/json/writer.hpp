#pragma once
/// Writing JSON text, straight from values to bytes.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "server/json/value.hpp"
#include "vocabulary/geo_point.hpp"
#include "vocabulary/identifier.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::server {

/// Members and items come out in the order they are written. Text that is not UTF-8 comes out with
/// U+FFFD in place of each wrong byte, so that the result is always valid JSON. Not closing what
/// was opened is our own mistake (assert).
class JsonWriter {
public:
    /// @param indent spaces per level for people; 0 writes one line for machines
    /// @param expected about how many bytes there will be, so that they are not moved as they grow
    explicit JsonWriter(int indent = 0, std::size_t expected = 0) : indent_(indent) {
        text_.reserve(expected);
    }

    JsonWriter& begin_object() { return open('{'); }
    JsonWriter& end_object() { return close('}'); }
    JsonWriter& begin_list() { return open('['); }
    JsonWriter& end_list() { return close(']'); }
    JsonWriter& key(std::string_view name);

    JsonWriter& value(std::string_view text);
    JsonWriter& value(const char* text) { return value(std::string_view{text}); }
    JsonWriter& value(const std::string& text) { return value(std::string_view{text}); }
    JsonWriter& value(bool boolean);
    JsonWriter& value(std::int64_t number);
    JsonWriter& value(int number) { return value(std::int64_t{number}); }
    JsonWriter& value(std::size_t number) { return value(static_cast<std::int64_t>(number)); }
    /// At most `decimals` of them, without trailing zeros. Not finite: null.
    JsonWriter& value(double number, int decimals);
    /// A position as GeoJSON has it (RFC 7946, 3.1.1): longitude, latitude; at most 7 decimals,
    /// which are centimetres. Always on one line.
    JsonWriter& value(const GeoPoint& position);
    JsonWriter& value(Seconds span) { return value(std::int64_t{span.count()}); }
    JsonWriter& value(Instant instant) { return value(to_rfc3339(instant)); }
    JsonWriter& value(const std::vector<std::string>& texts);
    template <typename Tag>
    JsonWriter& value(const Id<Tag>& id) {
        return value(id.value());
    }
    JsonWriter& null();
    /// None comes out as null.
    template <typename T>
    JsonWriter& value(const std::optional<T>& maybe) {
        return maybe ? value(*maybe) : null();
    }
    /// A text that is JSON already.
    JsonWriter& raw(std::string_view json);

    template <typename T>
    JsonWriter& member(std::string_view name, const T& content) {
        return key(name).value(content);
    }

    /// The whole text; the writer is empty afterwards.
    std::string take();

private:
    JsonWriter& open(char bracket);
    JsonWriter& close(char bracket);
    void before_value();
    void new_line();

    int indent_;
    int depth_ = 0;
    bool is_first_ = true;
    bool after_key_ = false;
    std::string text_;
};

/// A value that was read, as text again: the same members in the same order, on one line.
std::string to_json(const JsonValue& value);

}  // namespace waybourne::server
