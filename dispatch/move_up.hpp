#pragma once
/// Where idle vehicles should wait, and which calls should make one of them move up.
///
/// A vehicle that moves to another base changes the cover (cover.hpp) by what it gains there,
/// Σ w (1 − q) q^k over the zones within reach of that base, less what it gives where it stands,
/// E(X) − E(X without it): the relocation rule of DMEXCLP (Jagtenberg, Bhulai, van der Mei,
/// Operations Research for Health Care 4, 2015, 27-35), asked for every idle vehicle.

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "dispatch/cover.hpp"

namespace waybourne::dispatch {

/// What moving can be judged by.
struct Waiting {
    std::span<const Zone> zones;
    /// Which vehicle reaches which zone from where it stands now.
    const ReachTable& now;
    /// One per vehicle: which base would let it reach which zone. All of the same bases.
    std::span<const ReachTable> from_bases;
    double busy = 0;
    /// A move must gain so many expected calls, in the zones' scale, to be worth making.
    double least_gain = 0;
};

/// Indices of a vehicle and a base.
struct Move {
    std::size_t vehicle = 0;
    std::size_t base = 0;
    /// Expected calls, more than now.
    double gains = 0;
    bool operator==(const Move&) const = default;
};

/// The one move of an idle vehicle that gains most; none that gains `least_gain`. Of equal ones
/// that of the first vehicle, then the first base. O(idle × bases × zones).
std::optional<Move> best_move(const Waiting& waiting, std::span<const std::size_t> idle);

/// One after the other, each judged with those before it made; every vehicle moves at most once.
/// @param most at most so many
std::vector<Move> moves_to_make(const Waiting& waiting, std::span<const std::size_t> idle,
                                std::size_t most);

/// When `called` leaves, the move that another idle vehicle should then make.
struct MoveUp {
    std::size_t called = 0;
    Move move;
    /// Expected calls reached without `called`, before and after the move.
    double before = 0;
    double after = 0;
    bool operator==(const MoveUp&) const = default;
};
/// In the order of `idle`; those after whose leaving no move is worth making are left out.
std::vector<MoveUp> move_ups(const Waiting& waiting, std::span<const std::size_t> idle);

/// A vehicle that is the only idle one within reach of some zones.
struct LastVehicle {
    std::size_t vehicle = 0;
    /// The zones with calls that only it reaches, the greatest weight first, then by index.
    std::vector<std::size_t> zones = {};
    bool operator==(const LastVehicle&) const = default;
};
/// In the order of `idle`; those that are nowhere the last are left out.
std::vector<LastVehicle> last_vehicles(std::span<const Zone> zones, const ReachTable& table,
                                       std::span<const std::size_t> idle);

}  // namespace waybourne::dispatch
