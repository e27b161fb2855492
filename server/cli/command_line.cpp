#include <CLI/CLI.hpp>
#include <algorithm>
#include <optional>
#include <ostream>

#include "server/cli/coverage_options.hpp"
#include "server/cli/internal/add_commands.hpp"
#include "server/problem.hpp"

namespace waybourne::server {

namespace {

constexpr const char* about =
    "Waybourne: where to send a woman in an obstetric emergency, and how.\n"
    "Draft rules, not clinically approved: for training and trial. The sample district is "
    "invented.";

void add_coverage(CLI::App& app, Run& run) {
    const auto options = std::make_shared<CoverageOptions>();
    add_coverage(app, *options);
    CLI::App* command = app.get_subcommand("coverage");
    command->callback([options, command, &run] {
        run.exit_code = run_coverage(*command, *options, run.terminal);
    });
}

/// The library says of a word that is no command only that one is required.
std::optional<std::string> mistyped_command(const CLI::App& app, const CLI::ParseError& error) {
    const bool is_missing =
        error.get_exit_code() == static_cast<int>(CLI::ExitCodes::RequiredError);
    for (const std::string& word : app.remaining(true)) {
        if (is_missing && !word.starts_with('-')) {
            return "there is no command \"" + word + "\"";
        }
    }
    return std::nullopt;
}

}  // namespace

int run_command_line(int count, const char* const* values, Terminal& terminal) {
    Run run{terminal};
    CLI::App app{about, "waybourne"};
    app.set_version_flag("--version", "waybourne " WAYBOURNE_VERSION);
    app.require_subcommand(1);
    app.footer("Each command has --help with an example.");
    add_serve(app, run);
    add_ask(app, run);
    add_route(app, run);
    add_alternatives(app, run);
    add_reach(app, run);
    add_dispatch(app, run);
    add_shifts(app, run);
    add_simulate(app, run);
    add_places(app, run);
    add_coverage(app, run);
    add_pack(app, run);
    add_import(app, run);
    add_protocol(app, run);
    add_journal(app, run);
    add_replay(app, run);
    add_note(app, run);
    add_keys(app, run);
    add_numbers(app, run);
    try {
        app.parse(count, values);
        return run.exit_code;
    } catch (const CLI::ParseError& error) {
        if (error.get_exit_code() == 0) {  // --help and --version are told the same way
            return app.exit(error, terminal.out, terminal.err);
        }
        std::string line = mistyped_command(app, error).value_or(error.what());
        std::replace(line.begin(), line.end(), '\n', ' ');
        terminal.err << "waybourne: " << line << "; see --help\n";
        return 2;
    } catch (...) {
        Problem problem = to_problem(std::current_exception());
        if (problem.type == "internal") {
            problem.detail = "a defect in this program";
            try {
                throw;
            } catch (const std::exception& error) {
                problem.detail += std::string(": ") + error.what();
            } catch (...) {
            }
        }
        terminal.err << "waybourne: " << to_line(problem) << '\n';
        return exit_code(problem);
    }
}

}  // namespace waybourne::server
