#pragma once
/// Options as columns of an integer programme, and back.

#include <span>
#include <vector>

#include "coverage/internal/integer_programme.hpp"
#include "coverage/location.hpp"

namespace waybourne::coverage {

/// One column per option, from column 0 on, and the rows of the limit and of the sites. What is
/// forced is forced. @param most_of_one how often one may be taken
void add_options(std::span<const Option> options, std::uint32_t most_of_one, const Limit& limit,
                 IntegerProgramme& programme);

/// Numbers of the options that a solution takes, ascending; one that is taken twice stands twice.
/// Empty where there is no solution.
std::vector<std::uint32_t> chosen_of(const IntegerProgramme::Solution& solution,
                                     std::size_t options);

double cost_of(std::span<const Option> options, std::span<const std::uint32_t> chosen);

}  // namespace waybourne::coverage
