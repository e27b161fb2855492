#include "server/security/sessions.hpp"

#include <algorithm>
#include <sstream>

#include "server/security/private_text.hpp"
#include "server/security/secret.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

constexpr std::size_t digest_length = 64;

/// `digest key seconds`, the seconds since 1970.
std::string to_line(const std::string& digest, const std::string& key_id, Instant until) {
    return digest + " " + key_id + " " + std::to_string(until.time_since_epoch().count()) + "\n";
}

}  // namespace

Sessions::Sessions(std::filesystem::path file, Instant now, SessionLimits limits)
    : file_(std::move(file)), limits_(limits) {
    if (!file_.empty()) {
        read(now);
        write_all();
    }
}

void Sessions::read(Instant now) {
    std::istringstream lines{read_private_text(file_).value_or("")};
    for (std::string line; std::getline(lines, line);) {
        if (lines.eof()) {
            break;  // the process ended while it wrote this one: nobody was given its secret
        }
        std::istringstream parts{line};
        std::string digest;
        Grant grant;
        Seconds::rep until = 0;
        parts >> digest >> grant.key_id >> until;
        if (!parts || digest.size() != digest_length) {
            throw DataError(file_.string() +
                            ": a line is damaged; without this file every phone "
                            "asks for its key again");
        }
        grant.until = Instant{Seconds{until}};
        refreshes_[digest] = grant;  // the last line of a digest holds
    }
    std::erase_if(refreshes_, [&](const auto& one) { return one.second.until <= now; });
}

void Sessions::write_all() const {
    std::string text;
    for (const auto& [digest, grant] : refreshes_) {
        text += to_line(digest, grant.key_id, grant.until);
    }
    replace_private_text(file_, text);
}

void Sessions::note(const std::string& digest, const Grant& grant) const {
    if (!file_.empty()) {
        append_private_text(file_, to_line(digest, grant.key_id, grant.until));
    }
}

void Sessions::make_room(Grants& grants, const std::string& key_id, std::size_t most, Instant now) {
    std::erase_if(grants, [&](const auto& one) { return one.second.until <= now; });
    for (;;) {
        std::size_t count = 0;
        auto oldest = grants.end();
        for (auto one = grants.begin(); one != grants.end(); ++one) {
            if (one->second.key_id == key_id) {
                ++count;
                if (oldest == grants.end() || one->second.until < oldest->second.until) {
                    oldest = one;
                }
            }
        }
        if (count < most) {
            return;
        }
        grants.erase(oldest);
    }
}

std::string Sessions::new_token(const std::string& key_id, Instant now) {
    make_room(tokens_, key_id, limits_.tokens_per_key, now);
    std::string token = random_secret();
    tokens_[digest_of_secret(token)] = {key_id, now + limits_.token_life};
    return token;
}

Session Sessions::open(const std::string& key_id, Instant now) {
    const std::string refresh = random_secret();
    const std::string digest = digest_of_secret(refresh);
    const Grant grant{key_id, now + limits_.refresh_life};
    const std::lock_guard lock{mutex_};
    make_room(refreshes_, key_id, limits_.refreshes_per_key, now);
    note(digest, grant);
    refreshes_[digest] = grant;
    return {new_token(key_id, now), now + limits_.token_life, refresh, grant.until};
}

std::optional<Session> Sessions::renew(std::string_view refresh, Instant now) {
    const std::string digest = digest_of_secret(refresh);
    const std::lock_guard lock{mutex_};
    const auto found = refreshes_.find(digest);
    if (found == refreshes_.end() || found->second.until <= now) {
        return std::nullopt;
    }
    Grant& grant = found->second;
    if (now + limits_.refresh_life >= grant.until + limits_.refresh_step) {
        const Grant longer{grant.key_id, now + limits_.refresh_life};
        note(digest, longer);
        grant = longer;
    }
    return Session{new_token(grant.key_id, now), now + limits_.token_life, std::string{refresh},
                   grant.until};
}

std::optional<std::string> Sessions::find(const Grants& grants, std::string_view secret,
                                          Instant now) {
    const auto found = grants.find(digest_of_secret(secret));
    if (found == grants.end() || found->second.until <= now) {
        return std::nullopt;
    }
    return found->second.key_id;
}

std::optional<std::string> Sessions::key_of_token(std::string_view token, Instant now) const {
    const std::lock_guard lock{mutex_};
    return find(tokens_, token, now);
}

std::optional<std::string> Sessions::key_of_refresh(std::string_view refresh, Instant now) const {
    const std::lock_guard lock{mutex_};
    return find(refreshes_, refresh, now);
}

}  // namespace waybourne::server
