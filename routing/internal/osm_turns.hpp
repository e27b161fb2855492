#pragma once
/// Turn restrictions of OpenStreetMap: what a relation says, and which pieces it means.

#include <cstdint>
#include <map>
#include <optional>
#include <osmium/osm/relation.hpp>
#include <span>
#include <string>
#include <unordered_set>
#include <vector>

#include "routing/internal/remarks.hpp"
#include "routing/network_builder.hpp"

namespace waybourne::routing {

/// What one relation says, for some means of transport.
struct TurnRule {
    /// `only_…`: the way must be followed; else `no_…`: it may not.
    bool is_only = false;
    MeansSet means;
    bool operator==(const TurnRule&) const = default;
};

/// One relation of type `restriction`. Rules (the wiki's page Relation:restriction):
///
/// - `no_left_turn`, `no_right_turn`, `no_straight_on`, `no_u_turn`, `no_entry`, `no_exit`: a way
///   may not run along the members from–via–to. `only_left_turn`, `only_right_turn`,
///   `only_straight_on`, `only_u_turn`: a way that comes along `from` must. The word for the
///   direction is not compared with the map. Any other value is left out.
/// - `restriction=*` binds all vehicles, `restriction:foot=*` walkers, `restriction:motor_vehicle`,
///   `:vehicle`, `:motorcar` and `:motorcycle` those; the particular one counts before the general
///   one. Other vehicles (`:hgv`, `:bus`, …) do not concern us. The older form
///   `type=restriction:motorcar` says the same.
/// - `except=*` frees those it names; `emergency` frees all vehicles, since every trip here is an
///   emergency, as `emergency=yes` does on a road.
/// - What holds at times only (`restriction:conditional`, `day_on`, `hour_on` …) is not applied.
struct KeptTurn {
    std::int64_t id = 0;
    std::vector<TurnRule> rules;
    /// `no_entry` may have several `from`, `no_exit` several `to`; else there is one of each.
    std::vector<std::int64_t> from_ways;
    std::vector<std::int64_t> to_ways;
    /// One node, or one or more ways in any order.
    std::vector<std::int64_t> via_nodes;
    std::vector<std::int64_t> via_ways;
};

/// Whether the relation is one about turns.
bool is_turn_restriction(const osmium::TagList& tags);

/// None, with a remark, where the relation is broken or concerns nobody here.
std::optional<KeptTurn> read_turn(const osmium::Relation& relation, Remarks& left_out,
                                  Remarks& assumed);

/// A piece that was cut from a way; nodes by their OpenStreetMap numbers.
struct CutPiece {
    std::uint32_t number = 0;
    std::int64_t from_node = 0;
    std::int64_t to_node = 0;
    NodeId from;
    NodeId to;
    MeansSet forward;
    MeansSet backward;
};

/// The pieces of the ways that turn restrictions name, in the order of each way.
class TurnWays {
public:
    explicit TurnWays(std::span<const KeptTurn> turns);
    bool is_named(std::int64_t way) const { return named_.contains(way); }
    void add(std::int64_t way, const CutPiece& piece) { pieces_[way].push_back(piece); }
    /// Empty for a way that is no road of the map.
    std::span<const CutPiece> pieces(std::int64_t way) const;

private:
    std::unordered_set<std::int64_t> named_;
    std::map<std::int64_t, std::vector<CutPiece>> pieces_;
};

/// Tells the builder what the relations forbid and require. A relation that does not lead to
/// exactly one way along the pieces is left out with its reason; nothing is guessed.
/// @return how many relations are kept
std::uint64_t add_turns(NetworkBuilder& builder, std::span<const KeptTurn> turns,
                        const TurnWays& ways, Remarks& left_out);

}  // namespace waybourne::routing
