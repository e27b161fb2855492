#include "routing/internal/network_format.hpp"

#include <algorithm>
#include <cstring>

#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

class ByteWriter {
public:
    void byte(std::uint8_t value) { bytes_.push_back(std::byte{value}); }
    void flag(bool value) { byte(value ? 1 : 0); }

    void number(std::int64_t value) {
        std::array<std::byte, sizeof value> raw{};
        std::memcpy(raw.data(), &value, sizeof value);
        bytes_.insert(bytes_.end(), raw.begin(), raw.end());
    }

    void text(const std::string& value) {
        number(static_cast<std::int64_t>(value.size()));
        for (const char letter : value) {
            bytes_.push_back(static_cast<std::byte>(letter));
        }
    }

    std::vector<std::byte> take() { return std::move(bytes_); }

private:
    std::vector<std::byte> bytes_;
};

class ByteReader {
public:
    explicit ByteReader(std::span<const std::byte> bytes) : rest_(bytes) {}

    bool is_at_end() const { return rest_.empty(); }

    std::uint8_t byte() {
        const auto value = std::to_integer<std::uint8_t>(take(1).front());
        return value;
    }

    /// A byte that must be less than `count`, e.g. the values of an enumeration.
    std::uint8_t choice(std::size_t count) {
        const std::uint8_t value = byte();
        if (value >= count) {
            throw InputError("a value out of range");
        }
        return value;
    }

    bool flag() { return choice(2) == 1; }

    std::int64_t number() {
        std::int64_t value = 0;
        std::memcpy(&value, take(sizeof value).data(), sizeof value);
        return value;
    }

    /// A count of things of at least one byte each.
    std::size_t count() {
        const std::int64_t value = number();
        if (value < 0 || static_cast<std::uint64_t>(value) > rest_.size()) {
            throw InputError("a length out of range");
        }
        return static_cast<std::size_t>(value);
    }

    std::string text() {
        std::string result;
        for (const std::byte letter : take(count())) {
            result.push_back(static_cast<char>(letter));
        }
        return result;
    }

private:
    std::span<const std::byte> take(std::size_t size) {
        if (size > rest_.size()) {
            throw InputError("it ends too early");
        }
        const auto result = rest_.first(size);
        rest_ = rest_.subspan(size);
        return result;
    }

    std::span<const std::byte> rest_;
};

void pack(ByteWriter& out, const RoadAttributes& road) {
    out.byte(static_cast<std::uint8_t>(road.kind.road_class));
    out.byte(static_cast<std::uint8_t>(road.kind.surface));
    out.byte(static_cast<std::uint8_t>(road.kind.track_type));
    out.byte(static_cast<std::uint8_t>(road.kind.smoothness));
    out.byte(road.kind.maxspeed_kmh);
    for (const bool mark : {road.is_ford, road.is_bridge, road.is_tunnel, road.is_toll,
                            road.is_seasonal, road.is_wet_season_only, road.is_temporary_link}) {
        out.flag(mark);
    }
}

RoadAttributes unpack_road(ByteReader& in) {
    RoadAttributes road;
    road.kind.road_class = static_cast<RoadClass>(in.choice(road_class_count));
    road.kind.surface = static_cast<SurfaceClass>(in.choice(surface_class_count));
    road.kind.track_type = static_cast<TrackType>(in.choice(track_type_count));
    road.kind.smoothness = static_cast<Smoothness>(in.choice(smoothness_count));
    road.kind.maxspeed_kmh = in.byte();
    for (bool* mark : {&road.is_ford, &road.is_bridge, &road.is_tunnel, &road.is_toll,
                       &road.is_seasonal, &road.is_wet_season_only, &road.is_temporary_link}) {
        *mark = in.flag();
    }
    return road;
}

void pack(ByteWriter& out, const Ferry& ferry) {
    out.number(ferry.crossing.count());
    out.number(ferry.assumed_wait.count());
    out.flag(ferry.sails_when_wet);
    out.flag(ferry.sails_when_dry);
    out.flag(ferry.timetable.has_value());
    if (ferry.timetable) {
        out.text(ferry.timetable->zone());
        out.number(static_cast<std::int64_t>(ferry.timetable->sailings().size()));
        for (const Sailing& sailing : ferry.timetable->sailings()) {
            out.number(sailing.from.count());
            out.number(sailing.to.count());
        }
    }
}

/// What `NetworkBuilder::add_ferry` asks of a span.
Seconds unpack_span(ByteReader& in) {
    constexpr std::int64_t one_week = std::int64_t{7} * 24 * 3600;
    const std::int64_t value = in.number();
    if (value < 0 || value > one_week) {
        throw InputError("a span out of range");
    }
    return Seconds{value};
}

Ferry unpack_ferry(ByteReader& in) {
    Ferry ferry;
    ferry.crossing = unpack_span(in);
    ferry.assumed_wait = unpack_span(in);
    ferry.sails_when_wet = in.flag();
    ferry.sails_when_dry = in.flag();
    if (in.flag()) {
        std::string zone = in.text();
        std::vector<Sailing> sailings(in.count());
        for (Sailing& sailing : sailings) {
            sailing.from = std::chrono::minutes{in.number()};
            sailing.to = std::chrono::minutes{in.number()};
        }
        ferry.timetable.emplace(std::move(zone), std::move(sailings));
    }
    return ferry;
}

/// The first fault found, or null.
class FaultFinder {
public:
    explicit FaultFinder(const RoadNetwork& network)
        : network_(network), arrays_(network.arrays()) {}

    const char* find() const {
        for (const char* fault : {nodes(), arcs(), pieces(), names(), copies()}) {
            if (fault != nullptr) {
                return fault;
            }
        }
        return nullptr;
    }

private:
    static bool is_on_earth(FixedPoint point) {
        constexpr std::int32_t greatest_latitude = 900'000'000;
        constexpr std::int32_t greatest_longitude = 1'800'000'000;
        return point.latitude >= -greatest_latitude && point.latitude <= greatest_latitude &&
               point.longitude >= -greatest_longitude && point.longitude <= greatest_longitude;
    }

    const char* nodes() const {
        if (!std::all_of(arrays_.node_points.begin(), arrays_.node_points.end(), is_on_earth) ||
            !std::all_of(arrays_.shape_points.begin(), arrays_.shape_points.end(), is_on_earth)) {
            return "a point is not on the earth";
        }
        const bool has_components =
            std::all_of(arrays_.node_components.begin(), arrays_.node_components.end(),
                        [&](ComponentId id) { return id.value < arrays_.node_points.size(); });
        return has_components ? nullptr : "a component does not exist";
    }

    const char* arcs() const {
        const auto& first = arrays_.first_out;
        if (first.front() != 0 || first.back() != arrays_.arc_heads.size() ||
            !std::is_sorted(first.begin(), first.end())) {
            return "the arcs of the nodes are out of order";
        }
        for (std::uint32_t i = 0; i < arrays_.arc_heads.size(); ++i) {
            if (arrays_.arc_heads[i].value >= arrays_.node_points.size() ||
                arrays_.arc_pieces[i].value >= arrays_.pieces.size()) {
                return "an arc leads nowhere";
            }
            const Piece& piece = arrays_.pieces[arrays_.arc_pieces[i].value];
            if (piece.forward != ArcId{i} && piece.backward != ArcId{i}) {
                return "an arc and its piece do not fit";
            }
            if ((arrays_.arc_means[i].bits() & ~MeansSet::all().bits()) != 0) {
                return "an arc is for means that do not exist";
            }
        }
        return nullptr;
    }

    bool arc_fits(ArcId arc, NodeId tail, NodeId head) const {
        if (!arc.exists()) {
            return true;
        }
        return arc.value < arrays_.arc_heads.size() && arrays_.arc_heads[arc.value] == head &&
               arrays_.first_out[tail.value] <= arc.value &&
               arc.value < arrays_.first_out[tail.value + 1];
    }

    const char* pieces() const {
        std::uint64_t last_shape_end = 0;
        for (const Piece& piece : arrays_.pieces) {
            if (piece.from.value >= arrays_.node_points.size() ||
                piece.to.value >= arrays_.node_points.size()) {
                return "a piece ends nowhere";
            }
            if (!arc_fits(piece.forward, piece.from, piece.to) ||
                !arc_fits(piece.backward, piece.to, piece.from)) {
                return "a piece and its arcs do not fit";
            }
            const std::uint64_t shape_end =
                std::uint64_t{piece.shape_first} + std::uint64_t{piece.shape_count};
            if (shape_end > arrays_.shape_points.size() ||
                piece.name + std::uint64_t{1} >= arrays_.name_first.size() ||
                piece.attributes >= network_.attributes().size() ||
                (piece.is_ferry() && piece.ferry >= network_.ferries().size())) {
                return "a piece's shape, name, attributes or ferry does not exist";
            }
            last_shape_end = std::max(last_shape_end, shape_end);
        }
        return last_shape_end == arrays_.shape_points.size() ? nullptr : "shape points of no piece";
    }

    const char* names() const {
        const auto& first = arrays_.name_first;
        const bool is_good = first.front() == 0 && first.back() == arrays_.name_characters.size() &&
                             std::is_sorted(first.begin(), first.end());
        return is_good ? nullptr : "the names are out of order";
    }

    /// A copy is one of an original that is none itself, once, and lies where that lies.
    const char* copies() const {
        const auto& nodes = arrays_.node_copies;
        const auto& pieces = arrays_.piece_copies;
        const bool are_sorted = std::is_sorted(nodes.begin(), nodes.end()) &&
                                std::is_sorted(pieces.begin(), pieces.end());
        const bool are_good =
            std::all_of(nodes.begin(), nodes.end(),
                        [&](const NodeCopy& pair) {
                            return is_copy(pair, arrays_.node_points.size()) &&
                                   network_.point(pair.original) == network_.point(pair.copy);
                        }) &&
            std::all_of(pieces.begin(), pieces.end(), [&](const PieceCopy& pair) {
                return is_copy(pair, arrays_.pieces.size()) &&
                       is_same_stretch(network_.piece(pair.original), network_.piece(pair.copy));
            });
        return are_sorted && are_good ? nullptr : "a copy does not fit its original";
    }

    template <typename Id>
    bool is_copy(const Copy<Id>& pair, std::size_t count) const {
        return pair.original.value < count && pair.copy.value < count &&
               pair.original != pair.copy && network_.original(pair.original) == pair.original &&
               network_.original(pair.copy) == pair.original;
    }

    bool is_same_stretch(const Piece& original, const Piece& copy) const {
        return network_.original(original.from) == network_.original(copy.from) &&
               network_.original(original.to) == network_.original(copy.to) &&
               original.length_cm == copy.length_cm;
    }

    const RoadNetwork& network_;
    const NetworkArrays& arrays_;
};

template <typename Thing>
std::vector<std::byte> pack_list(const std::vector<Thing>& things) {
    ByteWriter out;
    out.number(static_cast<std::int64_t>(things.size()));
    for (const Thing& thing : things) {
        pack(out, thing);
    }
    return out.take();
}

template <typename Thing>
std::vector<Thing> unpack_list(std::span<const std::byte> bytes, Thing (*unpack)(ByteReader&)) {
    ByteReader in{bytes};
    std::vector<Thing> things(in.count());
    for (Thing& thing : things) {
        thing = unpack(in);
    }
    if (!in.is_at_end()) {
        throw InputError("it is longer than it says");
    }
    return things;
}

}  // namespace

std::vector<std::byte> pack_attributes(const std::vector<RoadAttributes>& attributes) {
    return pack_list(attributes);
}

std::vector<std::byte> pack_ferries(const std::vector<Ferry>& ferries) {
    return pack_list(ferries);
}

std::vector<RoadAttributes> unpack_attributes(std::span<const std::byte> bytes) {
    return unpack_list<RoadAttributes>(bytes, &unpack_road);
}

std::vector<Ferry> unpack_ferries(std::span<const std::byte> bytes) {
    return unpack_list<Ferry>(bytes, &unpack_ferry);
}

const char* find_fault(const RoadNetwork& network) {
    return FaultFinder{network}.find();
}

}  // namespace waybourne::routing
