#pragma once
/// A district for a year, with the real planner deciding: births come, some go wrong, vehicles are
/// sent as `plan_transport` says, and what happens on the way is drawn from the spread of each way.
///
/// What is drawn, by a seed: when and where a birth falls (Poisson, by each settlement's births),
/// whether it goes wrong and how (`Complication`), how long each way truly takes (log-normal with
/// median `typical` and 90th percentile `allow`), whether a place is ready when she comes (by the
/// chance that facilities/ gives), whether a vehicle starts. The same seed draws the same women,
/// the same ways and the same luck for every policy, so that policies are compared woman by woman.
///
/// What is taken as it is: everybody calls from her settlement as soon as the danger sign is seen;
/// a vehicle that has been told to go is not called back; on its way home it counts as where it
/// left her, until it is at its base again.

#include <functional>
#include <span>
#include <string>
#include <vector>

#include "dispatch/simulation.hpp"
#include "dispatch/way.hpp"

namespace waybourne::dispatch {

/// One kind of what goes wrong.
struct Complication {
    std::string id;
    /// Of all complications, on any scale.
    double weight = 0;
    /// What triage says when it is seen at that moment.
    std::function<triage::Assessment(Instant)> assess;
};

/// Where women live.
struct BirthPlace {
    GeoPoint point{Latitude{0}, Longitude{0}};
    double births_per_year = 0;
};

enum class SendingPolicy {
    one_plan,        ///< one plan for all who wait, made again whenever something happens
    each_by_itself,  ///< the best way for each alone, in the order of the calls
    nearest_free,    ///< the free vehicle that is with her soonest
};
std::string_view to_name(SendingPolicy policy);
std::optional<SendingPolicy> find_sending_policy(std::string_view name);

struct YearSettings {
    SendingPolicy policy = SendingPolicy::one_plan;
    Instant from{};
    Instant until{};
    std::uint64_t seed = 1;
    /// Direct complications in every birth: 15 in 100 (WHO 1994, as the MEASURE compendium cites
    /// it).
    double complications_per_birth = 0.15;
    /// Places are ready by the chances that facilities/ gives; else whenever they may be.
    bool places_can_fail = true;
    /// A place whose readiness is not confirmed is phoned before anybody leaves, and tells the
    /// truth; else it turns out when she is there. When all refuse, they are phoned again after an
    /// hour.
    bool phones_ahead = true;
    /// Share of women with something at hand, and what. No published rate: none.
    double own_transport_share = 0;
    routing::Means own_transport = routing::Means::motorcycle;
    /// Share of calls at which a vehicle does not start, and how long it is then out of service. No
    /// published rate: none. The time is a proposal.
    double does_not_start_share = 0;
    Seconds repair = 24h;
    /// Nobody comes after this: it counts as never reached. Proposal.
    Seconds given_up_after = 24h;
};

/// What became of one woman.
struct SimulatedWoman {
    Instant at{};
    std::size_t place = 0;
    std::size_t complication = 0;
    /// Somebody took her somewhere.
    bool is_carried = false;
    /// From the danger sign until the vehicle is with her, and until the last need begins to be
    /// met; none: never, her own transport, or not all is met.
    std::optional<Seconds> until_with_her = {};
    std::optional<Seconds> until_care = {};
    /// As in referral/choice.hpp, by what truly happened.
    double lateness = 0;
    bool is_in_time = false;
    /// The critical needs alone.
    bool critical_in_time = false;
    /// What the planner said when she was fetched.
    bool was_expected_in_time = false;
    double chance_in_time = 0;
    /// Places that turned out not to be ready when she was there.
    std::size_t places_in_vain = 0;
    bool operator==(const SimulatedWoman&) const = default;
};

struct SimulatedYear {
    std::size_t births = 0;
    /// In the order of time; those who need nothing elsewhere are left out.
    std::vector<SimulatedWoman> women = {};
    /// One per vehicle: share of the year away, and trips with a woman.
    std::vector<double> use = {};
    std::vector<std::size_t> trips = {};
    bool operator==(const SimulatedYear&) const = default;
};

/// @param situation its `now` is not read
/// @throws InputError for a year that ends before it begins, a share outside 0 to 1, no births
/// Complexity: one `plan_transport` per call and per vehicle that comes back while somebody waits.
SimulatedYear simulate_year(const DispatchSituation& situation,
                            std::span<const BirthPlace> birth_places,
                            std::span<const Complication> complications,
                            std::span<const Vehicle> vehicles, const YearSettings& settings,
                            const Progress& progress = {});

/// The figures of a year, each a mean over the women with its 95 % confidence interval.
struct YearFigures {
    Estimate95 share_in_time;
    Estimate95 critical_in_time;
    Estimate95 lateness;
    /// None: fewer than twenty got all they needed, or were fetched.
    std::optional<Estimate95> care_minutes = {};
    std::optional<Estimate95> with_her_minutes = {};
    /// By the planner's own chances, as they were before anybody was phoned.
    Estimate95 expected_share_in_time;
    std::size_t never_carried = 0;
    std::size_t places_in_vain = 0;
};
/// @throws InputError for fewer than twenty women
YearFigures figures_of(const SimulatedYear& year);

/// The second year less the first, woman by woman.
struct YearDifference {
    Estimate95 share_in_time;
    Estimate95 lateness;
};
/// @throws InputError unless both are of the same women
YearDifference difference_of(const SimulatedYear& first, const SimulatedYear& second);

}  // namespace waybourne::dispatch
