#include "routing/network_file.hpp"

#include <doctest/doctest.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <csignal>
#include <cstring>
#include <fstream>

#include "routing/customise.hpp"
#include "routing/internal/network_format.hpp"
#include "routing/network_builder.hpp"
#include "routing/prepared_metric.hpp"
#include "routing/up_search.hpp"
#include "tests/routing/map_fixture.hpp"
#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::routing;
using namespace waybourne::tests;

namespace {

const std::string some_hash(64, 'a');

/// A folder of its own, gone at the end of the test.
class Folder {
public:
    Folder() {
        std::string name = std::filesystem::temp_directory_path() / "network_file_XXXXXX";
        REQUIRE(::mkdtemp(name.data()) != nullptr);
        path_ = name;
    }
    ~Folder() { std::filesystem::remove_all(path_); }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    std::filesystem::path operator/(const char* name) const { return path_ / name; }
    std::size_t file_count() const {
        return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator{path_},
                                                      std::filesystem::directory_iterator{}));
    }

private:
    std::filesystem::path path_;
};

/// Bytes that begin at a multiple of 64, as a mapping does.
class AlignedBytes {
public:
    explicit AlignedBytes(const std::string& content)
        : lines_(content.size() / sizeof(Line) + 1), size_(content.size()) {
        std::memcpy(lines_.data(), content.data(), content.size());
    }
    std::span<std::byte> span() { return {lines_.front().bytes.data(), size_}; }

private:
    struct alignas(64) Line {
        std::array<std::byte, 64> bytes;
    };
    std::vector<Line> lines_;
    std::size_t size_;
};

/// A small network with everything in it: shapes, names, ferries with and without timetable, and
/// the hierarchy.
std::string small_file() {
    static const std::string content = [] {
        const Folder folder;
        const RoadNetwork network = import_fixture("ferry_stop").network;
        write_network_file(folder / "small", network, some_hash, make_hierarchy(network).get());
        return file_content(folder / "small");
    }();
    return content;
}

/// Checksums set right after the content was changed.
void mend(std::string& content) {
    NetworkHeader header;
    std::memcpy(&header, content.data(), sizeof header);
    for (BlockEntry& block : header.blocks) {
        block.checksum = checksum_of(
            std::as_bytes(std::span{content}).subspan(block.offset, padded(block.bytes)));
    }
    header.checksum = checksum_of(
        {reinterpret_cast<const std::byte*>(&header), offsetof(NetworkHeader, checksum)});
    std::memcpy(content.data(), &header, sizeof header);
}

NetworkHeader header_of(const std::string& content) {
    NetworkHeader header;
    std::memcpy(&header, content.data(), sizeof header);
    return header;
}

void put_header(std::string& content, NetworkHeader header) {
    const std::span<const std::byte> bytes{reinterpret_cast<const std::byte*>(&header),
                                           offsetof(NetworkHeader, checksum)};
    header.checksum = checksum_of(bytes);
    std::memcpy(content.data(), &header, sizeof header);
}

/// What opening and verifying says; empty when all is well.
std::string refusal(std::span<const std::byte> bytes) {
    try {
        NetworkFile{"file", bytes, nullptr}.verify();
    } catch (const DataError& error) {
        return error.what();
    }
    return {};
}

std::string refusal(const std::string& content) {
    AlignedBytes bytes{content};
    return refusal(bytes.span());
}

void check_same(const RoadNetwork& a, const RoadNetwork& b) {
    const auto same = [](const auto& x, const auto& y) {
        return std::equal(x.begin(), x.end(), y.begin(), y.end());
    };
    CHECK(same(a.arrays().node_points, b.arrays().node_points));
    CHECK(same(a.arrays().node_components, b.arrays().node_components));
    CHECK(same(a.arrays().first_out, b.arrays().first_out));
    CHECK(same(a.arrays().arc_heads, b.arrays().arc_heads));
    CHECK(same(a.arrays().arc_pieces, b.arrays().arc_pieces));
    CHECK(same(a.arrays().arc_means, b.arrays().arc_means));
    CHECK(same(a.pieces(), b.pieces()));
    CHECK(same(a.arrays().shape_points, b.arrays().shape_points));
    CHECK(same(a.arrays().name_first, b.arrays().name_first));
    CHECK(same(a.arrays().name_characters, b.arrays().name_characters));
    CHECK(a.attributes() == b.attributes());
    CHECK(a.ferries() == b.ferries());
}

void check_same(HierarchyArrays a, HierarchyArrays b) {
    std::vector<std::vector<std::byte>> of_a;
    std::vector<std::vector<std::byte>> of_b;
    const auto take = [](auto& into) {
        return [&into](const auto& array, Block) {
            const auto bytes = std::as_bytes(array);
            into.emplace_back(bytes.begin(), bytes.end());
        };
    };
    for_each_block(a, take(of_a));
    for_each_block(b, take(of_b));
    CHECK(of_a == of_b);
    CHECK(a.height == b.height);
    CHECK(a.network_arcs == b.network_arcs);
}

/// What following every arc of the hierarchy in every way the program does would trip over.
void use(const Hierarchy& hierarchy) {
    const std::vector<Time> values(hierarchy.network_arc_count(), Time{1});
    auto weights = customised<Time>(hierarchy, values, 1);
    std::vector<UpArc> all;
    for (std::uint32_t arc = 0; arc < hierarchy.arc_count(); ++arc) {
        all.push_back({hierarchy.arrays().tail(arc), arc});
    }
    CHECK(customise_again<Time>(hierarchy, values, all, weights).empty());
    UpSearch<Time> search{hierarchy};
    for (std::uint32_t rank = 0; rank < hierarchy.node_count(); ++rank) {
        search.run(hierarchy, weights, rank, Time::none(), UpSearch<Time>::Direction::from_here);
    }
}

}  // namespace

TEST_CASE("What is written is read back, every road, name and sailing") {
    for (const char* name : {"ferries", "surface", "barriers", "shape", "marks", "islands"}) {
        CAPTURE(name);
        const Folder folder;
        const RoadNetwork network = import_fixture(name).network;
        write_network_file(folder / "roads", network, some_hash);
        const NetworkFile file = NetworkFile::open(folder / "roads");
        CHECK_NOTHROW(file.verify());
        CHECK(file.source_sha256() == some_hash);
        check_same(*file.network(), network);
    }
}

TEST_CASE("The hierarchy is kept with its network, and one hash names both") {
    const Folder folder;
    const RoadNetwork network = import_fixture("islands").network;
    const auto hierarchy = make_hierarchy(network);
    write_network_file(folder / "with", network, some_hash, hierarchy.get());
    write_network_file(folder / "again", network, some_hash, make_hierarchy(network).get());
    write_network_file(folder / "without", network, some_hash);
    const NetworkFile with = NetworkFile::open(folder / "with");
    const NetworkFile without = NetworkFile::open(folder / "without");
    CHECK_NOTHROW(with.verify());
    CHECK_NOTHROW(without.verify());
    REQUIRE(with.hierarchy() != nullptr);
    CHECK(without.hierarchy() == nullptr);
    check_same(*with.network(), network);
    check_same(with.hierarchy()->arrays(), hierarchy->arrays());
    CHECK(file_content(folder / "with") == file_content(folder / "again"));
    CHECK(with.content_sha256() == NetworkFile::open(folder / "again").content_sha256());
    CHECK(with.content_sha256() != without.content_sha256());
    CHECK(with.content_sha256().size() == 64);
}

TEST_CASE("A hierarchy outlives the file object, and answers as one just made") {
    const Folder folder;
    const RoadNetwork network = import_fixture("ferries").network;
    const auto made = make_hierarchy(network);
    std::shared_ptr<const Hierarchy> kept;
    {
        write_network_file(folder / "roads", network, some_hash, made.get());
        kept = NetworkFile::open(folder / "roads").hierarchy();
        std::filesystem::remove(folder / "roads");
    }
    std::vector<Time> values(network.arc_count());
    for (std::uint32_t i = 0; i < values.size(); ++i) {
        values[i] = Time{10 + 7 * i % 31};
    }
    CHECK(customised<Time>(*kept, values) == customised<Time>(*made, values));
}

TEST_CASE("The network outlives the file object, and the file's removal") {
    const Folder folder;
    std::shared_ptr<const RoadNetwork> network;
    {
        write_network_file(folder / "roads", import_fixture("shape").network, some_hash);
        network = NetworkFile::open(folder / "roads").network();
        std::filesystem::remove(folder / "roads");
    }
    check_same(*network, import_fixture("shape").network);
}

TEST_CASE("The same network gives the same bytes") {
    const Folder folder;
    write_network_file(folder / "a", import_fixture("ferries").network, some_hash);
    write_network_file(folder / "b", import_fixture("ferries").network, some_hash);
    CHECK(file_content(folder / "a") == file_content(folder / "b"));
}

TEST_CASE("A district without roads is a file too") {
    const Folder folder;
    NetworkBuilder builder;
    builder.add_node(GeoPoint{Latitude{0}, Longitude{0}});
    write_network_file(folder / "bare", builder.build(), some_hash);
    const NetworkFile file = NetworkFile::open(folder / "bare");
    CHECK_NOTHROW(file.verify());
    CHECK(file.network()->node_count() == 1);
    CHECK(file.network()->piece_count() == 0);
}

TEST_CASE("A new file replaces the old one whole, and leaves nothing else behind") {
    const Folder folder;
    write_network_file(folder / "roads", import_fixture("shape").network, some_hash);
    const NetworkFile old = NetworkFile::open(folder / "roads");
    write_network_file(folder / "roads", import_fixture("islands").network, std::string(64, 'b'));
    CHECK(NetworkFile::open(folder / "roads").source_sha256() == std::string(64, 'b'));
    CHECK_NOTHROW(old.verify());  // whoever has the old one open keeps it
    CHECK(old.source_sha256() == some_hash);
    CHECK(folder.file_count() == 1);
}

TEST_CASE("When the disk is full the old file stays as it was") {
    const Folder folder;
    write_network_file(folder / "roads", import_fixture("shape").network, some_hash);
    const std::string before = file_content(folder / "roads");
    // Files of this process may not grow beyond 1000 bytes; a write past that fails.
    struct rlimit usual {};
    REQUIRE(::getrlimit(RLIMIT_FSIZE, &usual) == 0);
    struct rlimit tight = usual;
    tight.rlim_cur = 1000;
    const auto previous = ::signal(SIGXFSZ, SIG_IGN);
    REQUIRE(::setrlimit(RLIMIT_FSIZE, &tight) == 0);
    CHECK_THROWS_AS(
        write_network_file(folder / "roads", import_fixture("islands").network, some_hash),
        Unavailable);
    REQUIRE(::setrlimit(RLIMIT_FSIZE, &usual) == 0);
    ::signal(SIGXFSZ, previous);
    CHECK(file_content(folder / "roads") == before);
    CHECK(folder.file_count() == 1);
}

TEST_CASE("A network file is known by its beginning, whatever has become of the rest") {
    const Folder folder;
    write_network_file(folder / "roads", import_fixture("shape").network, some_hash);
    CHECK(is_network_file(folder / "roads"));
    std::filesystem::resize_file(folder / "roads", 20);
    CHECK(is_network_file(folder / "roads"));
    std::filesystem::resize_file(folder / "roads", 7);
    CHECK_FALSE(is_network_file(folder / "roads"));
    CHECK_FALSE(is_network_file(folder / "nothing"));
    CHECK_FALSE(is_network_file("/"));
}

TEST_CASE("A folder that is not there, or a hash that is none, writes nothing") {
    const Folder folder;
    const RoadNetwork network = import_fixture("shape").network;
    CHECK_THROWS_AS(write_network_file(folder / "no/roads", network, some_hash), Unavailable);
    CHECK_THROWS_AS(write_network_file(folder / "roads", network, "abc"), InputError);
    CHECK_THROWS_AS(write_network_file(folder / "roads", network, std::string(64, 'Z')),
                    InputError);
    CHECK(folder.file_count() == 0);
}

TEST_CASE("A file cut short anywhere is refused when it is opened") {
    const std::string content = small_file();
    const NetworkHeader header = header_of(content);
    std::vector<std::size_t> cuts{
        0, 1, 8, 100, sizeof(NetworkHeader), content.size() / 2, content.size() - 1};
    for (const BlockEntry& block : header.blocks) {
        cuts.push_back(block.offset);
        cuts.push_back(block.offset + block.bytes);
        cuts.push_back(block.offset + block.bytes / 2);
    }
    const Folder folder;
    for (const std::size_t cut : cuts) {
        if (cut >= content.size()) {
            continue;
        }
        CAPTURE(cut);
        std::ofstream{folder / "cut", std::ios::binary}.write(content.data(),
                                                              static_cast<std::streamsize>(cut));
        CHECK_THROWS_AS(NetworkFile::open(folder / "cut"), DataError);
    }
}

TEST_CASE("A file with something added is refused when it is opened") {
    CHECK(refusal(small_file() + '\0').find("cut short or added to") != std::string::npos);
}

TEST_CASE("Any byte that is changed is found, in the header, in a block or between blocks") {
    const std::string content = small_file();
    REQUIRE(refusal(content).empty());
    AlignedBytes bytes{content};
    for (std::size_t i = 0; i < content.size(); ++i) {
        for (const unsigned flip : {0x01U, 0x80U, 0xFFU}) {
            const std::byte before = bytes.span()[i];
            bytes.span()[i] ^= static_cast<std::byte>(flip);
            if (refusal(bytes.span()).empty()) {
                FAIL_CHECK("byte " << i << " changed and nobody noticed");
            }
            bytes.span()[i] = before;
        }
    }
    CHECK(refusal(bytes.span()).empty());
}

TEST_CASE("Each refusal says what is wrong and what to do") {
    std::string content = small_file();
    NetworkHeader header = header_of(content);
    SUBCASE("another kind of file") {
        CHECK(refusal("PK\x03\x04 a packed file") == "file: not a road network file of Waybourne");
    }
    SUBCASE("an older format") {
        header.version = 3;
        put_header(content, header);
        CHECK(refusal(content) ==
              "file: made by another version (format 3, this program reads 4); import the map "
              "again");
    }
    SUBCASE("a newer format") {
        header.version = 5;
        put_header(content, header);
        CHECK(refusal(content).find("format 5") != std::string::npos);
    }
    SUBCASE("the other byte order") {
        header.byte_order = network_byte_order_swapped;
        put_header(content, header);
        CHECK(refusal(content).find("other byte order") != std::string::npos);
    }
    SUBCASE("a damaged block is named") {
        const BlockEntry& pieces = header.blocks[static_cast<std::size_t>(Block::pieces)];
        content[pieces.offset] ^= 1;
        CHECK(refusal(content) == "file: its pieces are damaged");
    }
    SUBCASE("a file that is not there") {
        CHECK_THROWS_AS(NetworkFile::open("/nowhere/roads"), NotFound);
    }
    SUBCASE("a folder") {
        CHECK_THROWS_AS(NetworkFile::open("/"), DataError);
    }
}

TEST_CASE("Numbers that point to nothing are found even where every checksum is right") {
    const std::string whole = small_file();
    const NetworkHeader whole_header = header_of(whole);
    for (std::size_t block = 0; block < block_count; ++block) {
        const BlockEntry& entry = whole_header.blocks[block];
        for (std::size_t i = 0; i < entry.bytes; ++i) {
            std::string content = whole;
            content[entry.offset + i] = static_cast<char>(0xEE);
            NetworkHeader header = whole_header;
            header.blocks[block].checksum = checksum_of(
                std::as_bytes(std::span{content}).subspan(entry.offset, padded(entry.bytes)));
            put_header(content, header);
            AlignedBytes bytes{content};
            try {
                const NetworkFile file{"file", bytes.span(), nullptr};
                file.verify();
                // Not refused, so it must be safe to use: walk over everything.
                const RoadNetwork& network = *file.network();
                std::size_t seen = 0;
                for (const Piece& piece : network.pieces()) {
                    seen += network.shape_of(piece).size() + network.name_of(piece).size();
                    for (const FixedPoint point : network.shape_of(piece)) {
                        to_geo_point(point);
                    }
                }
                CHECK(seen > 0);
                if (file.hierarchy()) {
                    use(*file.hierarchy());
                }
            } catch (const DataError&) {
                CHECK(true);
            }
        }
    }
}

TEST_CASE("A hierarchy of another network is refused, when it is written and when it is read") {
    const Folder folder;
    const RoadNetwork shape = import_fixture("shape").network;
    const RoadNetwork other_network = import_fixture("ferries").network;
    REQUIRE(shape.node_count() != other_network.node_count());
    CHECK_THROWS_AS(
        write_network_file(folder / "roads", shape, some_hash, make_hierarchy(other_network).get()),
        InputError);
    CHECK(folder.file_count() == 0);
    // the roads of one and the hierarchy of the other, every checksum right
    const auto content_of = [&](const RoadNetwork& network) {
        write_network_file(folder / "one", network, some_hash, make_hierarchy(network).get());
        return file_content(folder / "one");
    };
    const auto mixed = [&](const std::string& roads, const std::string& hierarchy) {
        const auto first = static_cast<std::size_t>(Block::node_of_rank);
        NetworkHeader header = header_of(roads);
        const NetworkHeader other = header_of(hierarchy);
        std::string content = roads.substr(0, header.blocks[first].offset);
        for (std::size_t i = first; i < block_count; ++i) {
            header.blocks[i] = other.blocks[i];
            header.blocks[i].offset = content.size();
            content += hierarchy.substr(other.blocks[i].offset, padded(other.blocks[i].bytes));
        }
        header.file_bytes = content.size();
        header.hierarchy_height = other.hierarchy_height;
        std::memcpy(content.data(), &header, sizeof header);
        mend(content);
        return content;
    };
    SUBCASE("with another number of nodes") {
        CHECK(refusal(mixed(content_of(shape), content_of(other_network)))
                  .find("they do not belong together") != std::string::npos);
    }
    SUBCASE("with as many nodes, but other roads between them") {
        const auto star = [](std::uint32_t centre) {
            NetworkBuilder builder;
            builder.keep_node_order(true);
            std::vector<NodeId> nodes;
            for (int i = 0; i < 4; ++i) {
                nodes.push_back(
                    builder.add_node(GeoPoint{Latitude{0.001 * i}, Longitude{0.001 * i * i}}));
            }
            for (std::uint32_t i = 0; i < 4; ++i) {
                if (i != centre) {
                    NewPiece piece;
                    piece.from = nodes[centre];
                    piece.to = nodes[i];
                    builder.add_piece(piece);
                }
            }
            return builder.build();
        };
        CHECK(refusal(mixed(content_of(star(0)), content_of(star(0)))).empty());
        CHECK(refusal(mixed(content_of(star(0)), content_of(star(3)))) ==
              "file: the hierarchy was made from another network");
    }
}

TEST_CASE("A hierarchy that is none is refused for what is wrong with it") {
    std::string content = small_file();
    const NetworkHeader header = header_of(content);
    const auto numbers = [&](Block block) {
        const BlockEntry& entry = header.blocks[static_cast<std::size_t>(block)];
        return std::span{reinterpret_cast<std::uint32_t*>(content.data() + entry.offset),
                         entry.bytes / sizeof(std::uint32_t)};
    };
    REQUIRE(numbers(Block::up_head).size() > 2);
    std::string expected;
    SUBCASE("ranks") {
        numbers(Block::node_of_rank)[0] = numbers(Block::node_of_rank)[1];
        expected = "the hierarchy's ranks are not an order of the nodes";
    }
    SUBCASE("up arcs out of order") {
        numbers(Block::up_first)[1] = 0xffffffffU;
        expected = "the hierarchy's up arcs are out of order";
    }
    SUBCASE("an up arc that leads down") {
        numbers(Block::up_head)[0] = 0;
        expected = "an up arc of the hierarchy does not lead up, or is out of order";
    }
    SUBCASE("tree") {
        numbers(Block::depth)[0] += 1;
        expected = "the hierarchy's tree does not fit its up arcs";
    }
    SUBCASE("down arcs") {
        std::swap(numbers(Block::down_arc)[0], numbers(Block::down_arc)[1]);
        expected = "the hierarchy's down arcs do not fit its up arcs";
    }
    SUBCASE("row marks") {
        numbers(Block::row_marks)[0] = 0;
        expected = "the hierarchy's row marks are wrong";
    }
    SUBCASE("row tails") {
        numbers(Block::row_tails)[0] += 1;
        expected = "the hierarchy's row tails are wrong";
    }
    SUBCASE("arcs of the network") {
        numbers(Block::in_arc)[0] = numbers(Block::in_arc)[1];
        expected = "the hierarchy was made from another network";
    }
    SUBCASE("jobs") {
        numbers(Block::job_first)[0] = 1;
        expected = "the hierarchy's jobs are out of order";
    }
    mend(content);
    CHECK(refusal(content) == "file: " + expected);
}

TEST_CASE("A table with blocks beyond the end or over each other is refused") {
    const std::string whole = small_file();
    for (std::size_t block = 0; block < block_count; ++block) {
        for (const std::uint64_t wrong :
             {std::uint64_t{0}, std::uint64_t{64}, std::uint64_t{1} << 40, ~std::uint64_t{0},
              ~std::uint64_t{63}}) {
            for (std::uint64_t BlockEntry::*member : {&BlockEntry::offset, &BlockEntry::bytes}) {
                std::string content = whole;
                NetworkHeader header = header_of(content);
                if (header.blocks[block].*member == wrong) {
                    continue;
                }
                header.blocks[block].*member = wrong;
                put_header(content, header);
                CHECK_FALSE(refusal(content).empty());
            }
        }
    }
}
