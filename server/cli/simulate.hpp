#pragma once
/// The command `simulate`.

#include "server/cli/commands.hpp"

namespace waybourne::server {

struct SimulateOptions {
    DistrictOptions common;
    int days = 365;
    std::uint64_t seed = 1;
    std::vector<std::string> policies;
    std::optional<double> births_per_year;
    std::optional<double> complications_per_1000;
    std::string settlements;  ///< a file; empty: the district's
    std::optional<double> births_per_1000;
    std::string vehicles;  ///< a file; empty: the district's
    bool nobody_phones = false;
    bool places_never_fail = false;
    double own_transport = 0;  ///< share of women, 0 to 1
    std::string own_means = "motorcycle";
    double does_not_start = 0;  ///< share of calls, 0 to 1
};

/// @return 0 done; what cannot be done is thrown
int run_simulate(const SimulateOptions& options, Terminal& terminal);

}  // namespace waybourne::server
