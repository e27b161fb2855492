#include "server/security/keys.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <set>

#include "server/district.hpp"
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

/// Roles that can do something by text message.
bool acts_by_text(Role role) {
    return role == Role::health_worker || role == Role::facility || role == Role::driver ||
           role == Role::dispatcher;
}

void check(const Caller& caller) {
    if (!is_name(caller.who)) {
        throw InputError(
            "an account is named with a-z, 0-9, - and _, at most 64 of them: a place and a phone, "
            "never a person");
    }
    if (needs_facility(caller.role) && caller.facilities.empty()) {
        throw InputError(fmt::format("account {}: the role {} needs its facility", caller.who,
                                     to_name(caller.role)));
    }
}

void check(const Number& number) {
    check(number.caller);
    if (parse_number(number.number) != number.number) {
        throw InputError(
            fmt::format("account {}: its number is not + and digits alone", number.caller.who));
    }
    if (!acts_by_text(number.caller.role)) {
        throw InputError(
            fmt::format("account {}: only health workers, facilities, dispatchers and drivers act "
                        "by text message",
                        number.caller.who));
    }
    const auto& known = catalogue_languages;
    if (!number.language.empty() &&
        std::find(known.begin(), known.end(), number.language) == known.end()) {
        throw InputError(fmt::format("account {}: its language is none of {}", number.caller.who,
                                     fmt::join(known, ", ")));
    }
}

void check(const Key& key) {
    if (!is_name(key.id)) {
        throw InputError("a key's id is made of a-z, 0-9, - and _");
    }
    check(key.caller);
    if (!key.hash.starts_with("$argon2id$")) {
        throw InputError(fmt::format("account {}: its hash is not argon2id", key.caller.who));
    }
}

}  // namespace

Keys::Keys(std::vector<Key> keys, std::vector<Number> numbers)
    : keys_(std::move(keys)), numbers_(std::move(numbers)) {
    std::set<std::string> seen;
    std::map<std::string, Caller> callers;
    for (const Key& key : keys_) {
        check(key);
        if (!seen.insert("id " + key.id).second ||
            !seen.insert("account " + key.caller.who).second) {
            throw InputError(fmt::format(
                "account {}: stands twice; one key for each account, remove the old one first",
                key.caller.who));
        }
        callers.emplace(key.caller.who, key.caller);
    }
    for (const Number& number : numbers_) {
        check(number);
        if (!seen.insert("number " + number.number).second ||
            !seen.insert("number of " + number.caller.who).second) {
            throw InputError(fmt::format(
                "account {}: one number for each account and one account for each number; remove "
                "the old one first",
                number.caller.who));
        }
        if (callers.emplace(number.caller.who, number.caller).first->second != number.caller) {
            throw InputError(fmt::format(
                "account {}: its role, places and practice must be the same for each of its keys "
                "and numbers",
                number.caller.who));
        }
    }
}

const Key* Keys::find(std::string_view id) const {
    const auto found =
        std::find_if(keys_.begin(), keys_.end(), [&](const Key& key) { return key.id == id; });
    return found == keys_.end() ? nullptr : &*found;
}

const Number* Keys::find_number(std::string_view number) const {
    const auto found = std::find_if(numbers_.begin(), numbers_.end(),
                                    [&](const Number& one) { return one.number == number; });
    return found == numbers_.end() ? nullptr : &*found;
}

const Number* Keys::find_number_of(std::string_view account) const {
    const auto found = std::find_if(numbers_.begin(), numbers_.end(),
                                    [&](const Number& one) { return one.caller.who == account; });
    return found == numbers_.end() ? nullptr : &*found;
}

std::string parse_number(std::string_view text) {
    constexpr std::size_t fewest_digits = 7;
    constexpr std::size_t most_digits = 15;
    std::string number;
    for (const char letter : text) {
        if (std::string_view{" -.()"}.find(letter) == std::string_view::npos) {
            number += letter;
        }
    }
    const bool has_form =
        number.size() > fewest_digits && number.size() <= most_digits + 1 && number[0] == '+' &&
        number.find_first_not_of("0123456789", 1) == std::string::npos && number[1] != '0';
    if (!has_form) {
        throw InputError(
            "a telephone number is + with the code of the country and 7 to 15 digits in all");
    }
    return number;
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
