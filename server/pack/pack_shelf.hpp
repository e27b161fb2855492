#pragma once
/// The packs that a server gives away.

#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <utility>

#include "server/pack/make_pack.hpp"

namespace waybourne::server {

/// A pack as it is sent.
struct PackFile {
    std::string bytes;
    std::string sha256;
};

/// Makes the pack of a snapshot when it is first asked for, and keeps it until another snapshot is
/// in force; the one before that can still be had by its hash. Safe from any thread: whoever asks
/// while it is made waits for it.
class PackShelf {
public:
    explicit PackShelf(const PackKey& key) : key_(key) {}

    const std::string& public_key() const { return key_.public_key(); }
    /// A district takes about a tenth of a second the first time.
    std::shared_ptr<const PackFile> pack_of(const std::shared_ptr<const Snapshot>& snapshot);
    /// Null when it is neither of the last two.
    std::shared_ptr<const PackFile> find(std::string_view sha256) const;

private:
    PackKey key_;
    mutable std::mutex mutex_;
    std::shared_ptr<const Snapshot> snapshot_;
    std::shared_ptr<const PackFile> newest_;
    std::shared_ptr<const PackFile> before_;
};

}  // namespace waybourne::server
