#pragma once
/// The district report for planners: one page of HTML that prints well and needs nothing else.

#include <optional>
#include <string>

#include "server/competition.hpp"
#include "server/coverage.hpp"
#include "server/coverage_indicators.hpp"
#include "server/coverage_trust.hpp"
#include "server/critical_links.hpp"
#include "server/observed_journeys.hpp"
#include "server/upgrades.hpp"
#include "server/words.hpp"

namespace waybourne::server {

/// All that the report tells.
struct CoverageReport {
    ReportRequest request;
    TrustAnswer trust;
    CoverageAnswer access;
    OverviewAnswer overview;
    LossesAnswer losses;
    /// None where no capacity is given.
    std::optional<CompetitionAnswer> competition;
    LinksAnswer links;
    UpgradeAnswer upgrades;
    /// None where no plan is given.
    std::optional<WhatIfAnswer> what_ifs;
    IndicatorAnswer indicators;
    /// None where there is no journal.
    std::optional<JourneysAnswer> journeys;
    /// Where the journal stood.
    std::optional<journal::Head> journal_head;
    std::vector<SensitivityPoint> sensitivity;
};

/// @throws as the answers it is made of
/// @param journal null: there is none, and the report says that delays are not known
CoverageReport make_coverage_report(const Snapshot& snapshot, const ReportRequest& request,
                                    Instant now, const journal::Journal* journal,
                                    const coverage::Work& work = {});

/// A whole document: tables, and maps and charts as SVG inside it. Classes on the map differ by
/// shape and by lightness too, so that they can be told apart in print and by whoever does not see
/// colours. What is not known comes before the first map. Ends with every input and its SHA-256.
/// Nothing in it is about one person, and of fewer than five referrals only their number is told.
/// @param catalogue of the reader's language
std::string render_coverage_report(const Snapshot& snapshot, const CoverageReport& report,
                                   const Catalogue& catalogue, Instant now);

}  // namespace waybourne::server
