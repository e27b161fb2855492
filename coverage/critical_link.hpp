#pragma once
/// Which roads and bridges, and which places, most births depend on.

#include <memory>
#include <span>
#include <vector>

#include "coverage/work.hpp"
#include "routing/what_if.hpp"

namespace waybourne::coverage {

/// What would happen if it failed, everything else staying as it is.
struct Failure {
    /// Births a year in time before and not after, by the allowed time of the way with the least
    /// typical time. Below 0 only where the way round is slower in the mean but surer.
    double births_lost = 0;
    /// Of all births: those that would reach no place at all any more.
    double births_cut_off = 0;
    /// Births × minutes more, by typical time. Whoever reaches nothing, or takes longer than a day,
    /// counts as taking a day, so that those cut off count finitely.
    double birth_minutes_added = 0;
    bool operator==(const Failure&) const = default;
};

struct CriticalLink {
    /// Never a copy.
    routing::PieceId piece;
    Failure failure;
};

struct CriticalPair {
    routing::PieceId first;
    routing::PieceId second;
    Failure failure;
};

struct CriticalPlace {
    std::uint32_t place = 0;
    Failure failure;
};

/// Asks about one failure after the other, each as exact as a full recomputation and as cheap as
/// what hangs on it: a dynamic search (routing/what_if.hpp) takes back only the ways that used it.
/// A search workspace: one per thread.
class CriticalLinks {
public:
    /// @param births one per settlement of the base
    /// @throws InputError if the sizes do not fit
    CriticalLinks(std::shared_ptr<const routing::NearestPlaces> base, std::vector<double> births,
                  Seconds standard);

    /// Closed in both directions, with all copies.
    Failure failure_of(std::span<const routing::PieceId> pieces);
    Failure failure_of_place(std::uint32_t place);

    /// Every piece whose failure changes anything, most births lost first, then most minutes, then
    /// the lower number. @throws Unavailable if stopped
    std::vector<CriticalLink> all(const Work& work = {});
    /// All pairs of the worst `count` links: a bridge may matter only once another is gone.
    std::vector<CriticalPair> pairs(std::span<const CriticalLink> links, std::size_t count = 10);
    std::vector<CriticalPlace> places();

private:
    Failure outcome(const routing::PlannedChange& change);

    std::shared_ptr<const routing::NearestPlaces> base_;
    routing::WhatIf what_if_;
    std::vector<double> births_;
    Seconds standard_;
};

}  // namespace waybourne::coverage
