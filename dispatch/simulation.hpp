#pragma once
/// A district simulated call by call: what a policy of sending vehicles gives over a long time.
///
/// Calls come at random (a Poisson process); those that wait are put to the policy whenever one
/// more comes, a vehicle is back, or the policy has asked to be asked again. What the policy
/// decides — how long until care, how long the vehicles are away — is taken as it says.
/// Deterministic: the same seed gives the same year on every machine (own random numbers,
/// splitmix64: Steele, Lea, Flood, OOPSLA 2014).

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "vocabulary/progress.hpp"
#include "vocabulary/time.hpp"

namespace waybourne::dispatch {

/// Random numbers that are the same everywhere.
class RandomSource {
public:
    explicit RandomSource(std::uint64_t seed) : state_(seed) {}
    std::uint64_t next();
    /// Above 0, at most 1.
    double share();
    /// Exponential with this mean, to the second.
    Seconds exponential(Seconds mean);
    /// Of the standard normal distribution (Box, Muller, Annals of Mathematical Statistics 29,
    /// 1958, 610-611).
    double normal();

private:
    std::uint64_t state_;
};

struct SimulatedCall {
    Instant at{};
    /// Where it comes from, by index of the weights.
    std::size_t place = 0;
    bool operator==(const SimulatedCall&) const = default;
};

/// Calls from `from` until just before `until`, `per_year` (of 365 days) on average over all
/// places, each place by its weight.
/// @throws InputError for a rate or weight that is negative, or no weight at all
std::vector<SimulatedCall> random_calls(std::span<const double> weights, double per_year,
                                        Instant from, Instant until, RandomSource& random);

/// A vehicle that cannot be sent for so long.
struct Away {
    std::size_t vehicle = 0;
    Seconds away{};
    /// With a woman; else held for another reason.
    bool is_trip = true;
};

/// What becomes of one call.
struct Mission {
    /// By index of the calls that were put to the policy.
    std::size_t call = 0;
    Seconds until_care{};
    bool in_time = false;
};

/// What a policy decides at one moment.
struct Decisions {
    std::vector<Mission> missions = {};
    /// Vehicles that are away from now on: each is free, and stands here once.
    std::vector<Away> away = {};
    /// Calls, by index, for which nobody will ever come.
    std::vector<std::size_t> given_up = {};
    /// After now; none: when something happens.
    std::optional<Instant> ask_again_at = {};
};

/// @param waiting in the order in which they came
/// @param numbers of the waiting, among all calls
/// @param is_free one per vehicle
using Policy = std::function<Decisions(std::span<const SimulatedCall> waiting,
                                       std::span<const std::size_t> numbers, Instant now,
                                       const std::vector<bool>& is_free)>;

/// For one call with one vehicle; none: nobody can be sent now.
struct SentVehicle {
    std::size_t vehicle = 0;
    Seconds until_care{};
    Seconds away{};
    bool in_time = false;
};
using ServeOne = std::function<std::optional<SentVehicle>(const SimulatedCall& call, Instant now,
                                                          const std::vector<bool>& is_free)>;
/// First come, first served; nobody is served before who came earlier.
Policy first_come_first_served(ServeOne serve);

enum class WhenNobodyIsFree { waits, is_lost };

/// A mean with its 95 % confidence interval by batch means: the calls in order, in twenty batches,
/// Student's t with 19 degrees of freedom (2.093, from memory of any table).
struct Estimate95 {
    double mean = 0;
    double half_width = 0;
    bool contains(double value) const {
        return value >= mean - half_width && value <= mean + half_width;
    }
    bool operator==(const Estimate95&) const = default;
};
/// @throws InputError for fewer than twenty values
Estimate95 batch_means(std::span<const double> values);

struct SimulationResult {
    std::size_t calls = 0;
    /// Found nobody free, or were given up.
    std::size_t lost = 0;
    /// One per call served, in the order of the calls.
    std::vector<double> waited_s = {};
    std::vector<double> until_care_s = {};
    std::vector<double> in_time = {};
    /// Share of the time that each vehicle was away.
    std::vector<double> use = {};
    /// How often each was sent for a woman.
    std::vector<std::size_t> trips = {};
    bool operator==(const SimulationResult&) const = default;
};

/// @param calls in the order of time
/// @param progress told now and then
/// @throws std::logic_error for a policy that sends who is not free, or asks to be asked again now
SimulationResult simulate(std::span<const SimulatedCall> calls, std::size_t vehicles,
                          const Policy& policy, WhenNobodyIsFree when_nobody_is_free,
                          const Progress& progress = {});

/// The chance that all of `servers` are busy when a call comes: that it is lost (Erlang B), or has
/// to wait (Erlang C). @param load calls per mean service time (Erlang, Post Office Electrical
/// Engineers' Journal 10, 1917, 189-197)
double erlang_b(std::size_t servers, double load);
/// @throws InputError unless the load is below the number of servers
double erlang_c(std::size_t servers, double load);

}  // namespace waybourne::dispatch
