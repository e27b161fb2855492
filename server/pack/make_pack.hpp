#pragma once
/// Making a district pack, and opening one where libsodium and zlib are: on a server.

#include <array>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "server/snapshot.hpp"

namespace waybourne::server {

/// The server's own key pair for packs (Ed25519, RFC 8032, by libsodium).
class PackKey {
public:
    /// A new one, from the operating system's random numbers.
    PackKey();
    /// The one that a seed of 64 hexadecimal digits gives.
    /// @throws InputError
    explicit PackKey(std::string_view seed);
    ~PackKey();
    PackKey(const PackKey&) = default;
    PackKey& operator=(const PackKey&) = default;

    /// 64 hexadecimal digits; whoever has it can check packs, and not make any.
    const std::string& public_key() const { return public_key_; }
    /// The signature as 64 bytes.
    std::string sign(std::string_view bytes) const;
    /// The seed, to be kept where only the server reads it.
    std::string seed() const;

private:
    std::array<unsigned char, 64> secret_{};
    std::string public_key_;
};

/// The key of a file that only its owner may read; made when it is not there.
/// @throws InputError when others may read it or it holds something else
/// @throws Unavailable when it cannot be written
PackKey load_pack_key(const std::filesystem::path& file);

/// The whole pack as a file. The same snapshot and key give the same bytes.
std::string make_pack(const Snapshot& snapshot, const PackKey& key);

/// What a pack holds, after everything about it was checked.
/// @param public_key whom to trust
/// @throws DataError saying why it cannot be used
std::shared_ptr<const Snapshot> open_pack(std::string_view file, std::string_view public_key);

}  // namespace waybourne::server
