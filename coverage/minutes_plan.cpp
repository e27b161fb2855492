#include "coverage/minutes_plan.hpp"

#include <algorithm>
#include <chrono>
#include <set>

#include "coverage/internal/cover_rows.hpp"
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

std::vector<std::uint32_t> forced_in(const MinutesModel& model) {
    std::vector<std::uint32_t> all;
    for (std::uint32_t option = 0; option < model.options.size(); ++option) {
        if (model.options[option].choice == Choice::forced_in) {
            all.push_back(option);
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
          ends_(std::chrono::steady_clock::now() + time) {
        // side by side, since they are looked at by settlement
        minutes_.reserve(asked_.size() * model.options.size());
        for (const std::uint32_t i : asked_) {
            for (std::uint32_t option = 0; option < model.options.size(); ++option) {
                minutes_.push_back(may_be_taken(model.options[option])
                                       ? capped(model, model.with[option][i])
                                       : IntegerProgramme::without_limit);
            }
        }
    }

    /// Every time that may turn out to be the greatest, least first: none below what somebody needs
    /// whatever is done, none above `most`.
    std::vector<double> steps(double most) const {
        double least = 0;
        for (std::size_t row = 0; row < asked_.size(); ++row) {
            const auto times = minutes_of(row);
            const double best = times.empty() ? IntegerProgramme::without_limit
                                              : *std::min_element(times.begin(), times.end());
            least = std::max(least, std::min(now_of(row), best));
        }
        std::vector<double> steps{most};
        const auto add = [&](double minutes) {
            if (minutes >= least && minutes < most) {
                steps.push_back(minutes);
            }
        };
        for (std::size_t row = 0; row < asked_.size(); ++row) {
            add(now_of(row));
        }
        std::for_each(minutes_.begin(), minutes_.end(), add);
        std::sort(steps.begin(), steps.end());
        steps.erase(std::unique(steps.begin(), steps.end()), steps.end());
        return steps;
    }
    /// The answer to the last yes.
    const std::vector<std::uint32_t>& options() const { return options_; }

    /// By greedy choice alone: yes, or not told. Only of counts.
    Found quickly_within(double minutes) {
        const auto rows = rows_within(minutes);
        return rows && is_greedy_enough(*rows) ? Found::yes : Found::not_told;
    }

    Found within(double minutes) {
        auto rows = rows_within(minutes);
        if (!rows) {
            return Found::no;
        }
        const CoverRows few = without_idle_rows(std::move(*rows));
        if (limit_.count && rows_apart(few) > *limit_.count) {
            return Found::no;
        }
        return is_greedy_enough(few) ? Found::yes : solve(few);
    }

private:
    double now_of(std::size_t row) const { return capped(model_, model_.now[asked_[row]]); }
    std::span<const double> minutes_of(std::size_t row) const {
        return std::span(minutes_).subspan(row * model_.options.size(), model_.options.size());
    }

    /// None where somebody is beyond whatever is done.
    std::optional<CoverRows> rows_within(double minutes) const {
        CoverRows rows;
        for (std::size_t row = 0; row < asked_.size(); ++row) {
            if (now_of(row) <= minutes) {
                continue;
            }
            BitSet serving(model_.options.size());
            bool is_any = false;
            bool is_served = false;
            const auto times = minutes_of(row);
            for (std::size_t option = 0; option < times.size(); ++option) {
                if (times[option] <= minutes) {
                    serving.insert(option);
                    is_any = true;
                    is_served = is_served || is_forced(option);
                }
            }
            if (!is_any) {
                return std::nullopt;
            }
            if (!is_served) {
                rows.push_back(std::move(serving));
            }
        }
        return rows;
    }

    bool is_forced(std::size_t option) const {
        return model_.options[option].choice == Choice::forced_in;
    }

    /// Fills `options_` where what greedy choice takes is within the limit.
    bool is_greedy_enough(const CoverRows& rows) {
        std::vector<std::uint32_t> chosen = forced_in(model_);
        for (const std::uint32_t option : greedy_cover(rows, model_.options.size())) {
            chosen.push_back(option);
        }
        std::sort(chosen.begin(), chosen.end());
        if ((limit_.count && chosen.size() > *limit_.count) ||
            (limit_.budget &&
             cost_of(model_.options, chosen) > *limit_.budget * (1 + cost_crumb)) ||
            shares_a_site(chosen)) {
            return false;
        }
        options_ = std::move(chosen);
        return true;
    }

    bool shares_a_site(const std::vector<std::uint32_t>& chosen) const {
        std::set<std::uint32_t> sites;
        return std::any_of(chosen.begin(), chosen.end(), [&](std::uint32_t option) {
            const auto& site = model_.options[option].site;
            return site && !sites.insert(*site).second;
        });
    }

    Found solve(const CoverRows& rows) {
        const auto left =
            std::chrono::duration_cast<Seconds>(ends_ - std::chrono::steady_clock::now());
        if (left <= 0s) {
            return Found::not_told;
        }
        IntegerProgramme programme;
        add_options(model_.options, 1, limit_, programme);
        std::vector<IntegerProgramme::Term> count;
        for (const BitSet& serving : rows) {
            std::vector<IntegerProgramme::Term> terms;
            for (const std::uint32_t option : serving.members()) {
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
        // any that is within the limit will do; one hard question must not take all the time
        constexpr double any = 1;
        const auto solution = programme.maximise(std::max(Seconds{1s}, left / 3), any);
        if (solution.columns.empty()) {
            return solution.is_impossible ? Found::no : Found::not_told;
        }
        options_ = chosen_of(solution, model_.options.size());
        return Found::yes;
    }

    const MinutesModel& model_;
    const Limit limit_;
    std::vector<std::uint32_t> asked_;
    /// By settlement asked, then by option.
    std::vector<double> minutes_;
    std::chrono::steady_clock::time_point ends_;
    std::vector<std::uint32_t> options_;
};

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
    std::vector<std::uint32_t> best = forced_in(model);
    const std::vector<double> steps = cover.steps(greatest_minutes(model, best));
    const auto number_of = [&](double minutes) {
        return static_cast<std::size_t>(std::lower_bound(steps.begin(), steps.end(), minutes) -
                                        steps.begin());
    };
    std::size_t high = steps.size() - 1;
    const auto take = [&](std::size_t middle) {
        best = cover.options();
        high = std::min(middle, number_of(greatest_minutes(model, best)));
    };
    // greedy choice brings it near at once; what is left is asked for exactly
    for (std::size_t low = 0; low < high;) {
        work.at("times", -1);
        const std::size_t middle = low + (high - low) / 2;
        if (cover.quickly_within(steps[middle]) == Found::yes) {
            take(middle);
        } else {
            low = middle + 1;
        }
    }
    std::size_t low = 0;
    std::size_t proven_below = 0;  // no plan has less than this step
    while (low < high) {
        work.at("times", -1);
        const std::size_t middle = low + (high - low) / 2;
        const Found found = cover.within(steps[middle]);
        if (found == Found::yes) {
            take(middle);
        } else {
            low = middle + 1;
            proven_below = found == Found::no ? low : proven_below;
        }
    }
    return {best, cost_of(model.options, best), greatest_minutes(model, best),
            steps[std::min(proven_below, high)]};
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
