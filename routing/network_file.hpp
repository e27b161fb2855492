#pragma once
/// A road network, with its hierarchy, as one file that is used where it lies: opening a country
/// takes milliseconds.

#include <cstddef>
#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "routing/hierarchy.hpp"
#include "routing/road_network.hpp"

namespace waybourne::routing {

/// The layout: a header (magic, byte order, version, size, hash of the map it was made from,
/// checksum), a table of blocks, and the blocks, each beginning at a multiple of 64 bytes and
/// filled up with zeros. Numbers are in the byte order of the machine; a file from a machine with
/// the other one is refused. Checksums are CRC-32 (ISO 3309, by zlib): every change within 32
/// neighbouring bits is found for certain, others but for one in 2³².
///
/// Opening checks the header, the table, every size and the small blocks. `verify` checks every
/// byte of the large ones and that all numbers in them point to something; until it has returned,
/// nothing may be asked of the network or the hierarchy but their sizes. Immutable; share it
/// between threads. A network alone is legal too: small ones need no hierarchy.
class NetworkFile {
public:
    /// Maps a file into memory. The file must not be changed while it is open; `write_network_file`
    /// replaces it by a new one, and whoever has the old one open keeps it.
    /// @throws NotFound if there is no such file
    /// @throws DataError saying what is wrong: not a network file, cut short, damaged and where,
    ///         from another version, from a machine of another byte order
    static NetworkFile open(const std::filesystem::path& path);

    /// The same from memory that `keeper` keeps alive. `bytes` must begin at a multiple of 8.
    NetworkFile(std::string name, std::span<const std::byte> bytes,
                std::shared_ptr<const void> keeper);

    /// O(bytes): about a gigabyte per second.
    /// @throws DataError naming the block that is damaged
    void verify() const;

    const std::shared_ptr<const RoadNetwork>& network() const { return network_; }
    /// Made for this network when the map was imported; null where the file has none.
    const std::shared_ptr<const Hierarchy>& hierarchy() const { return hierarchy_; }
    /// Names this network and hierarchy together, for whoever repeats an answer later: SHA-256 over
    /// the header, which holds the checksum of every block and the hash of the source. Not a proof
    /// against forgery, since the checksums are CRC-32.
    const std::string& content_sha256() const { return content_sha256_; }
    /// SHA-256 of the map file, as `write_network_file` was told.
    const std::string& source_sha256() const { return source_sha256_; }

private:
    std::string name_;
    std::span<const std::byte> bytes_;
    std::string source_sha256_;
    std::string content_sha256_;
    std::shared_ptr<const RoadNetwork> network_;
    std::shared_ptr<const Hierarchy> hierarchy_;
};

/// Writes beside `path` and renames when every byte is on the disk (fsync), so that at any moment
/// there is the old file or the new one, whole. The same network gives the same bytes.
/// @param source_sha256 64 hexadecimal digits
/// @param hierarchy of this network, or null
/// @throws InputError if `source_sha256` is not that, or the hierarchy is of another network
/// @throws Unavailable if the file cannot be written; nothing has changed then
void write_network_file(const std::filesystem::path& path, const RoadNetwork& network,
                        const std::string& source_sha256, const Hierarchy* hierarchy = nullptr);

/// Whether the file begins as a network file does, of whatever version, whole or damaged: one that
/// may be made again. False for what is not there or no file.
bool is_network_file(const std::filesystem::path& path);

/// The same bytes, to be sent rather than kept.
/// @throws InputError as `write_network_file`
std::vector<std::byte> network_file_bytes(const RoadNetwork& network,
                                          const std::string& source_sha256,
                                          const Hierarchy* hierarchy = nullptr);

}  // namespace waybourne::routing
