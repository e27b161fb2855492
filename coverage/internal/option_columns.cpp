#include "coverage/internal/option_columns.hpp"

#include <cmath>
#include <map>

namespace waybourne::coverage {

using Term = IntegerProgramme::Term;

void add_options(std::span<const Option> options, std::uint32_t most_of_one, const Limit& limit,
                 IntegerProgramme& programme) {
    std::vector<Term> count;
    std::vector<Term> cost;
    std::map<std::uint32_t, std::vector<Term>> sites;
    for (const Option& option : options) {
        const double most = option.choice == Choice::forced_out ? 0.0 : most_of_one;
        const double least = option.choice == Choice::forced_in ? 1.0 : 0.0;
        const int column = programme.add_column(0, least, most, true);
        count.push_back({column, 1});
        cost.push_back({column, option.cost});
        if (option.site) {
            sites[*option.site].push_back({column, 1});
        }
    }
    if (limit.count) {
        programme.add_row(std::move(count), 0, static_cast<double>(*limit.count));
    }
    if (limit.budget) {
        programme.add_row(std::move(cost), 0, *limit.budget);
    }
    for (auto& [site, terms] : sites) {
        programme.add_row(std::move(terms), 0, 1);
    }
}

std::vector<std::uint32_t> chosen_of(const IntegerProgramme::Solution& solution,
                                     std::size_t options) {
    std::vector<std::uint32_t> chosen;
    for (std::size_t option = 0; option < options && !solution.columns.empty(); ++option) {
        for (long i = std::lround(solution.columns[option]); i > 0; --i) {
            chosen.push_back(static_cast<std::uint32_t>(option));
        }
    }
    return chosen;
}

double cost_of(std::span<const Option> options, std::span<const std::uint32_t> chosen) {
    double sum = 0;
    for (const std::uint32_t option : chosen) {
        sum += options[option].cost;
    }
    return sum;
}

}  // namespace waybourne::coverage
