#pragma once
/// Who comes in: everything that is decided about a request by its key, its address and its path.

#include <chrono>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "server/caller.hpp"
#include "server/log.hpp"
#include "server/security/access.hpp"
#include "server/security/key_ring.hpp"
#include "server/security/limits.hpp"
#include "server/security/secret.hpp"
#include "server/security/sessions.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::server {

/// Ours, sized for one small machine and a district's phones (common practice, no source).
struct GuardSettings {
    HashCost cost = production_cost;
    SessionLimits sessions = {};
    /// Of one key, for what can wait and for what cannot.
    Rate ordinary{10, 30};
    Rate urgent{10, 30};
    /// Of one key, at once.
    std::size_t concurrent = 8;
    /// Of one key, for squares of the map.
    Rate squares{30, 150};
    /// Of one address, for whoever shows no valid token.
    Rate anonymous{20, 100};
    /// Of one address, for the page's files: ten phones that load it at once.
    Rate files{100, 600};
    /// What the gateway of text messages shows, and what it may bring then, wherever it is: after
    /// an outage a district's messages of some hours come at once.
    BearerSecret gateway_secret = {};
    Rate gateway{100, 1'000};
    /// Wrong keys of one address: twenty, then one in three seconds.
    Rate failures{1.0 / 3, 20};
    /// Keys being hashed at once, waiting for it, for how long, and of one address: 19 MiB and a
    /// processor each.
    std::size_t hashing = 2;
    std::size_t hashing_queue = 16;
    std::chrono::milliseconds hashing_patience{5'000};
    std::size_t hashing_of_one_address = 2;
    std::chrono::milliseconds look_at_keys_every{2'000};
};

/// What is known before a body is read.
struct Visit {
    std::string_view method;
    std::string_view pattern;
    std::string_view authorization;
    /// Only to be compared: never stored, never logged.
    std::string address;
};

struct Admission {
    Caller caller;
    const Access* access = nullptr;
    std::string key_id = {};  ///< empty for what needs none
    /// To be held until the answer is made.
    std::shared_ptr<void> place;
};

/// What a key was exchanged for, and what its holder is taken for.
struct Exchanged {
    Session session;
    Caller caller;
};

/// May be used from several threads.
class Guard {
public:
    /// Refresh secrets stand beside the keys, in `keys_file` + `.sessions`.
    /// @throws as `KeyRing` and `Sessions`
    Guard(const std::filesystem::path& keys_file, const Clock& clock, Log& log,
          const GuardSettings& settings = {});

    /// Judges by `Authorization: Bearer TOKEN`.
    /// @throws HttpRefusal 401, 403, 429
    Admission admit(const Visit& visit);

    /// Whether the key that was admitted still is one, for answers that do not end.
    bool is_in_force(const Admission& admission);

    /// Judges by `Authorization: Waybourne-Key ID.SECRET` or `Waybourne-Refresh SECRET`. An unknown
    /// id takes as long as a wrong secret and is told the same.
    /// @throws HttpRefusal 401, 429, 503
    Exchanged exchange(std::string_view authorization, const std::string& address);

    std::shared_ptr<const Keys> keys() { return ring_.keys(); }

private:
    Key check_key(std::string_view text, const std::string& address);
    const Key* key_of_token(const Keys& keys, std::string_view authorization) const;

    GuardSettings settings_;
    const Clock& clock_;
    KeyRing ring_;
    Sessions sessions_;
    RateLimiter ordinary_;
    RateLimiter urgent_;
    RateLimiter squares_;
    RateLimiter anonymous_;
    RateLimiter files_;
    RateLimiter gateway_;
    RateLimiter failures_;
    Concurrency under_way_;
    Concurrency hashing_of_address_;
    Seats hashing_;
    std::string nobodys_hash_;
};

/// What of a peer's address counts as one: all of an IPv4 address, the first 64 bits of an IPv6
/// one (RFC 6177: one site has at least that many addresses to itself).
std::string network_of(int socket);

}  // namespace waybourne::server
