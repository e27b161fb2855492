#include "dispatch/simulation.hpp"

#include <algorithm>
#include <cmath>
#include <deque>

#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

namespace {

constexpr Seconds year = 365 * 24h;

/// The calls that wait, and when each vehicle comes back.
class Day {
public:
    Day(std::size_t vehicles, const Policy& policy)
        : policy_(policy), back_at_(vehicles), away_(vehicles), is_free_(vehicles, true) {}

    void come_back_until(Instant now, SimulationResult& result) {
        while (const auto next = next_back(now)) {
            is_free_[*next] = true;
            const Instant at = back_at_[*next];
            // Those who came back at the same moment are free together.
            serve_waiting(at, result);
        }
    }
    void add(const SimulatedCall& call) { waiting_.push_back(call); }
    /// In the order of the calls; stops at the first that nobody can be sent to.
    void serve_waiting(Instant now, SimulationResult& result) {
        while (!waiting_.empty()) {
            const SimulatedCall& call = waiting_.front();
            const auto mission = policy_(call, now, is_free_);
            if (!mission) {
                return;
            }
            const Seconds waited = now - call.at;
            result.waited_s.push_back(static_cast<double>(waited.count()));
            result.until_care_s.push_back(
                static_cast<double>((waited + mission->until_care).count()));
            result.in_time.push_back(mission->in_time ? 1 : 0);
            if (mission->vehicle) {
                is_free_.at(*mission->vehicle) = false;
                back_at_[*mission->vehicle] = now + mission->away;
                away_[*mission->vehicle] += mission->away;
            }
            waiting_.pop_front();
        }
    }
    bool is_waiting() const { return !waiting_.empty(); }
    void lose_waiting(SimulationResult& result) {
        result.lost += waiting_.size();
        waiting_.clear();
    }
    const std::vector<Seconds>& away() const { return away_; }

private:
    /// Of those out that are back by then the first.
    std::optional<std::size_t> next_back(Instant now) const {
        std::optional<std::size_t> next;
        for (std::size_t vehicle = 0; vehicle < is_free_.size(); ++vehicle) {
            const bool is_back = !is_free_[vehicle] && back_at_[vehicle] <= now;
            if (is_back && (!next || back_at_[vehicle] < back_at_[*next])) {
                next = vehicle;
            }
        }
        return next;
    }

    const Policy& policy_;
    std::vector<Instant> back_at_;
    std::vector<Seconds> away_;
    std::vector<bool> is_free_;
    std::deque<SimulatedCall> waiting_;
};

}  // namespace

std::uint64_t RandomSource::next() {
    state_ += 0x9e3779b97f4a7c15ULL;
    std::uint64_t mixed = state_;
    mixed = (mixed ^ (mixed >> 30U)) * 0xbf58476d1ce4e5b9ULL;
    mixed = (mixed ^ (mixed >> 27U)) * 0x94d049bb133111ebULL;
    return mixed ^ (mixed >> 31U);
}

double RandomSource::share() {
    constexpr double steps = 9007199254740992.0;  // 2^53
    return (static_cast<double>(next() >> 11U) + 1) / steps;
}

Seconds RandomSource::exponential(Seconds mean) {
    return Seconds{std::llround(-std::log(share()) * static_cast<double>(mean.count()))};
}

std::vector<SimulatedCall> random_calls(std::span<const double> weights, double per_year,
                                        Instant from, Instant until, RandomSource& random) {
    double total = 0;
    for (const double weight : weights) {
        if (!(weight >= 0)) {
            throw InputError("a weight is negative");
        }
        total += weight;
    }
    if (!(per_year > 0) || !(total > 0)) {
        throw InputError("calls need a rate and a weight above nothing");
    }
    const double mean_s = static_cast<double>(year.count()) / per_year;
    std::vector<SimulatedCall> calls;
    double at_s = 0;
    while (true) {
        at_s += -std::log(random.share()) * mean_s;
        const Instant at = from + Seconds{std::llround(at_s)};
        if (at >= until) {
            return calls;
        }
        double left = random.share() * total;
        std::size_t place = 0;
        while (place + 1 < weights.size() && left > weights[place]) {
            left -= weights[place];
            ++place;
        }
        calls.push_back({at, place});
    }
}

Estimate95 batch_means(std::span<const double> values) {
    constexpr std::size_t batches = 20;
    constexpr double student_t = 2.093;
    if (values.size() < batches) {
        throw InputError("an interval needs twenty values at least");
    }
    const std::size_t size = values.size() / batches;
    std::vector<double> means;
    for (std::size_t batch = 0; batch < batches; ++batch) {
        double sum = 0;
        for (const double value : values.subspan(batch * size, size)) {
            sum += value;
        }
        means.push_back(sum / static_cast<double>(size));
    }
    Estimate95 estimate;
    for (const double mean : means) {
        estimate.mean += mean / batches;
    }
    double squares = 0;
    for (const double mean : means) {
        squares += (mean - estimate.mean) * (mean - estimate.mean);
    }
    estimate.half_width = student_t * std::sqrt(squares / (batches - 1) / batches);
    return estimate;
}

SimulationResult simulate(std::span<const SimulatedCall> calls, std::size_t vehicles,
                          const Policy& policy, WhenNobodyIsFree when_nobody_is_free,
                          const Progress& progress) {
    constexpr std::size_t told_every = 100;
    SimulationResult result;
    result.calls = calls.size();
    Day day(vehicles, policy);
    for (std::size_t index = 0; index < calls.size(); ++index) {
        if (index % told_every == 0) {
            report(progress, "simulating",
                   static_cast<double>(index) / static_cast<double>(calls.size()));
        }
        day.come_back_until(calls[index].at, result);
        day.add(calls[index]);
        day.serve_waiting(calls[index].at, result);
        if (when_nobody_is_free == WhenNobodyIsFree::is_lost) {
            day.lose_waiting(result);
        }
    }
    day.come_back_until(Instant::max(), result);
    day.lose_waiting(result);
    report(progress, "simulated", 1);
    const Seconds length = calls.empty() ? Seconds{0} : calls.back().at - calls.front().at;
    for (const Seconds away : day.away()) {
        result.use.push_back(length > Seconds{0} ? static_cast<double>(away.count()) /
                                                       static_cast<double>(length.count())
                                                 : 0);
    }
    return result;
}

double erlang_b(std::size_t servers, double load) {
    double blocked = 1;
    for (std::size_t server = 1; server <= servers; ++server) {
        blocked = load * blocked / (static_cast<double>(server) + load * blocked);
    }
    return blocked;
}

double erlang_c(std::size_t servers, double load) {
    const auto c = static_cast<double>(servers);
    if (!(load >= 0 && load < c)) {
        throw InputError("with this load the queue grows for ever");
    }
    const double blocked = erlang_b(servers, load);
    return c * blocked / (c - load * (1 - blocked));
}

}  // namespace waybourne::dispatch
