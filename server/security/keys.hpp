#pragma once
/// Who may ask what: one key for each phone or desk, kept in a private file.

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

/// All keys, none of them twice.
class Keys {
public:
    Keys() = default;
    /// @throws InputError for an account or id that stands twice or is no name, a role that needs
    ///         facilities and has none, a hash that is none of ours
    explicit Keys(std::vector<Key> keys);
    const std::vector<Key>& all() const { return keys_; }
    /// Null when there is none.
    const Key* find(std::string_view id) const;
    bool operator==(const Keys&) const = default;

private:
    std::vector<Key> keys_;
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
