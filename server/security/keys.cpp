#include "server/security/keys.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// What an id in a path, a log line and the journal may be.
bool is_name(const std::string& text) {
    constexpr std::size_t longest = 64;
    return !text.empty() && text.size() <= longest &&
           text.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789_-") == std::string::npos;
}

/// Roles that act for a place of their own.
bool needs_facility(Role role) {
    return role == Role::health_worker || role == Role::facility;
}

void check(const Key& key) {
    if (!is_name(key.id)) {
        throw InputError("a key's id is made of a-z, 0-9, - and _");
    }
    if (!is_name(key.caller.who)) {
        throw InputError(
            "an account is named with a-z, 0-9, - and _, at most 64 of them: a place and a phone, "
            "never a person");
    }
    if (needs_facility(key.caller.role) && key.caller.facilities.empty()) {
        throw InputError(fmt::format("account {}: a key of role {} needs its facility",
                                     key.caller.who, to_name(key.caller.role)));
    }
    if (!key.hash.starts_with("$argon2id$")) {
        throw InputError(fmt::format("account {}: its hash is not argon2id", key.caller.who));
    }
}

}  // namespace

Keys::Keys(std::vector<Key> keys) : keys_(std::move(keys)) {
    std::set<std::string> seen;
    for (const Key& key : keys_) {
        check(key);
        if (!seen.insert("id " + key.id).second ||
            !seen.insert("account " + key.caller.who).second) {
            throw InputError(fmt::format(
                "account {}: stands twice; one key for each account, remove the old one first",
                key.caller.who));
        }
    }
}

const Key* Keys::find(std::string_view id) const {
    const auto found =
        std::find_if(keys_.begin(), keys_.end(), [&](const Key& key) { return key.id == id; });
    return found == keys_.end() ? nullptr : &*found;
}

NewKey make_key(const Caller& caller, Instant now, HashCost cost) {
    const std::string secret = random_secret();
    Key key{random_id(), caller, hash_secret(secret, cost), now};
    check(key);
    std::string text = key.id + "." + secret;
    return {std::move(key), std::move(text)};
}

std::optional<KeyText> parse_key_text(std::string_view text) {
    constexpr std::size_t longest = 128;
    const std::size_t point = text.find('.');
    if (text.size() > longest || point == std::string_view::npos || point == 0 ||
        point + 1 == text.size()) {
        return std::nullopt;
    }
    return KeyText{std::string{text.substr(0, point)}, std::string{text.substr(point + 1)}};
}

Role parse_role(std::string_view name) {
    std::string known;
    for (const Role role : all_roles) {
        if (to_name(role) == name) {
            return role;
        }
        known += known.empty() ? "" : ", ";
        known += to_name(role);
    }
    throw InputError(fmt::format("\"{}\" is no role; there are {}", name, known));
}

}  // namespace waybourne::server
