#include "dispatch/simulation.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

namespace {

constexpr Seconds year = 365 * 24h;

/// What has become of one call.
struct Served {
    Seconds waited{};
    Seconds until_care{};
    bool in_time = false;
};

/// The calls that wait, and when each vehicle comes back.
class Day {
public:
    Day(std::size_t calls, std::size_t vehicles, const Policy& policy)
        : policy_(policy),
          back_at_(vehicles),
          away_(vehicles),
          trips_(vehicles, 0),
          is_free_(vehicles, true),
          served_(calls) {}

    /// All that happens until then, without the calls.
    void pass_until(Instant until) {
        while (const auto next = next_moment(until)) {
            for (std::size_t vehicle = 0; vehicle < is_free_.size(); ++vehicle) {
                is_free_[vehicle] = is_free_[vehicle] || back_at_[vehicle] <= *next;
            }
            ask(*next);
        }
    }
    void add(const SimulatedCall& call, std::size_t number) {
        waiting_.push_back(call);
        numbers_.push_back(number);
    }
    void ask(Instant now) {
        ask_again_at_.reset();
        if (waiting_.empty()) {
            return;
        }
        const Decisions decided = policy_(waiting_, numbers_, now, is_free_);
        std::vector<bool> is_done(waiting_.size(), false);
        for (const Mission& mission : decided.missions) {
            is_done.at(mission.call) = true;
            const Seconds waited = now - waiting_[mission.call].at;
            served_[numbers_[mission.call]] =
                Served{waited, waited + mission.until_care, mission.in_time};
        }
        for (const std::size_t call : decided.given_up) {
            is_done.at(call) = true;
        }
        for (const Away& away : decided.away) {
            send(away, now);
        }
        keep_those_not(is_done);
        if (decided.ask_again_at && *decided.ask_again_at <= now) {
            throw std::logic_error("a policy asks to be asked again before time goes on");
        }
        ask_again_at_ = decided.ask_again_at;
    }
    void lose_waiting() {
        waiting_.clear();
        numbers_.clear();
    }
    SimulationResult result(Seconds length) const {
        SimulationResult result;
        result.calls = served_.size();
        for (const auto& served : served_) {
            if (!served) {
                ++result.lost;
                continue;
            }
            result.waited_s.push_back(static_cast<double>(served->waited.count()));
            result.until_care_s.push_back(static_cast<double>(served->until_care.count()));
            result.in_time.push_back(served->in_time ? 1 : 0);
        }
        for (const Seconds away : away_) {
            result.use.push_back(length > Seconds{0} ? static_cast<double>(away.count()) /
                                                           static_cast<double>(length.count())
                                                     : 0);
        }
        result.trips = trips_;
        return result;
    }

private:
    void send(const Away& away, Instant now) {
        if (!is_free_.at(away.vehicle)) {
            throw std::logic_error("a policy sends a vehicle that is not free");
        }
        is_free_[away.vehicle] = false;
        back_at_[away.vehicle] = now + away.away;
        away_[away.vehicle] += away.away;
        trips_[away.vehicle] += away.is_trip ? 1 : 0;
    }
    void keep_those_not(const std::vector<bool>& done) {
        std::size_t kept = 0;
        for (std::size_t call = 0; call < done.size(); ++call) {
            if (!done[call]) {
                waiting_[kept] = waiting_[call];
                numbers_[kept] = numbers_[call];
                ++kept;
            }
        }
        waiting_.resize(kept);
        numbers_.resize(kept);
    }
    /// When a vehicle comes back, or the policy wants to be asked; none until then.
    std::optional<Instant> next_moment(Instant until) const {
        std::optional<Instant> next;
        const auto consider = [&](Instant at) {
            if (at <= until && (!next || at < *next)) {
                next = at;
            }
        };
        for (std::size_t vehicle = 0; vehicle < is_free_.size(); ++vehicle) {
            if (!is_free_[vehicle]) {
                consider(back_at_[vehicle]);
            }
        }
        if (ask_again_at_) {
            consider(*ask_again_at_);
        }
        return next;
    }

    const Policy& policy_;
    std::vector<Instant> back_at_;
    std::vector<Seconds> away_;
    std::vector<std::size_t> trips_;
    std::vector<bool> is_free_;
    std::vector<SimulatedCall> waiting_;
    std::vector<std::size_t> numbers_;
    std::vector<std::optional<Served>> served_;
    std::optional<Instant> ask_again_at_;
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

double RandomSource::normal() {
    const double radius = std::sqrt(-2 * std::log(share()));
    return radius * std::cos(2 * std::numbers::pi * share());
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
    Day day(calls.size(), vehicles, policy);
    for (std::size_t index = 0; index < calls.size(); ++index) {
        if (index % told_every == 0) {
            report(progress, "simulating",
                   static_cast<double>(index) / static_cast<double>(calls.size()));
        }
        day.pass_until(calls[index].at);
        day.add(calls[index], index);
        day.ask(calls[index].at);
        if (when_nobody_is_free == WhenNobodyIsFree::is_lost) {
            day.lose_waiting();
        }
    }
    day.pass_until(Instant::max());
    report(progress, "simulated", 1);
    return day.result(calls.empty() ? Seconds{0} : calls.back().at - calls.front().at);
}

Policy first_come_first_served(ServeOne serve) {
    return [serve = std::move(serve)](std::span<const SimulatedCall> waiting,
                                      std::span<const std::size_t>, Instant now,
                                      const std::vector<bool>& is_free) {
        Decisions decided;
        std::vector<bool> left = is_free;
        for (std::size_t call = 0; call < waiting.size(); ++call) {
            const auto sent = serve(waiting[call], now, left);
            if (!sent) {
                break;
            }
            left.at(sent->vehicle) = false;
            decided.missions.push_back({call, sent->until_care, sent->in_time});
            decided.away.push_back({sent->vehicle, sent->away});
        }
        return decided;
    };
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
