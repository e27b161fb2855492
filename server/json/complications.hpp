#pragma once
/// What goes wrong at births, how often, and what the first findings then are:
/// `dispatch/data/complications.json`.

#include <string>
#include <string_view>
#include <vector>

#include "triage/findings.hpp"

namespace waybourne::server {

struct ComplicationRates {
    /// Complications in each birth, 0 to 1.
    double per_birth = 0;
    /// Of `per_birth`, of the weights, and of the findings.
    std::string source;
    std::string source_of_weights;
    std::string source_of_findings;
    struct Kind {
        std::string id;
        double weight = 0;
        /// The time of a reading is that of the danger sign: fill it in.
        triage::Findings findings;
    };
    std::vector<Kind> kinds;
};

/// @throws InputError with everything that is wrong
ComplicationRates parse_complication_rates(std::string_view json);

}  // namespace waybourne::server
