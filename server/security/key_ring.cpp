#include "server/security/key_ring.hpp"

#include <sys/stat.h>

#include "vocabulary/error.hpp"

namespace waybourne::server {

using std::chrono::steady_clock;

KeyRing::KeyRing(std::filesystem::path file, HashCost cost, Log& log,
                 std::chrono::milliseconds look_every)
    : file_(std::move(file)),
      cost_(cost),
      log_(log),
      look_every_(look_every),
      mark_(mark_of(file_)),
      looked_at_(steady_clock::now()),
      keys_(read()) {}

KeyRing::Mark KeyRing::mark_of(const std::filesystem::path& file) {
    struct stat about {};
    if (::stat(file.c_str(), &about) != 0) {
        return {};
    }
    return {about.st_ino, about.st_size, about.st_mtim.tv_sec, about.st_mtim.tv_nsec};
}

std::shared_ptr<const Keys> KeyRing::read() const {
    auto keys = std::make_shared<const Keys>(read_keys(file_));
    for (const Key& key : keys->all()) {
        if (!is_of_cost(key.hash, cost_)) {
            throw InputError("account " + key.caller.who +
                             ": its key is hashed at another cost than ours; remove it and add it "
                             "anew");
        }
    }
    return keys;
}

std::shared_ptr<const Keys> KeyRing::keys() {
    const std::lock_guard lock{mutex_};
    const auto now = steady_clock::now();
    if (now - looked_at_ < look_every_) {
        return keys_;
    }
    looked_at_ = now;
    const Mark mark = mark_of(file_);
    if (mark == mark_) {
        return keys_;
    }
    mark_ = mark;
    try {
        keys_ = read();
        log_.event(Level::info, "keys_read", {{"keys", std::to_string(keys_->all().size())}});
    } catch (const std::exception&) {
        log_.event(Level::error, "keys_unreadable",
                   {{"effect", "those read before stay in force"}});
    }
    return keys_;
}

}  // namespace waybourne::server
