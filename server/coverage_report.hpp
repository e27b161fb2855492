#pragma once
/// The district report for planners: one page of HTML that prints well and needs nothing else.

#include <optional>
#include <string>

#include "server/competition.hpp"
#include "server/coverage.hpp"
#include "server/coverage_trust.hpp"
#include "server/critical_links.hpp"
#include "server/upgrades.hpp"
#include "server/words.hpp"

namespace waybourne::server {

/// All that the report tells.
struct CoverageReport {
    UpgradeRequest request;
    TrustAnswer trust;
    CoverageAnswer access;
    OverviewAnswer overview;
    LossesAnswer losses;
    /// None where no capacity is given.
    std::optional<CompetitionAnswer> competition;
    LinksAnswer links;
    UpgradeAnswer upgrades;
    std::vector<SensitivityPoint> sensitivity;
};

/// @throws as the answers it is made of
CoverageReport make_coverage_report(const Snapshot& snapshot, const UpgradeRequest& request,
                                    Instant now, const coverage::Work& work = {});

/// A whole document: tables, and maps and charts as SVG inside it. Classes on the map differ by
/// shape and by lightness too, so that they can be told apart in print and by whoever does not see
/// colours. What is not known comes before the first map. Ends with every input and its SHA-256.
/// @param catalogue of the reader's language
std::string render_coverage_report(const Snapshot& snapshot, const CoverageReport& report,
                                   const Catalogue& catalogue, Instant now);

}  // namespace waybourne::server
