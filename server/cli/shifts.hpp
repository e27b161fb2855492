#pragma once
/// The command `shifts`.

#include "server/cli/commands.hpp"

namespace waybourne::server {

struct ShiftsOptions {
    DistrictOptions common;
    std::string journal;  ///< an SQLite file, or `postgresql://…`
    std::string id;       ///< empty: all handovers
};

/// Shift handovers, the newest first, or one with the list that was signed.
/// @return 0 done; what cannot be done is thrown
int run_shifts(const ShiftsOptions& options, Terminal& terminal);

}  // namespace waybourne::server
