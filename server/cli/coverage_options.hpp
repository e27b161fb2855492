#pragma once
/// The commands for planners, as the command line offers them.

#include "server/cli/commands.hpp"

// The library's own name.
namespace CLI {  // NOLINT(readability-identifier-naming)
class App;
}

namespace waybourne::server {

/// Adds `coverage` with a command for each question. `options` is filled in when one is called.
void add_coverage(CLI::App& app, CoverageOptions& options);

/// Runs the one that was called. @param chosen `coverage` itself
/// @return the program's exit code
int run_coverage(const CLI::App& chosen, const CoverageOptions& options, Terminal& terminal);

}  // namespace waybourne::server
