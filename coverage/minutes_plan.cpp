#include "coverage/minutes_plan.hpp"

#include <algorithm>
#include <chrono>
#include <set>

#include "coverage/internal/location_state.hpp"
#include "coverage/internal/option_columns.hpp"

namespace waybourne::coverage {

namespace {

double capped(const MinutesModel& model, const std::optional<double>& minutes) {
    return minutes ? std::min(*minutes, model.ceiling) : model.ceiling;
}

/// Minutes of each settlement with these options.
std::vector<double> minutes_with(const MinutesModel& model,
                                 std::span<const std::uint32_t> options) {
    std::vector<double> all;
    all.reserve(model.births.size());
    for (std::size_t i = 0; i < model.births.size(); ++i) {
        double best = capped(model, model.now[i]);
        for (const std::uint32_t option : options) {
            best = std::min(best, capped(model, model.with[option][i]));
        }
        all.push_back(best);
    }
    return all;
}

bool may_be_taken(const Option& option) {
    return option.choice != Choice::forced_out;
}

/// Gains over what is there, as shares of the ceiling.
LocationModel saved_minutes(const MinutesModel& model) {
    LocationModel made;
    made.births = model.births;
    made.options = model.options;
    made.by_count.clear();
    made.serves.resize(model.options.size());
    for (std::uint32_t i = 0; i < model.births.size(); ++i) {
        const double before = 1 - capped(model, model.now[i]) / model.ceiling;
        made.already.push_back(before);
        for (std::size_t option = 0; option < model.options.size(); ++option) {
            const double value = 1 - capped(model, model.with[option][i]) / model.ceiling;
            if (value > before) {
                made.serves[option].push_back({i, value});
            }
        }
    }
    return made;
}

/// Which settlements the greatest time is asked of.
std::vector<std::uint32_t> asked_of(const MinutesModel& model) {
    const std::vector<std::uint32_t> beyond = beyond_any_plan(model);
    std::vector<std::uint32_t> all;
    for (std::uint32_t i = 0; i < model.births.size(); ++i) {
        if (model.births[i] > 0 && !std::binary_search(beyond.begin(), beyond.end(), i)) {
            all.push_back(i);
        }
    }
    return all;
}

enum class Found { yes, no, not_told };

/// Whether all of them can be served within so many minutes.
class FullCover {
public:
    FullCover(const MinutesModel& model, const Limit& limit, Seconds time)
        : model_(model),
          limit_(limit),
          asked_(asked_of(model)),
          ends_(std::chrono::steady_clock::now() + time) {}

    const std::vector<std::uint32_t>& asked() const { return asked_; }
    const std::vector<std::uint32_t>& options() const { return options_; }

    /// Fills `options` where it is yes.
    Found within(double minutes) {
        std::set<std::vector<std::uint32_t>> rows;
        for (const std::uint32_t i : asked_) {
            if (capped(model_, model_.now[i]) <= minutes) {
                continue;
            }
            std::vector<std::uint32_t> serving;
            for (std::uint32_t option = 0; option < model_.options.size(); ++option) {
                if (may_be_taken(model_.options[option]) &&
                    capped(model_, model_.with[option][i]) <= minutes) {
                    serving.push_back(option);
                }
            }
            if (serving.empty()) {
                return Found::no;
            }
            rows.insert(std::move(serving));
        }
        return solve(rows);
    }

private:
    Found solve(const std::set<std::vector<std::uint32_t>>& rows) {
        const auto left =
            std::chrono::duration_cast<Seconds>(ends_ - std::chrono::steady_clock::now());
        if (left <= 0s) {
            return Found::not_told;
        }
        IntegerProgramme programme;
        add_options(model_.options, 1, limit_, programme);
        std::vector<IntegerProgramme::Term> count;
        for (const std::vector<std::uint32_t>& serving : rows) {
            std::vector<IntegerProgramme::Term> terms;
            terms.reserve(serving.size());
            for (const std::uint32_t option : serving) {
                terms.push_back({static_cast<int>(option), 1});
            }
            programme.add_row(std::move(terms), 1, IntegerProgramme::without_limit);
        }
        // as few as will do
        const int few = programme.add_column(-1, 0, IntegerProgramme::without_limit, false);
        for (std::size_t option = 0; option < model_.options.size(); ++option) {
            count.push_back({static_cast<int>(option), 1});
        }
        count.push_back({few, -1});
        programme.add_row(std::move(count), -IntegerProgramme::without_limit, 0);
        const auto solution = programme.maximise(left, 0);
        if (solution.columns.empty()) {
            return solution.is_impossible ? Found::no : Found::not_told;
        }
        options_ = chosen_of(solution, model_.options.size());
        return Found::yes;
    }

    const MinutesModel& model_;
    const Limit limit_;
    std::vector<std::uint32_t> asked_;
    std::chrono::steady_clock::time_point ends_;
    std::vector<std::uint32_t> options_;
};

/// Every time that may turn out to be the greatest, least first; the ceiling last.
std::vector<double> steps_of(const MinutesModel& model, const std::vector<std::uint32_t>& asked) {
    std::vector<double> steps{model.ceiling};
    for (const std::uint32_t i : asked) {
        steps.push_back(capped(model, model.now[i]));
        for (std::size_t option = 0; option < model.options.size(); ++option) {
            if (may_be_taken(model.options[option])) {
                steps.push_back(capped(model, model.with[option][i]));
            }
        }
    }
    std::sort(steps.begin(), steps.end());
    steps.erase(std::unique(steps.begin(), steps.end()), steps.end());
    return steps;
}

std::vector<std::uint32_t> forced_in(const MinutesModel& model) {
    std::vector<std::uint32_t> all;
    for (std::uint32_t option = 0; option < model.options.size(); ++option) {
        if (model.options[option].choice == Choice::forced_in) {
            all.push_back(option);
        }
    }
    return all;
}

}  // namespace

double birth_minutes(const MinutesModel& model, std::span<const std::uint32_t> options) {
    const std::vector<double> minutes = minutes_with(model, options);
    double sum = 0;
    for (std::size_t i = 0; i < minutes.size(); ++i) {
        sum += model.births[i] * minutes[i];
    }
    return sum;
}

std::vector<std::uint32_t> beyond_any_plan(const MinutesModel& model) {
    std::vector<std::uint32_t> beyond;
    for (std::uint32_t i = 0; i < model.births.size(); ++i) {
        bool is_served = model.now[i].has_value();
        for (std::size_t option = 0; option < model.options.size() && !is_served; ++option) {
            is_served = may_be_taken(model.options[option]) && model.with[option][i].has_value();
        }
        if (!is_served) {
            beyond.push_back(i);
        }
    }
    return beyond;
}

double greatest_minutes(const MinutesModel& model, std::span<const std::uint32_t> options) {
    const std::vector<double> minutes = minutes_with(model, options);
    double greatest = 0;
    for (const std::uint32_t i : asked_of(model)) {
        greatest = std::max(greatest, minutes[i]);
    }
    return greatest;
}

MinutesPlan least_minutes(const MinutesModel& model, const Limit& limit, Seconds time,
                          const Work& work) {
    const Plan plan = exact_plan(saved_minutes(model), limit, time, 0, work);
    const double as_it_is = birth_minutes(model, {});
    return {plan.options, plan.cost, birth_minutes(model, plan.options),
            as_it_is - plan.bound * model.ceiling};
}

MinutesPlan least_greatest_minutes(const MinutesModel& model, const Limit& limit, Seconds time,
                                   const Work& work) {
    LocationModel checked;
    checked.options = model.options;
    check_limit(checked, limit);
    FullCover cover(model, limit, time);
    const std::vector<double> steps = steps_of(model, cover.asked());
    std::vector<std::uint32_t> best = forced_in(model);
    const auto number_of = [&](double minutes) {
        return static_cast<std::size_t>(std::lower_bound(steps.begin(), steps.end(), minutes) -
                                        steps.begin());
    };
    std::size_t high = number_of(greatest_minutes(model, best));
    std::size_t low = 0;
    std::size_t proven_below = 0;  // no plan has less than this step
    while (low < high) {
        work.at("times", -1);
        const std::size_t middle = low + (high - low) / 2;
        const Found found = cover.within(steps[middle]);
        if (found == Found::yes) {
            best = cover.options();
            high = std::min(middle, number_of(greatest_minutes(model, best)));
        } else {
            low = middle + 1;
            proven_below = found == Found::no ? low : proven_below;
        }
    }
    return {best, cost_of(model.options, best), greatest_minutes(model, best),
            cover.asked().empty() ? 0 : steps[std::min(proven_below, high)]};
}

MinutesModel minutes_from_nothing(const TravelTimes& times, std::span<const double> births) {
    MinutesModel model;
    model.births.assign(births.begin(), births.end());
    model.options.resize(times.places());
    model.now.resize(times.settlements());
    model.with.assign(times.places(), std::vector<std::optional<double>>(times.settlements()));
    double most = 0;
    for (std::size_t i = 0; i < times.settlements(); ++i) {
        bool is_any = false;
        for (std::size_t j = 0; j < times.places(); ++j) {
            if (const auto way = times.at(i, j)) {
                const double minutes = static_cast<double>(way->typical.count()) / 60;
                model.with[j][i] = minutes;
                most = std::max(most, minutes);
                is_any = true;
            }
        }
        if (!is_any) {
            throw InputError("settlement " + std::to_string(i) + " can reach no place at all");
        }
    }
    model.ceiling = most + 1;
    return model;
}

}  // namespace waybourne::coverage
