#pragma once
/// How long a report counts, and what it is still worth after that.

#include <string_view>

#include "facilities/service.hpp"

namespace waybourne::facilities {

/// How one kind of thing ages.
struct Ageing {
    /// A report older than this is no longer a confirmation.
    Seconds shelf_life;
    /// The share of time in which it is ready in the long run, 0 to 1.
    double long_run_share;
    /// How fast a report's worth fades towards that share; above zero.
    Seconds relaxation;
};

/// Where the figures come from; shown wherever they are.
inline constexpr std::string_view shelf_life_label =
    "proposal: shelf lives by the clinical specification's section d.2, to be confirmed by the "
    "clinical lead";
inline constexpr std::string_view long_run_label =
    "assumption, no source: to be replaced by the district's own record once it can tell";

/// Shelf life of staff 12 h, stock 24 h, blood 6 h, equipment 7 days, power 12 h, space 6 h
/// (proposal). Long-run share and relaxation time are assumptions: the relaxation time is twice the
/// shelf life, so that a report keeps e^-1/2 = 61 % of its worth at the end of it.
const Ageing& ageing_of(ResourceKind kind);

/// Opening hours: 30 days (proposal).
const Ageing& ageing_of_hours();

/// Of a service that names no resource: as the shortest-lived thing it must rest on, i.e. blood for
/// a transfusion, space for critical care, staff for all else (proposal).
const Ageing& ageing_of(triage::Capability capability);

/// "Performed in the last 3 months" counts for planning only (proposal: 92 days).
bool is_performed_lately(const Service& service, Instant now);

/// P(ready | reported ready `age` ago) = π + (1 − π)·e^(−age/τ), by the two-state continuous-time
/// Markov chain with long-run share π and relaxation time τ (from memory of Ross, Introduction to
/// Probability Models, on birth and death processes). A negative age counts as none.
double chance_after_ready(const Ageing& ageing, Seconds age);

/// P(ready | reported not ready `age` ago) = π·(1 − e^(−age/τ)), by the same chain.
double chance_after_not_ready(const Ageing& ageing, Seconds age);

}  // namespace waybourne::facilities
