#pragma once
/// The commands as the command line offers them: what each takes, and what runs when it is called.

#include <CLI/CLI.hpp>
#include <memory>

#include "server/cli/commands.hpp"

namespace waybourne::server {

/// One run of the program: where it writes, and the exit code of the command that was called.
struct Run {
    Terminal& terminal;
    int exit_code = 0;
};

/// When this command is called: fills in its options, then acts. `run` must outlive the command.
template <typename Options>
void on_call(CLI::App& command, const std::shared_ptr<Options>& options, Run& run,
             int (*act)(const Options&, Terminal&)) {
    command.callback([options, &run, act] { run.exit_code = act(*options, run.terminal); });
}

// district_options.cpp: a district's files, and what is done with the whole of it
void add_serve(CLI::App& app, Run& run);
void add_pack(CLI::App& app, Run& run);
void add_import(CLI::App& app, Run& run);
void add_protocol(CLI::App& app, Run& run);
void add_simulate(CLI::App& app, Run& run);

// referral_options.cpp: one woman, or several
void add_ask(CLI::App& app, Run& run);
void add_dispatch(CLI::App& app, Run& run);
void add_shifts(CLI::App& app, Run& run);
void add_replay(CLI::App& app, Run& run);
void add_note(CLI::App& app, Run& run);

// way_options.cpp: roads and places
void add_route(CLI::App& app, Run& run);
void add_alternatives(CLI::App& app, Run& run);
void add_reach(CLI::App& app, Run& run);
void add_places(CLI::App& app, Run& run);

// records_options.cpp: the journal and the keys file
void add_journal(CLI::App& app, Run& run);
void add_keys(CLI::App& app, Run& run);
void add_numbers(CLI::App& app, Run& run);

}  // namespace waybourne::server
