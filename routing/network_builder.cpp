#include "routing/network_builder.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "routing/components.hpp"
#include "routing/internal/turn_copies.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

constexpr double longest_piece_m = 40'000'000;
constexpr Seconds week{7 * 24 * 60 * 60};

/// The place of a point along a Hilbert curve over the globe, so that near nodes get near numbers.
/// The usual xy-to-distance loop (from memory of Warren, Hacker's Delight, chapter 16).
std::uint64_t hilbert_place(FixedPoint point) {
    constexpr std::uint32_t side = 1U << 31U;
    auto x = static_cast<std::uint32_t>((std::int64_t{point.longitude} + 1'800'000'000) / 2);
    auto y = static_cast<std::uint32_t>(std::int64_t{point.latitude} + 900'000'000);
    std::uint64_t place = 0;
    for (std::uint32_t bit = side / 2; bit > 0; bit /= 2) {
        const bool right = (x & bit) != 0;
        const bool upper = (y & bit) != 0;
        place = place * 4 + (right ? (upper ? 2U : 3U) : (upper ? 1U : 0U));
        if (!upper) {
            if (right) {
                x = side - 1 - x;
                y = side - 1 - y;
            }
            std::swap(x, y);
        }
    }
    return place;
}

std::uint64_t packed(const RoadAttributes& attributes) {
    std::uint64_t key = 0;
    const auto add = [&](auto value) { key = key << 8U | static_cast<std::uint64_t>(value); };
    add(attributes.kind.road_class);
    add(attributes.kind.surface);
    add(attributes.kind.track_type);
    add(attributes.kind.smoothness);
    add(attributes.kind.maxspeed_kmh);
    std::uint64_t marks = 0;
    for (const bool mark :
         {attributes.is_ford, attributes.is_bridge, attributes.is_tunnel, attributes.is_toll,
          attributes.is_seasonal, attributes.is_wet_season_only, attributes.is_temporary_link}) {
        marks = marks << 1U | (mark ? 1U : 0U);
    }
    add(marks);
    return key;
}

/// What a network keeps alive when it was built here rather than mapped from a file.
struct Storage {
    std::vector<FixedPoint> node_points;
    std::vector<ComponentId> node_components;
    std::vector<std::uint32_t> first_out;
    std::vector<NodeId> arc_heads;
    std::vector<PieceId> arc_pieces;
    std::vector<MeansSet> arc_means;
    std::vector<Piece> pieces;
    std::vector<FixedPoint> shape_points;
    std::vector<std::uint32_t> name_first;
    std::vector<char> name_characters;
    std::vector<NodeCopy> node_copies;
    std::vector<PieceCopy> piece_copies;

    NetworkArrays arrays() const {
        return {node_points, node_components, first_out,   arc_heads,
                arc_pieces,  arc_means,       pieces,      shape_points,
                name_first,  name_characters, node_copies, piece_copies};
    }
};

/// An arc before it has a number.
struct NewArc {
    NodeId tail;
    NodeId head;
    PieceId piece;
    bool is_forward = true;
    MeansSet means;
    auto key() const { return std::tuple(tail, head, piece, !is_forward); }
};

void number_arcs(std::vector<NewArc> arcs, Storage& storage) {
    std::sort(arcs.begin(), arcs.end(),
              [](const NewArc& a, const NewArc& b) { return a.key() < b.key(); });
    storage.first_out.assign(storage.node_points.size() + 1, 0);
    for (const NewArc& arc : arcs) {
        const ArcId id{static_cast<std::uint32_t>(storage.arc_heads.size())};
        Piece& piece = storage.pieces[arc.piece.value];
        (arc.is_forward ? piece.forward : piece.backward) = id;
        storage.arc_heads.push_back(arc.head);
        storage.arc_pieces.push_back(arc.piece);
        storage.arc_means.push_back(arc.means);
        ++storage.first_out[arc.tail.value + 1];
    }
    std::partial_sum(storage.first_out.begin(), storage.first_out.end(), storage.first_out.begin());
}

/// @param numbers the new number of each old one
template <typename Id>
std::vector<Copy<Id>> copies_of(const std::vector<std::uint32_t>& originals,
                                const std::vector<Id>& numbers) {
    std::vector<Copy<Id>> copies;
    for (std::uint32_t i = 0; i < originals.size(); ++i) {
        if (originals[i] != i) {
            copies.push_back({numbers[originals[i]], numbers[i]});
        }
    }
    std::sort(copies.begin(), copies.end());
    return copies;
}

template <typename Key>
std::vector<std::uint32_t> order_by(std::size_t count, const Key& key) {
    std::vector<std::uint32_t> order(count);
    std::iota(order.begin(), order.end(), 0U);
    std::stable_sort(order.begin(), order.end(),
                     [&](std::uint32_t a, std::uint32_t b) { return key(a) < key(b); });
    return order;
}

}  // namespace

NodeId NetworkBuilder::add_node(const GeoPoint& point) {
    node_originals_.push_back(static_cast<std::uint32_t>(points_.size()));
    points_.push_back(to_fixed(point));
    return {node_originals_.back()};
}

NodeId NetworkBuilder::add_copy(NodeId original) {
    if (original.value >= points_.size() || node_originals_[original.value] != original.value) {
        throw InputError("a node is the copy of one that does not exist or is a copy itself");
    }
    node_originals_.push_back(original.value);
    points_.push_back(points_[original.value]);
    return {static_cast<std::uint32_t>(points_.size() - 1)};
}

std::uint32_t NetworkBuilder::add_ferry(const Ferry& ferry) {
    const auto is_sound = [](Seconds span) { return span >= 0s && span <= week; };
    if (!is_sound(ferry.crossing) || ferry.crossing == 0s || !is_sound(ferry.assumed_wait)) {
        throw InputError(
            fmt::format("a ferry crosses in {} s after waiting {} s; allowed is up to a week, and "
                        "the crossing takes some time",
                        ferry.crossing.count(), ferry.assumed_wait.count()));
    }
    ferries_.push_back(ferry);
    return static_cast<std::uint32_t>(ferries_.size() - 1);
}

std::uint32_t NetworkBuilder::add_piece(const NewPiece& piece) {
    if (piece.from.value >= points_.size() || piece.to.value >= points_.size()) {
        throw InputError("a road piece ends at a node that does not exist");
    }
    if (piece.ferry && *piece.ferry >= ferries_.size()) {
        throw InputError("a road piece belongs to a ferry that does not exist");
    }
    const auto number = static_cast<std::uint32_t>(pieces_.size());
    if (piece.copy_of &&
        (*piece.copy_of >= number || piece_originals_[*piece.copy_of] != *piece.copy_of)) {
        throw InputError("a piece is the copy of one that does not exist or is a copy itself");
    }
    Metres length;
    if (piece.length) {
        length = *piece.length;
    } else {
        GeoPoint last = to_geo_point(points_[piece.from.value]);
        for (const GeoPoint& point : piece.shape) {
            length += great_circle_distance(last, point);
            last = point;
        }
        length += great_circle_distance(last, to_geo_point(points_[piece.to.value]));
    }
    if (!(length.value() >= 0 && length.value() <= longest_piece_m)) {
        throw InputError(
            fmt::format("a road piece is {:g} m long; allowed is 0 to 40000000", length.value()));
    }
    pieces_.push_back({.road = piece.road,
                       .from = piece.from,
                       .to = piece.to,
                       .forward = {},
                       .backward = {},
                       .length_cm = static_cast<std::uint32_t>(std::lround(length.value() * 100)),
                       .attributes = attributes_index(piece.attributes),
                       .name = name_index(piece.name),
                       .shape_first = static_cast<std::uint32_t>(shape_points_.size()),
                       .shape_count = static_cast<std::uint32_t>(piece.shape.size()),
                       .ferry = piece.ferry.value_or(Piece::no_ferry)});
    forward_means_.push_back(piece.forward);
    backward_means_.push_back(piece.backward);
    std::transform(piece.shape.begin(), piece.shape.end(), std::back_inserter(shape_points_),
                   to_fixed);
    piece_originals_.push_back(piece.copy_of.value_or(number));
    return number;
}

void NetworkBuilder::forbid(ForbiddenWay way) {
    check(way.parts);
    forbidden_.push_back(std::move(way));
}

void NetworkBuilder::require(RequiredWay way) {
    check(way.parts);
    required_.push_back(std::move(way));
}

void NetworkBuilder::check(const std::vector<PieceDirection>& parts) const {
    const auto ends = [&](PieceDirection part) {
        const Piece& piece = pieces_[part.piece];
        return part.is_forward ? std::pair(piece.from, piece.to) : std::pair(piece.to, piece.from);
    };
    bool is_good = parts.size() >= 2;
    for (std::size_t i = 0; is_good && i < parts.size(); ++i) {
        const std::uint32_t piece = parts[i].piece;
        is_good = piece < pieces_.size() && piece_originals_[piece] == piece &&
                  (i == 0 || ends(parts[i - 1]).second == ends(parts[i]).first);
    }
    if (!is_good) {
        throw InputError("a turn restriction is not a chain of at least two pieces");
    }
}

void NetworkBuilder::split_at_forbidden_ways() {
    if (forbidden_.empty() && required_.empty()) {
        return;
    }
    std::vector<PieceEnds> ends;
    ends.reserve(pieces_.size());
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
        ends.push_back(
            {pieces_[i].from.value, pieces_[i].to.value, forward_means_[i], backward_means_[i]});
    }
    const auto nodes = static_cast<std::uint32_t>(points_.size());
    const std::vector<ForbiddenWay> others = forbidden_by(nodes, ends, required_);
    forbidden_.insert(forbidden_.end(), others.begin(), others.end());
    const TurnCopies copies = turn_copies(nodes, ends, forbidden_);
    for (const std::uint32_t original : copies.node_originals) {
        add_copy({original});
    }
    std::for_each(copies.pieces.begin(), copies.pieces.end(),
                  [this](const PieceVersions& piece) { split(piece); });
}

void NetworkBuilder::split(const PieceVersions& piece) {
    for (std::size_t i = 0; i < piece.versions.size(); ++i) {
        std::size_t number = piece.piece;
        if (i > 0) {
            number = pieces_.size();
            // A copy shares the shape of its original.
            const Piece original = pieces_[piece.piece];
            pieces_.push_back(original);
            piece_originals_.push_back(piece.piece);
            forward_means_.emplace_back();
            backward_means_.emplace_back();
        }
        const PieceEnds& version = piece.versions[i];
        pieces_[number].from = {version.from};
        pieces_[number].to = {version.to};
        forward_means_[number] = version.forward;
        backward_means_[number] = version.backward;
    }
}

NetworkBuilder& NetworkBuilder::keep_node_order(bool keep) {
    keeps_node_order_ = keep;
    return *this;
}

std::uint32_t NetworkBuilder::attributes_index(const RoadAttributes& attributes) {
    const auto [place, is_new] = attribute_numbers_.emplace(
        packed(attributes), static_cast<std::uint32_t>(attributes_.size()));
    if (is_new) {
        attributes_.push_back(attributes);
    }
    return place->second;
}

std::uint32_t NetworkBuilder::name_index(std::string_view name) {
    if (names_.empty()) {
        names_.emplace_back();
        name_numbers_.emplace("", 0);
    }
    const auto known = name_numbers_.find(name);
    if (known != name_numbers_.end()) {
        return known->second;
    }
    const auto number = static_cast<std::uint32_t>(names_.size());
    name_numbers_.emplace(name, number);
    names_.emplace_back(name);
    return number;
}

RoadNetwork NetworkBuilder::build() {
    split_at_forbidden_ways();
    // One number is kept for "none", and an arc number must hold two directions of every piece.
    constexpr std::size_t most = 0xFFFFFFFE;
    if (points_.size() > most || pieces_.size() > most / 2 || shape_points_.size() > most) {
        throw InputError("the network has more nodes, arcs or shape points than 32 bits can name");
    }
    auto storage = std::make_shared<Storage>();

    std::vector<std::uint64_t> places;
    places.reserve(points_.size());
    std::transform(points_.begin(), points_.end(), std::back_inserter(places), hilbert_place);
    const auto node_order = order_by(
        points_.size(), [&](std::uint32_t i) { return keeps_node_order_ ? i : places[i]; });
    node_numbers_.assign(points_.size(), {});
    for (const std::uint32_t old : node_order) {
        node_numbers_[old] = {static_cast<std::uint32_t>(storage->node_points.size())};
        storage->node_points.push_back(points_[old]);
    }

    const auto piece_order = order_by(pieces_.size(), [&](std::uint32_t i) {
        return keeps_node_order_ ? i : node_numbers_[pieces_[i].from.value].value;
    });
    std::vector<NewArc> arcs;
    std::vector<PieceId> piece_numbers(pieces_.size());
    for (const std::uint32_t old : piece_order) {
        Piece piece = pieces_[old];
        const PieceId id{static_cast<std::uint32_t>(storage->pieces.size())};
        piece_numbers[old] = id;
        piece.from = node_numbers_[piece.from.value];
        piece.to = node_numbers_[piece.to.value];
        const auto shape = shape_points_.begin() + piece.shape_first;
        piece.shape_first = static_cast<std::uint32_t>(storage->shape_points.size());
        storage->shape_points.insert(storage->shape_points.end(), shape, shape + piece.shape_count);
        storage->pieces.push_back(piece);
        if (!forward_means_[old].is_empty()) {
            arcs.push_back({piece.from, piece.to, id, true, forward_means_[old]});
        }
        if (!backward_means_[old].is_empty()) {
            arcs.push_back({piece.to, piece.from, id, false, backward_means_[old]});
        }
    }
    number_arcs(std::move(arcs), *storage);
    storage->node_copies = copies_of(node_originals_, node_numbers_);
    storage->piece_copies = copies_of(piece_originals_, piece_numbers);

    name_index("");
    storage->name_first.push_back(0);
    for (const std::string& name : names_) {
        storage->name_characters.insert(storage->name_characters.end(), name.begin(), name.end());
        storage->name_first.push_back(static_cast<std::uint32_t>(storage->name_characters.size()));
    }

    storage->node_components.resize(storage->node_points.size());
    const RoadNetwork unlabelled(storage->arrays(), attributes_, ferries_, storage);
    storage->node_components = strong_components(unlabelled, [&](ArcId arc) {
                                   return unlabelled.means(arc).has(Means::car);
                               }).of_node;
    RoadNetwork network(storage->arrays(), std::move(attributes_), std::move(ferries_), storage);
    auto numbers = std::move(node_numbers_);
    *this = NetworkBuilder{};
    node_numbers_ = std::move(numbers);
    return network;
}

}  // namespace waybourne::routing
