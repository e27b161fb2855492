#include "coverage/internal/best_value.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <limits>
#include <numeric>

#include "coverage/internal/location_state.hpp"

namespace waybourne::coverage {

namespace {

constexpr double crumb = 1e-9;

/// The best and the second best value of each settlement, and which chosen option gives the best.
class TwoBest {
public:
    static constexpr std::uint32_t nobody = std::numeric_limits<std::uint32_t>::max();

    TwoBest(const LocationModel& model, std::span<const std::uint32_t> chosen)
        : best_(values_already(model)), second_(best_), owner_(best_.size(), nobody) {
        for (std::uint32_t place = 0; place < chosen.size(); ++place) {
            for (const Served& one : model.serves[chosen[place]]) {
                double& best = best_[one.settlement];
                double& second = second_[one.settlement];
                if (one.value > best) {
                    second = best;
                    best = one.value;
                    owner_[one.settlement] = place;
                } else {
                    second = std::max(second, one.value);
                }
            }
        }
    }
    double best(std::size_t settlement) const { return best_[settlement]; }
    double second(std::size_t settlement) const { return second_[settlement]; }
    /// The place among the chosen; `nobody`: what is there already.
    std::uint32_t owner(std::size_t settlement) const { return owner_[settlement]; }
    std::size_t size() const { return best_.size(); }

private:
    std::vector<double> best_;
    std::vector<double> second_;
    std::vector<std::uint32_t> owner_;
};

/// One option in for one out.
struct Swap {
    double gain = 0;
    std::size_t out = 0;  ///< its place among the chosen
    std::uint32_t in = 0;
};

class Swaps {
public:
    Swaps(const LocationModel& model, const Limit& limit, const std::vector<std::uint32_t>& chosen)
        : model_(model), limit_(limit), chosen_(chosen), two_(model, chosen) {
        is_chosen_.resize(model.options.size());
        lost_.resize(chosen.size());
        for (const std::uint32_t option : chosen) {
            is_chosen_[option] = true;
            cost_ += model.options[option].cost;
        }
        for (std::size_t i = 0; i < two_.size(); ++i) {
            if (two_.owner(i) != TwoBest::nobody) {
                lost_[two_.owner(i)] += model.births[i] * (two_.best(i) - two_.second(i));
            }
        }
    }

    Swap best() {
        Swap best;
        for (std::uint32_t in = 0; in < model_.options.size(); ++in) {
            if (is_chosen_[in] || model_.options[in].choice == Choice::forced_out) {
                continue;
            }
            // what is gained beside all that is there, and what of each loss it makes good
            double gain = 0;
            std::vector<double> made_good(chosen_.size(), 0);
            for (const Served& one : model_.serves[in]) {
                const std::size_t i = one.settlement;
                if (one.value <= two_.second(i)) {
                    continue;
                }
                gain += model_.births[i] * std::max(0.0, one.value - two_.best(i));
                if (two_.owner(i) != TwoBest::nobody) {
                    made_good[two_.owner(i)] +=
                        model_.births[i] * (std::min(one.value, two_.best(i)) - two_.second(i));
                }
            }
            for (std::size_t out = 0; out < chosen_.size(); ++out) {
                const double all = gain - lost_[out] + made_good[out];
                if (all > best.gain && fits(in, out)) {
                    best = {all, out, in};
                }
            }
        }
        return best;
    }

private:
    bool fits(std::uint32_t in, std::size_t out) const {
        const Option& leaves = model_.options[chosen_[out]];
        const Option& comes = model_.options[in];
        if (leaves.choice == Choice::forced_in ||
            (limit_.budget &&
             cost_ - leaves.cost + comes.cost > *limit_.budget * (1 + cost_crumb))) {
            return false;
        }
        return !comes.site || std::none_of(chosen_.begin(), chosen_.end(), [&](std::uint32_t one) {
            return one != chosen_[out] && model_.options[one].site == comes.site;
        });
    }

    const LocationModel& model_;
    const Limit& limit_;
    const std::vector<std::uint32_t>& chosen_;
    TwoBest two_;
    std::vector<bool> is_chosen_;
    std::vector<double> lost_;
    double cost_ = 0;
};

/// What each settlement would gain by each option, the greatest gains first. Rounded up, so that
/// the bound stays one.
class Gains {
public:
    struct One {
        float gain;
        std::uint32_t option;
    };

    explicit Gains(const LocationModel& model) : starts_(model.births.size() + 1) {
        const std::vector<double> already = values_already(model);
        const auto gain_of = [&](const Served& one) {
            const double gain =
                model.births[one.settlement] * (one.value - already[one.settlement]);
            return std::nextafter(static_cast<float>(gain), std::numeric_limits<float>::infinity());
        };
        const auto counts = [&](std::uint32_t option, const auto& use) {
            for (const Served& one : model.serves[option]) {
                if (gain_of(one) > std::numeric_limits<float>::min()) {
                    use(one);
                }
            }
        };
        for (std::uint32_t option = 0; option < model.options.size(); ++option) {
            counts(option, [&](const Served& one) { ++starts_[one.settlement + 1]; });
        }
        std::partial_sum(starts_.begin(), starts_.end(), starts_.begin());
        all_.resize(starts_.back());
        std::vector<std::size_t> next(starts_.begin(), starts_.end() - 1);
        for (std::uint32_t option = 0; option < model.options.size(); ++option) {
            counts(option, [&](const Served& one) {
                all_[next[one.settlement]++] = {gain_of(one), option};
            });
        }
        for (std::size_t i = 0; i + 1 < starts_.size(); ++i) {
            sort_first(i);
        }
    }
    std::size_t settlements() const { return starts_.size() - 1; }

    /// Calls `use(option, gain)` for each gain above the price.
    template <typename Use>
    void above(std::size_t settlement, double price, const Use& use) const {
        const std::size_t end = starts_[settlement + 1];
        const std::size_t sorted = std::min(end, starts_[settlement] + first);
        std::size_t k = starts_[settlement];
        for (; k < sorted && all_[k].gain > price; ++k) {
            use(all_[k].option, all_[k].gain);
        }
        if (k < sorted) {
            return;
        }
        for (; k < end; ++k) {
            if (all_[k].gain > price) {
                use(all_[k].option, all_[k].gain);
            }
        }
    }

private:
    /// Prices rarely fall below this many of the greatest gains: only these are sorted.
    static constexpr std::size_t first = 48;

    void sort_first(std::size_t settlement) {
        const auto more = [](const One& a, const One& b) {
            return a.gain != b.gain ? a.gain > b.gain : a.option < b.option;
        };
        const auto begin = all_.begin() + static_cast<std::ptrdiff_t>(starts_[settlement]);
        const auto end = all_.begin() + static_cast<std::ptrdiff_t>(starts_[settlement + 1]);
        const auto middle =
            begin + std::min<std::ptrdiff_t>(static_cast<std::ptrdiff_t>(first), end - begin);
        std::partial_sort(begin, middle, end, more);
    }

    std::vector<std::size_t> starts_;
    std::vector<One> all_;
};

/// How much of each option the relaxed problem takes, and what that is worth.
struct Taken {
    double worth = 0;
    std::vector<double> share;
};

class Relaxation {
public:
    Relaxation(const LocationModel& model, const Limit& limit)
        : model_(model), limit_(limit), gains_(model) {}

    /// Moves the prices until nothing more is to be had; fills `result`.
    void solve(Relaxed& result, Seconds time, double gap, const Work& work) {
        const auto ends = std::chrono::steady_clock::now() + time;
        std::vector<double> prices = first_prices(result.options);
        best_prices_ = prices;
        double step = 1.5;
        int idle = 0;
        for (int round = 0; round < most_rounds && step > least_step; ++round) {
            work.at("bound", -1);
            const Taken taken = take(worth_of_options(prices));
            const double bound = sum_of(prices) + taken.worth;
            if (bound < result.bound * (1 - least_progress)) {
                idle = 0;
            } else if (++idle >= patience) {
                idle = 0;
                step /= 2;
                prices = best_prices_;
            }
            if (bound < result.bound) {
                result.bound = bound;
                best_prices_ = prices;
            }
            if (round % 10 == 0) {
                try_plan(taken, result);
            }
            if (result.bound - result.value <= std::max(gap, crumb) * result.bound ||
                std::chrono::steady_clock::now() > ends) {
                break;
            }
            if (!move(prices, taken, step * (bound - result.value))) {
                break;
            }
        }
        fix(result);
    }

private:
    static constexpr int most_rounds = 2000;
    static constexpr int patience = 20;
    static constexpr double least_step = 2e-4;
    static constexpr double least_progress = 1e-6;

    /// Where a settlement has two options of the plan, the worse of them.
    std::vector<double> first_prices(std::span<const std::uint32_t> plan) const {
        const TwoBest two(model_, plan);
        const std::vector<double> already = values_already(model_);
        std::vector<double> prices(model_.births.size());
        for (std::size_t i = 0; i < prices.size(); ++i) {
            prices[i] = model_.births[i] * (two.second(i) - already[i]);
        }
        return prices;
    }

    static double sum_of(const std::vector<double>& prices) {
        return std::accumulate(prices.begin(), prices.end(), 0.0);
    }

    std::vector<double> worth_of_options(const std::vector<double>& prices) const {
        std::vector<double> worth(model_.options.size(), 0);
        for (std::size_t i = 0; i < prices.size(); ++i) {
            gains_.above(i, prices[i], [&](std::uint32_t option, double gain) {
                worth[option] += gain - prices[i];
            });
        }
        return worth;
    }

    /// Those that may be chosen, the best first by this measure.
    template <typename Measure>
    std::vector<std::uint32_t> in_order(const Measure& measure) const {
        std::vector<std::uint32_t> order;
        for (std::uint32_t option = 0; option < model_.options.size(); ++option) {
            if (model_.options[option].choice == Choice::free) {
                order.push_back(option);
            }
        }
        std::sort(order.begin(), order.end(), [&](std::uint32_t a, std::uint32_t b) {
            return measure(a) != measure(b) ? measure(a) > measure(b) : a < b;
        });
        return order;
    }

    Taken forced(const std::vector<double>& worth) const {
        Taken taken{0, std::vector<double>(worth.size(), 0)};
        for (std::size_t option = 0; option < worth.size(); ++option) {
            if (model_.options[option].choice == Choice::forced_in) {
                taken.share[option] = 1;
                taken.worth += worth[option];
            }
        }
        return taken;
    }

    Taken by_count(const std::vector<double>& worth) const {
        Taken taken = forced(worth);
        auto left = *limit_.count - static_cast<std::size_t>(
                                        std::count(taken.share.begin(), taken.share.end(), 1.0));
        for (const std::uint32_t option : in_order([&](std::uint32_t one) { return worth[one]; })) {
            if (left == 0 || worth[option] <= 0) {
                break;
            }
            taken.share[option] = 1;
            taken.worth += worth[option];
            --left;
        }
        return taken;
    }

    Taken by_budget(const std::vector<double>& worth) const {
        Taken taken = forced(worth);
        double left = *limit_.budget * (1 + cost_crumb);
        for (std::size_t option = 0; option < worth.size(); ++option) {
            left -= taken.share[option] * model_.options[option].cost;
        }
        const auto rate = [&](std::uint32_t one) {
            return worth[one] / std::max(model_.options[one].cost, 1e-12);
        };
        for (const std::uint32_t option : in_order(rate)) {
            const double cost = model_.options[option].cost;
            if (left <= 0 || worth[option] <= 0) {
                break;
            }
            const double share = cost <= left ? 1 : left / cost;
            taken.share[option] = share;
            taken.worth += share * worth[option];
            left -= share * cost;
        }
        return taken;
    }

    Taken take(const std::vector<double>& worth) const {
        if (!limit_.budget) {
            return by_count(worth);
        }
        Taken budget = by_budget(worth);
        if (!limit_.count) {
            return budget;
        }
        Taken count = by_count(worth);
        return count.worth < budget.worth ? count : budget;
    }

    /// Settlements that are served more than once become dearer, those that are not, cheaper.
    /// @return whether any price could move
    bool move(std::vector<double>& prices, const Taken& taken, double far) const {
        std::vector<double> slope(prices.size(), 1);
        double squares = 0;
        for (std::size_t i = 0; i < prices.size(); ++i) {
            gains_.above(i, prices[i], [&](std::uint32_t option, double /*gain*/) {
                slope[i] -= taken.share[option];
            });
            if (prices[i] <= 0 && slope[i] > 0) {
                slope[i] = 0;
            }
            squares += slope[i] * slope[i];
        }
        if (!(squares > 0)) {
            return false;
        }
        for (std::size_t i = 0; i < prices.size(); ++i) {
            prices[i] = std::max(0.0, prices[i] - far / squares * slope[i]);
        }
        return true;
    }

    void try_plan(const Taken& taken, Relaxed& result) const {
        LocationState state(model_);
        for (std::uint32_t option = 0; option < taken.share.size(); ++option) {
            if (model_.options[option].choice == Choice::forced_in) {
                state.add(option);
            }
        }
        for (std::uint32_t option = 0; option < taken.share.size(); ++option) {
            if (taken.share[option] >= 1 && model_.options[option].choice == Choice::free &&
                state.has_room(option, limit_)) {
                state.add(option);
            }
        }
        if (state.value() > result.value) {
            result.value = state.value();
            result.options = state.chosen();
            std::sort(result.options.begin(), result.options.end());
        }
    }

    /// By what the bound would be with one option in, or without it. Of counts alone.
    void fix(Relaxed& result) const {
        result.is_in.assign(model_.options.size(), false);
        result.is_out.assign(model_.options.size(), false);
        if (limit_.budget || !limit_.count) {
            return;
        }
        const std::vector<double> worth = worth_of_options(best_prices_);
        const Taken taken = by_count(worth);
        const double bound = sum_of(best_prices_) + taken.worth;
        double least_in = std::numeric_limits<double>::infinity();
        double most_out = 0;
        for (std::size_t option = 0; option < worth.size(); ++option) {
            if (model_.options[option].choice == Choice::free) {
                if (taken.share[option] > 0) {
                    least_in = std::min(least_in, worth[option]);
                } else {
                    most_out = std::max(most_out, worth[option]);
                }
            }
        }
        const auto free_places =
            static_cast<std::size_t>(std::count(taken.share.begin(), taken.share.end(), 1.0));
        least_in = free_places < *limit_.count ? 0 : least_in;
        for (std::size_t option = 0; option < worth.size(); ++option) {
            if (model_.options[option].choice != Choice::free) {
                continue;
            }
            if (taken.share[option] > 0) {
                result.is_in[option] = bound - worth[option] + most_out < result.value;
            } else {
                result.is_out[option] = bound - least_in + worth[option] < result.value;
            }
        }
    }

    const LocationModel& model_;
    const Limit& limit_;
    Gains gains_;
    std::vector<double> best_prices_;
};

}  // namespace

std::vector<std::uint32_t> best_exchanges(const LocationModel& model, const Limit& limit,
                                          std::vector<std::uint32_t> start, const Work& work) {
    const double least = crumb * std::max(1.0, value_of(model, start));
    while (!start.empty()) {
        work.at("exchanges", -1);
        const Swap swap = Swaps(model, limit, start).best();
        if (swap.gain <= least) {
            break;
        }
        start[swap.out] = swap.in;
    }
    std::sort(start.begin(), start.end());
    return start;
}

Relaxed relaxed(const LocationModel& model, const Limit& limit, std::vector<std::uint32_t> start,
                Seconds time, double gap, const Work& work) {
    Relaxed result;
    result.bound = std::numeric_limits<double>::infinity();
    result.value = value_of(model, start);
    result.options = std::move(start);
    Relaxation(model, limit).solve(result, time, gap, work);
    return result;
}

}  // namespace waybourne::coverage
