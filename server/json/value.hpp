#pragma once
/// A JSON text that has been read, with everything refused that could be taken in two ways.

#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace waybourne::server {

enum class JsonKind { null, boolean, number, text, list, object };

/// "a text", "a list", … for sentences about what was given.
std::string_view to_words(JsonKind kind);

struct JsonMember;

/// One JSON value (RFC 8259). Immutable once read. Asking for another kind than it has is our own
/// mistake (assert).
class JsonValue {
public:
    // Defined in the source: here a member of an object is not yet a complete type.
    JsonValue();
    explicit JsonValue(bool value);
    explicit JsonValue(double value);
    explicit JsonValue(std::string value);
    explicit JsonValue(std::vector<JsonValue> items);
    explicit JsonValue(std::vector<JsonMember> members);
    JsonValue(const JsonValue&);
    JsonValue(JsonValue&&) noexcept;
    JsonValue& operator=(const JsonValue&);
    JsonValue& operator=(JsonValue&&) noexcept;
    ~JsonValue();

    JsonKind kind() const { return static_cast<JsonKind>(content_.index()); }
    bool boolean() const;
    double number() const;
    const std::string& text() const;
    const std::vector<JsonValue>& items() const;
    /// In the order written. No name stands twice.
    const std::vector<JsonMember>& members() const;
    /// Null when this is no object or has no such member.
    const JsonValue* find(std::string_view name) const;

private:
    std::variant<std::monostate, bool, double, std::string, std::vector<JsonValue>,
                 std::vector<JsonMember>>
        content_;
};

struct JsonMember {
    std::string name;
    JsonValue value;
};

/// How deep lists and objects may lie in each other: the API's own shapes need six.
inline constexpr std::size_t json_depth_limit = 16;

/// Reads one JSON text. Refused besides malformed JSON: a name that stands twice in one object
/// (which of the two is meant?), nesting deeper than `json_depth_limit`, numbers that a double
/// cannot hold, and text that is not UTF-8. O(length); the depth of the C++ stack is bounded.
/// @throws InputError saying at which byte, never repeating what was given
JsonValue parse_json(std::string_view text);

/// `name` as one step of an RFC 6901 pointer in a URI fragment: `~` and `/` escaped, then
/// everything that a fragment may not hold percent-encoded.
std::string pointer_step(std::string_view name);

}  // namespace waybourne::server
