#include "server/pack/pack_shelf.hpp"

#include "vocabulary/sha256.hpp"

namespace waybourne::server {

std::shared_ptr<const PackFile> PackShelf::pack_of(
    const std::shared_ptr<const Snapshot>& snapshot) {
    const std::lock_guard lock{mutex_};
    if (snapshot_ != snapshot) {
        std::string bytes = make_pack(*snapshot, key_);
        std::string hash = sha256(bytes);
        before_ = std::exchange(
            newest_, std::make_shared<const PackFile>(PackFile{std::move(bytes), std::move(hash)}));
        snapshot_ = snapshot;
    }
    return newest_;
}

std::shared_ptr<const PackFile> PackShelf::find(std::string_view sha256) const {
    const std::lock_guard lock{mutex_};
    for (const auto& pack : {newest_, before_}) {
        if (pack && pack->sha256 == sha256) {
            return pack;
        }
    }
    return nullptr;
}

}  // namespace waybourne::server
