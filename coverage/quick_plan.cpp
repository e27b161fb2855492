#include <algorithm>
#include <numeric>
#include <queue>

#include "coverage/internal/best_value.hpp"
#include "coverage/internal/location_state.hpp"

namespace waybourne::coverage {

std::vector<double> values_already(const LocationModel& model) {
    return model.already.empty() ? std::vector<double>(model.births.size(), 0) : model.already;
}

LocationState::LocationState(const LocationModel& model)
    : model_(&model), covers_(values_already(model)), times_taken_(model.options.size(), 0) {}

double LocationState::worth(std::uint32_t settlement, double count) const {
    const auto k = static_cast<std::size_t>(count);
    return k < model_->by_count.size() ? model_->births[settlement] * model_->by_count[k] : 0;
}

double LocationState::gain(std::uint32_t option) const {
    double sum = 0;
    for (const Served& one : model_->serves[option]) {
        const double before = covers_[one.settlement];
        sum += model_->by_count.empty()
                   ? model_->births[one.settlement] * std::max(0.0, one.value - before)
                   : worth(one.settlement, before);
    }
    return sum;
}

void LocationState::add(std::uint32_t option) {
    value_ += gain(option);
    for (const Served& one : model_->serves[option]) {
        double& cover = covers_[one.settlement];
        cover = model_->by_count.empty() ? std::max(cover, one.value) : cover + 1;
    }
    cost_ += model_->options[option].cost;
    ++times_taken_[option];
    chosen_.push_back(option);
}

bool LocationState::has_room(std::uint32_t option, const Limit& limit) const {
    const Option& wanted = model_->options[option];
    if (wanted.choice == Choice::forced_out || times_taken_[option] >= model_->most_of_one ||
        (limit.count && chosen_.size() >= *limit.count) ||
        (limit.budget && cost_ + wanted.cost > *limit.budget * (1 + cost_crumb))) {
        return false;
    }
    return !wanted.site || std::none_of(chosen_.begin(), chosen_.end(), [&](std::uint32_t one) {
        return one != option && model_->options[one].site == wanted.site;
    });
}

void check_limit(const LocationModel& model, const Limit& limit) {
    if ((limit.count && *limit.count == 0) || (limit.budget && !(*limit.budget > 0))) {
        throw InputError("a budget of nothing buys nothing: give a count or a budget above 0");
    }
    if (!limit.count && !limit.budget) {
        throw InputError("neither a count nor a budget was given");
    }
    Limit forced{0, 0.0};
    for (const Option& option : model.options) {
        if (!(option.cost >= 0)) {
            throw InputError("a cost cannot be negative");
        }
        if (option.choice == Choice::forced_in) {
            ++*forced.count;
            *forced.budget += option.cost;
        }
    }
    if ((limit.count && *forced.count > *limit.count) ||
        (limit.budget && *forced.budget > *limit.budget * (1 + cost_crumb))) {
        throw InputError("what is forced in is more than the limit allows");
    }
}

namespace {

LocationState with_forced(const LocationModel& model) {
    LocationState state(model);
    for (std::uint32_t option = 0; option < model.options.size(); ++option) {
        if (model.options[option].choice == Choice::forced_in) {
            state.add(option);
        }
    }
    return state;
}

/// Per cost where there is a budget: what is free comes first.
double rate(const LocationModel& model, std::uint32_t option, double gain, const Limit& limit) {
    return limit.budget ? gain / std::max(model.options[option].cost, 1e-12) : gain;
}

void add_greedily(const LocationModel& model, const Limit& limit, LocationState& state) {
    struct Item {
        double rate;
        std::uint32_t option;
        std::size_t asked_at;
        bool operator<(const Item& other) const {
            return rate != other.rate ? rate < other.rate : option > other.option;
        }
    };
    std::priority_queue<Item> queue;
    for (std::uint32_t option = 0; option < model.options.size(); ++option) {
        queue.push({rate(model, option, state.gain(option), limit), option, state.chosen().size()});
    }
    while (!queue.empty()) {
        const Item top = queue.top();
        queue.pop();
        if (!state.has_room(top.option, limit) || top.rate <= 0) {
            continue;
        }
        if (top.asked_at == state.chosen().size()) {
            state.add(top.option);
        }
        queue.push({rate(model, top.option, state.gain(top.option), limit), top.option,
                    state.chosen().size()});
    }
}

LocationState greedy(const LocationModel& model, const Limit& limit) {
    LocationState best = with_forced(model);
    add_greedily(model, limit, best);
    if (!limit.budget) {
        return best;
    }
    const LocationState forced = with_forced(model);
    std::optional<std::uint32_t> dearest;
    for (std::uint32_t option = 0; option < model.options.size(); ++option) {
        if (forced.has_room(option, limit) &&
            (!dearest || forced.gain(option) > forced.gain(*dearest))) {
            dearest = option;
        }
    }
    if (dearest && forced.value() + forced.gain(*dearest) > best.value()) {
        LocationState single = forced;
        single.add(*dearest);
        add_greedily(model, limit, single);
        return single;
    }
    return best;
}

/// One out, one in (and whatever then fits), if that gains; the first that does.
bool exchange(const LocationModel& model, const Limit& limit, LocationState& state,
              const Work& work) {
    for (std::size_t out = 0; out < state.chosen().size(); ++out) {
        work.at("exchanges", -1);
        if (model.options[state.chosen()[out]].choice == Choice::forced_in) {
            continue;
        }
        LocationState rest(model);
        for (std::size_t i = 0; i < state.chosen().size(); ++i) {
            if (i != out) {
                rest.add(state.chosen()[i]);
            }
        }
        std::optional<std::uint32_t> best;
        double gain = state.value() - rest.value() + 1e-9 * std::max(1.0, state.value());
        for (std::uint32_t in = 0; in < model.options.size(); ++in) {
            if (rest.has_room(in, limit) && rest.gain(in) > gain) {
                gain = rest.gain(in);
                best = in;
            }
        }
        if (best) {
            rest.add(*best);
            add_greedily(model, limit, rest);
            state = LocationState(model);
            for (const std::uint32_t option : std::vector(rest.chosen())) {
                state.add(option);
            }
            return true;
        }
    }
    return false;
}

/// The best pair each time, then whatever fits as well, until neither gains.
LocationState after_exchanges(const LocationModel& model, const Limit& limit, LocationState state,
                              const Work& work) {
    while (true) {
        const double before = state.value();
        LocationState next(model);
        for (const std::uint32_t option : best_exchanges(model, limit, state.chosen(), work)) {
            next.add(option);
        }
        add_greedily(model, limit, next);
        if (next.value() <= before + 1e-9 * std::max(1.0, before)) {
            return state;
        }
        state = std::move(next);
    }
}

/// The gains that are left, the best first, as far as the whole limit would go.
double bound_of(const LocationModel& model, const Limit& limit, const LocationState& state) {
    std::vector<std::pair<double, double>> gains;  // gain, cost
    for (std::uint32_t option = 0; option < model.options.size(); ++option) {
        if (model.options[option].choice == Choice::forced_out) {
            continue;
        }
        for (std::uint32_t i = 0; i < model.most_of_one; ++i) {
            gains.emplace_back(state.gain(option), model.options[option].cost);
        }
    }
    double by_count = 0;
    std::sort(gains.begin(), gains.end(), std::greater<>());
    const std::size_t most = limit.count ? std::min(*limit.count, gains.size()) : gains.size();
    for (std::size_t i = 0; i < most; ++i) {
        by_count += gains[i].first;
    }
    if (!limit.budget) {
        return state.value() + by_count;
    }
    std::sort(gains.begin(), gains.end(),
              [](const auto& a, const auto& b) { return a.first * b.second > b.first * a.second; });
    double left = *limit.budget;
    double by_budget = 0;
    for (const auto& [gain, cost] : gains) {
        const double part = cost <= left ? 1 : left / cost;
        by_budget += part * gain;
        left -= part * cost;
    }
    return state.value() + std::min(by_count, by_budget);
}

}  // namespace

double value_of(const LocationModel& model, std::span<const std::uint32_t> options) {
    LocationState state(model);
    for (const std::uint32_t option : options) {
        state.add(option);
    }
    return state.value();
}

Plan quick_plan(const LocationModel& model, const Limit& limit, const Work& work) {
    check_limit(model, limit);
    LocationState state = greedy(model, limit);
    if (model.by_count.empty()) {
        state = after_exchanges(model, limit, state, work);
    } else {
        while (exchange(model, limit, state, work)) {
        }
    }
    Plan plan{state.chosen(), state.cost(), state.value(), bound_of(model, limit, state)};
    std::sort(plan.options.begin(), plan.options.end());
    return plan;
}

}  // namespace waybourne::coverage
