#pragma once
/// The keys in force: those of the file, as it is now.

#include <chrono>
#include <filesystem>
#include <memory>
#include <mutex>

#include "server/log.hpp"
#include "server/security/keys.hpp"

namespace waybourne::server {

/// Looks at the file at most once in `look_every`, when somebody asks, and reads it when it has
/// changed: a key that was removed is refused from then on. A file that cannot be read leaves the
/// last good keys in force and is logged: in an emergency a slip of an editor must not shut a
/// district out. May be used from several threads.
class KeyRing {
public:
    /// @throws as `read_keys`; InputError for a key that was not hashed at `cost`
    KeyRing(std::filesystem::path file, HashCost cost, Log& log,
            std::chrono::milliseconds look_every = std::chrono::seconds{2});
    std::shared_ptr<const Keys> keys();

private:
    /// What shows that a file has changed.
    struct Mark {
        unsigned long long inode = 0;
        long long size = 0;
        long long seconds = 0;
        long long nanoseconds = 0;
        bool operator==(const Mark&) const = default;
    };
    static Mark mark_of(const std::filesystem::path& file);
    std::shared_ptr<const Keys> read() const;

    std::filesystem::path file_;
    HashCost cost_;
    Log& log_;
    std::chrono::milliseconds look_every_;
    std::mutex mutex_;
    Mark mark_;
    std::chrono::steady_clock::time_point looked_at_;
    std::shared_ptr<const Keys> keys_;
};

}  // namespace waybourne::server
