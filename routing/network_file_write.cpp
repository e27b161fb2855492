#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstddef>
#include <cstdlib>
#include <cstring>

#include "routing/internal/network_format.hpp"
#include "routing/network_file.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

using Bytes = std::span<const std::byte>;

struct BlockContent {
    Bytes bytes;
    std::uint32_t element_size = 1;
};

using Contents = std::array<BlockContent, block_count>;

template <typename Element>
BlockContent content(std::span<const Element> array) {
    // Written as they lie in memory; a gap between members would write whatever stood there.
    static_assert(std::has_unique_object_representations_v<Element>);
    return {std::as_bytes(array), sizeof(Element)};
}

/// A file beside the one to be replaced, gone again unless it is kept.
class NewFile {
public:
    explicit NewFile(const std::filesystem::path& target)
        : target_(target), name_(target.string() + ".new-XXXXXX") {
        file_ = ::mkstemp(name_.data());
        if (file_ < 0) {
            fail("cannot be made");
        }
    }
    ~NewFile() {
        if (file_ >= 0) {
            ::close(file_);
            ::unlink(name_.c_str());
        }
    }
    NewFile(const NewFile&) = delete;
    NewFile& operator=(const NewFile&) = delete;
    NewFile(NewFile&&) = delete;
    NewFile& operator=(NewFile&&) = delete;

    void write(Bytes bytes) {
        while (!bytes.empty()) {
            const ssize_t written = ::write(file_, bytes.data(), bytes.size());
            if (written < 0 && errno != EINTR) {
                fail("cannot be written");
            }
            bytes = bytes.subspan(written > 0 ? static_cast<std::size_t>(written) : 0);
        }
    }

    /// Puts it in the target's place, for good: a power cut afterwards does not undo it.
    void keep() {
        constexpr mode_t readable_by_all = 0644;
        if (::fchmod(file_, readable_by_all) != 0 || ::fsync(file_) != 0) {
            fail("cannot be brought to the disk");
        }
        if (::rename(name_.c_str(), target_.c_str()) != 0) {
            fail("cannot be put in place");
        }
        ::close(file_);
        file_ = -1;
        const std::filesystem::path parent = target_.parent_path();
        const int folder = ::open(parent.empty() ? "." : parent.c_str(), O_RDONLY | O_DIRECTORY);
        if (folder >= 0) {
            ::fsync(folder);
            ::close(folder);
        }
    }

private:
    [[noreturn]] void fail(const char* what) const {
        throw Unavailable(fmt::format("{}: {}: {}", target_.string(), what, std::strerror(errno)));
    }

    std::filesystem::path target_;
    std::string name_;
    int file_ = -1;
};

void check_sha256(const std::string& text) {
    const bool is_good = text.size() == sizeof(NetworkHeader::source_sha256) &&
                         text.find_first_not_of("0123456789abcdef") == std::string::npos;
    if (!is_good) {
        throw InputError(fmt::format("'{}' is not a SHA-256 of 64 hexadecimal digits", text));
    }
}

Contents contents_of(const NetworkArrays& arrays, const std::vector<std::byte>& attributes,
                     const std::vector<std::byte>& ferries, const HierarchyArrays& hierarchy) {
    Contents all{content(arrays.node_points),    content(arrays.node_components),
                 content(arrays.first_out),      content(arrays.arc_heads),
                 content(arrays.arc_pieces),     content(arrays.arc_means),
                 content(arrays.pieces),         content(arrays.shape_points),
                 content(arrays.name_first),     content(arrays.name_characters),
                 content(std::span{attributes}), content(std::span{ferries}),
                 content(arrays.node_copies),    content(arrays.piece_copies)};
    for_each_block(hierarchy, [&](const auto& array, Block block) {
        all[static_cast<std::size_t>(block)] = content(array);
    });
    return all;
}

constexpr std::array<std::byte, block_alignment> zeros{};

Bytes padding_of(Bytes bytes) {
    return Bytes{zeros}.first(padded(bytes.size()) - bytes.size());
}

std::uint32_t padded_checksum(Bytes bytes) {
    std::uint32_t sum = checksum_of(bytes);
    return checksum_of(padding_of(bytes), sum);
}

NetworkHeader header_of(const Contents& contents, const std::string& source_sha256,
                        std::uint32_t hierarchy_height) {
    NetworkHeader header;
    header.hierarchy_height = hierarchy_height;
    std::copy(source_sha256.begin(), source_sha256.end(), header.source_sha256.begin());
    std::uint64_t place = sizeof(NetworkHeader);
    for (std::size_t i = 0; i < block_count; ++i) {
        const Bytes bytes = contents[i].bytes;
        header.blocks[i] = {place, bytes.size(), padded_checksum(bytes), contents[i].element_size};
        place += padded(bytes.size());
    }
    header.file_bytes = place;
    const Bytes whole{reinterpret_cast<const std::byte*>(&header), sizeof header};
    header.checksum = checksum_of(whole.first(offsetof(NetworkHeader, checksum)));
    return header;
}

/// Hands over the whole file, piece by piece.
template <typename Put>
void write_network(const RoadNetwork& network, const std::string& source_sha256,
                   const Hierarchy* hierarchy, const Put& put) {
    const HierarchyArrays arrays = hierarchy != nullptr ? hierarchy->arrays() : HierarchyArrays{};
    const std::vector<std::byte> attributes = pack_attributes(network.attributes());
    const std::vector<std::byte> ferries = pack_ferries(network.ferries());
    const Contents contents = contents_of(network.arrays(), attributes, ferries, arrays);
    const NetworkHeader header = header_of(contents, source_sha256, arrays.height);
    put({reinterpret_cast<const std::byte*>(&header), sizeof header});
    for (const BlockContent& block : contents) {
        put(block.bytes);
        put(padding_of(block.bytes));
    }
}

void check(const RoadNetwork& network, const std::string& source_sha256,
           const Hierarchy* hierarchy) {
    check_sha256(source_sha256);
    if (hierarchy != nullptr && (hierarchy->node_count() != network.node_count() ||
                                 hierarchy->network_arc_count() != network.arc_count())) {
        throw InputError("the hierarchy was made from another network than it is to be kept with");
    }
}

}  // namespace

void write_network_file(const std::filesystem::path& path, const RoadNetwork& network,
                        const std::string& source_sha256, const Hierarchy* hierarchy) {
    check(network, source_sha256, hierarchy);
    NewFile file{path};
    write_network(network, source_sha256, hierarchy, [&](Bytes bytes) { file.write(bytes); });
    file.keep();
}

std::vector<std::byte> network_file_bytes(const RoadNetwork& network,
                                          const std::string& source_sha256,
                                          const Hierarchy* hierarchy) {
    check(network, source_sha256, hierarchy);
    std::vector<std::byte> all;
    write_network(network, source_sha256, hierarchy,
                  [&](Bytes bytes) { all.insert(all.end(), bytes.begin(), bytes.end()); });
    return all;
}

}  // namespace waybourne::routing
