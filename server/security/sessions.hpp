#pragma once
/// What a key is exchanged for: a short-lived token for every request, and a refresh secret that
/// gets the next token without the key.

#include <deque>
#include <filesystem>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>

#include "vocabulary/time.hpp"

namespace waybourne::server {

/// How long and how many. Ours, no source: a token lives a quarter of an hour, so that one that
/// leaks is soon worth nothing; a refresh secret lives 30 days from its last use, so that a phone
/// that was offline for 14 days, twice that, comes back without its key.
struct SessionLimits {
    Seconds token_life = 15min;
    Seconds refresh_life = 30 * 24h;
    /// A use that would make it live this much longer is written down.
    Seconds refresh_step = 24h;
    /// The oldest gives way.
    std::size_t tokens_per_key = 16;
    std::size_t refreshes_per_key = 4;
};

struct Session {
    std::string token;
    Instant token_until{};
    std::string refresh;
    Instant refresh_until{};
};

/// Holds digests only. Tokens live in memory and end with the process; refresh secrets stand in a
/// private file, so that a restart locks nobody out. Which key a secret belongs to is told; whether
/// that key still exists is the caller's to ask, each time. May be used from several threads.
class Sessions {
public:
    /// Reads `file`, makes it when it is not there, and leaves out what has run out.
    /// @param file empty: refresh secrets end with the process too
    /// @throws InputError when others may read it; Unavailable
    Sessions(std::filesystem::path file, Instant now, SessionLimits limits = {});

    /// @throws Unavailable when the refresh secret cannot be written down
    Session open(const std::string& key_id, Instant now);
    /// The same refresh secret, living longer, with a new token; none when it is unknown or has run
    /// out. It is not replaced: an answer lost on the way would lock the phone out.
    std::optional<Session> renew(std::string_view refresh, Instant now);

    std::optional<std::string> key_of_token(std::string_view token, Instant now) const;
    std::optional<std::string> key_of_refresh(std::string_view refresh, Instant now) const;

private:
    struct Grant {
        std::string key_id;
        Instant until{};
    };
    using Grants = std::map<std::string, Grant>;  ///< by digest

    void read(Instant now);
    void write_all() const;
    void note(const std::string& digest, const Grant& grant) const;
    std::string new_token(const std::string& key_id, Instant now);
    static std::optional<std::string> find(const Grants& grants, std::string_view secret,
                                           Instant now);
    static void make_room(Grants& grants, const std::string& key_id, std::size_t most, Instant now);

    std::filesystem::path file_;
    SessionLimits limits_;
    mutable std::mutex mutex_;
    Grants tokens_;
    Grants refreshes_;
};

}  // namespace waybourne::server
