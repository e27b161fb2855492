#include <fcntl.h>
#include <fmt/format.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>

#include "routing/internal/network_format.hpp"
#include "routing/network_file.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

using Bytes = std::span<const std::byte>;

/// A file in memory for as long as somebody holds it.
class Mapping {
public:
    explicit Mapping(const std::filesystem::path& path) {
        const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
        if (file < 0) {
            if (errno == ENOENT) {
                throw NotFound(fmt::format("{}: no such file", path.string()));
            }
            throw DataError(
                fmt::format("{}: cannot be opened: {}", path.string(), std::strerror(errno)));
        }
        struct stat status {};
        const bool is_file = ::fstat(file, &status) == 0 && S_ISREG(status.st_mode);
        if (is_file && status.st_size > 0) {
            size_ = static_cast<std::size_t>(status.st_size);
            address_ = ::mmap(nullptr, size_, PROT_READ, MAP_SHARED, file, 0);
        }
        ::close(file);
        if (!is_file || address_ == MAP_FAILED) {
            throw DataError(path.string() + ": cannot be mapped into memory");
        }
    }
    ~Mapping() {
        if (address_ != nullptr && address_ != MAP_FAILED) {
            ::munmap(address_, size_);
        }
    }
    Mapping(const Mapping&) = delete;
    Mapping& operator=(const Mapping&) = delete;
    Mapping(Mapping&&) = delete;
    Mapping& operator=(Mapping&&) = delete;

    Bytes bytes() const { return {static_cast<const std::byte*>(address_), size_}; }

private:
    void* address_ = nullptr;
    std::size_t size_ = 0;
};

}  // namespace

NetworkFile NetworkFile::open(const std::filesystem::path& path) {
    auto mapping = std::make_shared<const Mapping>(path);
    const Bytes bytes = mapping->bytes();
    return {path.string(), bytes, std::move(mapping)};
}

bool is_network_file(const std::filesystem::path& path) {
    std::array<char, network_magic.size()> begin{};
    std::ifstream file{path, std::ios::binary};
    return file.read(begin.data(), begin.size()) && begin == network_magic;
}

}  // namespace waybourne::routing
