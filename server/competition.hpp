#pragma once
/// Where many share little: what would come to each place against what it has room for, and how
/// much room is within reach of each settlement.

#include <vector>

#include "server/access_study.hpp"

namespace waybourne::server {

struct CompetitionAnswer {
    /// Its loads are held against the capacities.
    CoverageAnswer access;
    /// Room for births a year per birth a year that competes for it: by settlement, and by place. A
    /// place that is left out has none, nor has a settlement that is too far from any road.
    std::vector<std::optional<double>> of_settlement;
    std::vector<std::optional<double>> of_place;
    /// Of the settlements' scores; none where none has one.
    std::optional<coverage::Distribution> distribution;
    /// Places that offer the care and are left out, by number: nobody says what they have room for,
    /// or whether they are ready. Whoever is near one of them may have more than is told.
    std::vector<std::size_t> without_capacity;
    std::vector<std::size_t> without_readiness;
};

/// Scores rest on typical times of the way. They are only to be compared with each other: the
/// zones' weights are chosen, not measured.
/// @throws as `answer_coverage`; InputError where no capacity of a place that offers the care is
///         given, NotFound for one of a facility that there is not
CompetitionAnswer answer_competition(const Snapshot& snapshot, const CompetitionRequest& request,
                                     Instant now, const coverage::Work& work = {});

/// Numbers of the settlements with the least score, least first; of equal ones most births first.
/// Those without a score are left out.
std::vector<std::size_t> least_scores(const CompetitionAnswer& answer, std::size_t most);

}  // namespace waybourne::server
