#pragma once
/// The command `dispatch`.

#include "server/cli/commands.hpp"

namespace waybourne::server {

struct DispatchOptions {
    DistrictOptions common;
    std::string file;  ///< a request as JSON; `-`: standard input
};

/// @return 0 done; what cannot be done is thrown
int run_dispatch(const DispatchOptions& options, Terminal& terminal);

}  // namespace waybourne::server
