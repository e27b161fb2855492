#pragma once
/// What the journal stores: an event in an envelope, sealed into a chain.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "journal/digest.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::journal {

/// The place of an envelope in the journal: 1, 2, 3 … without gaps. 0 is before the first. The
/// sequence alone is the order of events; clocks may step back.
using Sequence = std::int64_t;

/// One event as the caller gives it. The journal does not look into the body.
struct Entry {
    std::string kind;  ///< what happened, e.g. `referral.opened`; `journal.…` is the journal's own
    std::string subject;  ///< to what, e.g. `referral/7K3M9QXA`
    std::string body;     ///< JSON text, kept byte for byte: the one place for personal data
    bool operator==(const Entry&) const = default;
};

/// What the caller believes the last envelope of a subject to be (0: there is none). How two people
/// who act at once never lose an update.
struct Expectation {
    std::string subject;
    Sequence version = 0;
};

/// Events that are stored together or not at all.
struct Append {
    Instant at;       ///< kept as given, also when earlier than that of the envelope before
    std::string who;  ///< the id of an account, never a person's name
    /// Chosen by the sender, unique among the sender's; empty: this is not a retry and never will
    /// be.
    std::string idempotency_key = {};
    std::vector<Entry> entries;
    std::vector<Expectation> expectations = {};
};

/// One stored event. Everything but salt and body is the header, which is never erased and
/// therefore holds nothing personal.
struct Envelope {
    Sequence sequence = 0;
    Instant at;
    std::string who;
    std::string kind;
    std::string subject;
    std::string idempotency_key;
    int part = 1;   ///< place among those stored together
    int parts = 1;  ///< how many were stored together
    /// 16 random bytes, so that nobody can guess an erased body from its hash. None when redacted.
    std::optional<std::string> salt;
    std::optional<std::string> body;  ///< none when redacted
    Digest content_hash;              ///< of salt and body; stays when they are erased
    Digest hash;                      ///< of the header and the hash of the envelope before

    bool is_redacted() const { return !body.has_value(); }
    bool operator==(const Envelope&) const = default;
};

/// The end of the chain. Written down elsewhere it proves later that nothing before it was changed.
struct Head {
    Sequence sequence = 0;
    Digest hash;
    bool operator==(const Head&) const = default;
};

/// Texts of the header have at most this many bytes; a body at most `max_body_bytes`. Our own
/// limits, no source.
inline constexpr std::size_t max_header_text_bytes = 200;
inline constexpr std::size_t max_body_bytes = 1 << 20;
inline constexpr std::size_t salt_bytes = 16;
/// Events that can be stored together.
inline constexpr std::size_t max_entries = 1000;

/// The years 0 to 9999, which every form of a time can show.
bool is_storable(Instant at);

/// SHA-256 of the salt followed by the body.
Digest content_hash(std::string_view salt, std::string_view body);

/// SHA-256 of these fields, each as a netstring (`length:bytes,`), numbers in decimal digits, the
/// time in seconds since 1970-01-01T00:00:00Z, hashes in hexadecimal digits: `waybourne-journal-1`,
/// the hash before, sequence, at, who, kind, subject, idempotency key, part, parts, content hash.
Digest chain_hash(const Digest& before, const Envelope& envelope);

/// Refuses what must not be stored: nothing to store, an empty or overlong name, a time outside the
/// years 0 to 9999, a body that is not JSON in UTF-8, a kind or subject that is the journal's own,
/// a subject expected twice.
/// @throws InputError with every error found
void check(const Append& append);

}  // namespace waybourne::journal
