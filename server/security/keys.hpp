#pragma once
/// Who may ask what: one key for each phone or desk, and the numbers of plain phones that may act
/// by text message, kept in a private file.

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "server/caller.hpp"
#include "server/json/writer.hpp"
#include "server/security/secret.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::server {

/// One key as it is kept: everything but the secret.
struct Key {
    std::string id;    ///< says which key is meant; no secret
    Caller caller;     ///< what whoever holds it is taken for
    std::string hash;  ///< argon2id of the secret
    Instant added_at{};
    bool operator==(const Key&) const = default;
};

/// A telephone that may act by text message, and whom it is taken for.
struct Number {
    std::string number;  ///< in the form of `parse_number`
    Caller caller;
    Instant added_at{};
    /// In which language it is texted, e.g. `fr`, and answered when its text does not show one;
    /// empty: the district's.
    std::string language = {};
    bool operator==(const Number&) const = default;
};

/// A telephone number in its one form: `+` and 7 to 15 digits (ITU-T E.164, from memory). Spaces,
/// hyphens, dots and brackets between the digits are dropped.
/// @throws InputError for anything else; the number is not repeated
std::string parse_number(std::string_view text);

/// All keys and numbers, none of them twice.
class Keys {
public:
    Keys() = default;
    /// @throws InputError for an account or id that stands twice or is no name, a role that needs
    ///         facilities and has none, a hash that is none of ours, a number that stands twice,
    ///         is in a language that there is no catalogue of or is of a role that does nothing by
    ///         text, an account that is two different things
    explicit Keys(std::vector<Key> keys, std::vector<Number> numbers = {});
    const std::vector<Key>& all() const { return keys_; }
    const std::vector<Number>& numbers() const { return numbers_; }
    /// Null when there is none.
    const Key* find(std::string_view id) const;
    /// @param number in the form of `parse_number`. Null when it is not registered.
    const Number* find_number(std::string_view number) const;
    /// An account has at most one. Null when it has none.
    const Number* find_number_of(std::string_view account) const;
    bool operator==(const Keys&) const = default;

private:
    std::vector<Key> keys_;
    std::vector<Number> numbers_;
};

/// A key in the hand of its holder: `id.secret`, shown once.
struct NewKey {
    Key key;
    std::string text;
};

/// @throws InputError as `Keys` does
NewKey make_key(const Caller& caller, Instant now, HashCost cost = production_cost);

/// `id.secret` taken apart; none when it has another form.
struct KeyText {
    std::string id;
    std::string secret;
};
std::optional<KeyText> parse_key_text(std::string_view text);

/// All of a key but its hash, as members of the object that is being written.
void write_key_members(JsonWriter& json, const Key& key);

/// All of a number, as members of the object that is being written.
void write_number_members(JsonWriter& json, const Number& number);

/// What a keys file says.
/// @throws InputError for the first thing that is wrong with it, never repeating a hash
Keys parse_keys(std::string_view text);

/// Reads a keys file.
/// @throws NotFound; InputError when others than its owner may read it; DataError saying what is
///         wrong with it, never repeating a hash
Keys read_keys(const std::filesystem::path& file);

/// Changes a keys file, or makes it: locked against a second change, written beside and renamed, so
/// that a reader never sees half of one. Mode 0600.
/// @throws what `change` and `read_keys` throw; Unavailable when it cannot be written
void change_keys(const std::filesystem::path& file, const std::function<Keys(const Keys&)>& change);

/// The role of that name.
/// @throws InputError listing all
Role parse_role(std::string_view name);

/// Every role, in the order of their declaration.
inline constexpr Role all_roles[] = {Role::health_worker, Role::facility, Role::dispatcher,
                                     Role::driver,        Role::planner,  Role::administrator,
                                     Role::auditor};

}  // namespace waybourne::server
