#pragma once
/// Travel times from many places to many.

#include <algorithm>
#include <cstddef>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "routing/hierarchy_router.hpp"

namespace waybourne::routing {

/// Row by row; none where there is no way within the limit.
class TravelTable {
public:
    TravelTable(std::size_t rows, std::size_t columns)
        : columns_(columns), times_(rows * columns) {}
    /// @param times row by row
    TravelTable(std::size_t columns, std::vector<std::optional<TravelTime>> times)
        : columns_(columns), times_(std::move(times)) {}

    std::size_t rows() const { return columns_ == 0 ? 0 : times_.size() / columns_; }
    std::size_t columns() const { return columns_; }
    const std::optional<TravelTime>& at(std::size_t row, std::size_t column) const {
        return times_.at(row * columns_ + column);
    }
    /// @param times as many as there are columns
    void set(std::size_t row, std::span<const std::optional<TravelTime>> times) {
        std::copy(times.begin(), times.end(),
                  times_.begin() + static_cast<std::ptrdiff_t>(row * columns_));
    }
    bool operator==(const TravelTable&) const = default;

private:
    std::size_t columns_;
    std::vector<std::optional<TravelTime>> times_;
};

/// By any engine, one search per departure.
TravelTable travel_table(Router& router, std::span<const Departure> departures,
                         std::span<const Snap> targets, Seconds limit);

/// To kept places, by climbs past all that is kept there (Knopp, Sanders, Schultes, Schulz, Wagner,
/// ALENEX 2007), eight of neighbouring departures at once. Equal to the other. Needs 8 bytes more
/// for each time while it works.
TravelTable travel_table(HierarchyRouter& router, std::span<const Departure> departures,
                         const PlaceIndex& places, Seconds limit);

}  // namespace waybourne::routing
