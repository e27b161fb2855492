#pragma once
/// `waybourne simulate`: a district for a year under one policy or several.

#include <optional>
#include <string>
#include <vector>

#include "dispatch/district_year.hpp"
#include "server/settlements.hpp"
#include "server/snapshot.hpp"
#include "vocabulary/progress.hpp"

namespace waybourne::server {

struct YearRequest {
    /// `from`, `until` and what is drawn; `complications_per_birth` is that of the program's file
    /// unless `complications_per_1000` is given.
    dispatch::YearSettings settings;
    std::optional<double> complications_per_1000;
    /// At least one; the others are compared with the first.
    std::vector<dispatch::SendingPolicy> policies = {dispatch::SendingPolicy::one_plan};
    SettlementSource settlements;
    /// So many births in the whole district, each settlement in proportion; none: as they are.
    std::optional<double> births_per_year;
    /// None: the district's.
    std::optional<std::vector<dispatch::Vehicle>> vehicles;
};

/// Where a rate comes from, as it stands in `dispatch/data/complications.json`.
struct RateSource {
    std::string what;
    std::string source;
};

struct YearAnswer {
    struct OfPolicy {
        dispatch::SendingPolicy policy{};
        dispatch::SimulatedYear year;
        dispatch::YearFigures figures;
        /// Against the first policy; none for that itself.
        std::optional<dispatch::YearDifference> difference = {};
    };
    std::vector<OfPolicy> policies;
    std::vector<dispatch::Vehicle> vehicles;
    dispatch::YearSettings settings;
    std::vector<RateSource> sources;
};

/// @throws InputError for a bad question or file, vehicles off the map, and fewer than twenty
/// women;
///         Unavailable when every search is busy
YearAnswer answer_year(const Snapshot& snapshot, const YearRequest& request,
                       const Progress& progress = {});

}  // namespace waybourne::server
