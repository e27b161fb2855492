#pragma once
/// How long from every settlement to every place, under one set of road conditions and for one
/// departure: what all planning questions are asked of.

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "coverage/work.hpp"
#include "routing/place_sweep.hpp"
#include "routing/router.hpp"

namespace waybourne::coverage {

/// Rows are settlements, columns are places. 8 bytes per pair.
class TravelTimes {
public:
    TravelTimes() = default;
    /// Nothing is reached yet.
    TravelTimes(std::size_t settlements, std::size_t places);

    std::size_t settlements() const { return places_ == 0 ? 0 : pairs_.size() / places_; }
    std::size_t places() const { return places_; }
    /// None where there is no way.
    std::optional<routing::TravelTime> at(std::size_t settlement, std::size_t place) const;
    /// @throws InputError for a negative time, or one above 2^31 s
    void set(std::size_t settlement, std::size_t place,
             const std::optional<routing::TravelTime>& time);
    bool operator==(const TravelTimes&) const = default;

private:
    struct Pair {
        std::uint32_t typical_s = unreached;
        std::uint32_t allow_s = unreached;
        bool operator==(const Pair&) const = default;
    };
    static constexpr std::uint32_t unreached = 0xffffffffU;

    std::size_t places_ = 0;
    std::vector<Pair> pairs_;
};

/// Longer than this is taken for no way at all.
inline constexpr Seconds longest_way{48h};

/// By any engine, one search per settlement, waiting for ferries included. Who or what lies off the
/// map (no snap) reaches nothing.
/// @throws Unavailable if stopped
TravelTimes travel_times(routing::Router& router,
                         std::span<const std::optional<routing::Snap>> settlements,
                         std::span<const std::optional<routing::Snap>> places, Instant leave_at,
                         const Work& work = {});

/// By sweeps over the whole network, whatever the number of settlements; the router is asked only
/// where somebody may have to wait. Equal to the other.
/// @param sweep of these settlements, on the router's own metric
TravelTimes travel_times(const routing::PlaceSweep& sweep, routing::Router& router,
                         std::span<const std::optional<routing::Snap>> settlements,
                         std::span<const std::optional<routing::Snap>> places, Instant leave_at,
                         const Work& work = {});

/// How she gets onto the way; each is a labelled assumption.
enum class Transport : std::uint8_t {
    at_hand,  ///< a vehicle stands ready in her settlement
    on_foot,  ///< she walks to the nearest place that has one, or all the way if that is shorter
    sent,     ///< a vehicle comes from its base
};

/// `at_hand`, `on_foot`, `sent`
std::string_view to_name(Transport transport);
std::optional<Transport> find_transport(std::string_view name);

/// She walks to one of the places (that have a vehicle) and drives on from there.
/// @param walk settlements × posts @param onward posts × places
/// @param drive the same way wholly on foot, settlements × places: whichever is shorter counts
TravelTimes on_foot_first(const TravelTimes& walk, const TravelTimes& onward,
                          const TravelTimes& on_foot, Seconds boarding);

/// A vehicle leaves its base when called, fetches her, and drives on.
/// @param approach settlements × bases, the time *from* the base; `mobilisation` one per base
/// @param drive settlements × places
/// The base that is there soonest comes. Allowed times add up, which is never less than the true
/// 90th percentile of such a sum of parts that vary independently and to the right.
/// @throws InputError if the sizes do not fit
TravelTimes vehicle_sent(const TravelTimes& approach, std::span<const Seconds> mobilisation,
                         Seconds loading, const TravelTimes& drive);

/// Of each pair the way with the less typical time, of equally quick ones the surer.
/// @throws InputError if the sizes do not fit
TravelTimes sooner(const TravelTimes& a, const TravelTimes& b);

/// Every way takes this many times as long, rounded to whole seconds. @param factor above 0
TravelTimes scaled(const TravelTimes& times, double factor);

/// Rows as columns: from bases to settlements, seen from the settlements.
TravelTimes turned_round(const TravelTimes& times);

}  // namespace waybourne::coverage
