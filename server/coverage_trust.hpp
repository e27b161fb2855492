#pragma once
/// What a planner must know about the figures before believing the first map.

#include <string>
#include <vector>

#include "coverage/settlement.hpp"
#include "server/coverage_request.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

struct TrustAnswer {
    std::size_t settlements = 0;
    double births = 0;
    /// Settlements whose births were worked out from a population, with their share of all births.
    std::size_t estimated = 0;
    double births_estimated = 0;
    /// By sub-district, beside the official figure where one is known.
    std::vector<coverage::AreaTotal> areas;

    /// How far a settlement is from the nearest road for the means asked about.
    struct FarFromRoad {
        SettlementId settlement;
        std::string name;
        double births = 0;
        /// None: farther than a way can be told from.
        std::optional<Metres> off_road;
    };
    /// Those without a road first, then farthest first.
    std::vector<FarFromRoad> far_from_road;

    /// A place whose hours nobody has ever confirmed, or of whose care nothing was ever reported.
    struct NeverConfirmed {
        FacilityId facility;
        std::string name;
        bool hours = false;
        triage::CapabilitySet care;
    };
    std::vector<NeverConfirmed> never_confirmed;

    /// Roads of one class by where their speed is from.
    struct Speeds {
        std::string road_class;
        /// Elsewhere.
        Metres measured;
        Metres assumed;
        /// On this district's own journeys, by a table that somebody accepted.
        Metres observed;
    };
    /// By class, most assumed first.
    std::vector<Speeds> speeds;
    Metres observed() const;
};

/// @param request its settlements, areas, birth rate and means count
TrustAnswer answer_trust(const Snapshot& snapshot, const CoverageRequest& request, Instant now);

}  // namespace waybourne::server
