#pragma once
/// Secrets: made, shown once, and kept only as what cannot be turned back.

#include <cstddef>
#include <string>
#include <string_view>

namespace waybourne::server {

/// What hashing a key costs whoever guesses, and us once per exchange.
struct HashCost {
    /// Passes over the memory.
    unsigned long long passes = 2;
    std::size_t memory_bytes = 19'456UL * 1024;
};

/// argon2id with 19 MiB, two passes, one lane (OWASP Password Storage Cheat Sheet, argon2id: the
/// smallest of its settings in time, sized for one cheap machine: some 30 ms).
inline constexpr HashCost production_cost{};

/// 256 random bits from the operating system as 43 letters of base64url (RFC 4648, section 5).
std::string random_secret();

/// Eight letters and digits without look-alikes: names a key, is no secret.
std::string random_id();

/// argon2id of the secret with its salt and cost, as libsodium writes it.
/// @throws Unavailable when there is not enough memory
std::string hash_secret(std::string_view secret, HashCost cost);

/// Takes as long for a wrong secret as for the right one.
bool is_secret(const std::string& hash, std::string_view secret);

/// Whether the hash was made at exactly this cost.
bool is_of_cost(const std::string& hash, HashCost cost);

/// SHA-256 of a secret, in hexadecimal. Enough for 256 random bits, which nobody can guess; never
/// for what a person has chosen.
std::string digest_of_secret(std::string_view secret);

/// The rest of an `Authorization` field after `scheme`, in small letters, and a space; empty for
/// another scheme. Schemes ignore capitals (RFC 9110, section 11.1).
std::string_view credentials(std::string_view authorization, std::string_view scheme);

/// What a program that has no key of ours shows as `Authorization: Bearer SECRET`. Kept as its
/// digest; one that was made from nothing is shown by nobody.
class BearerSecret {
public:
    BearerSecret() = default;
    explicit BearerSecret(std::string_view secret) : digest_(digest_of_secret(secret)) {}
    /// Digests are compared, so that the time taken tells nothing of the secret.
    bool is_shown_in(std::string_view authorization) const;

private:
    std::string digest_;
};

}  // namespace waybourne::server
