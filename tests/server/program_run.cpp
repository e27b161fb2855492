#include "tests/server/program_run.hpp"

#include <sstream>

#include "server/cli/commands.hpp"

namespace waybourne::server::test {

ProgramRun run_program(std::vector<std::string> arguments, const std::string& input) {
    arguments.insert(arguments.begin(), "waybourne");
    std::vector<const char*> values;
    values.reserve(arguments.size());
    for (const std::string& argument : arguments) {
        values.push_back(argument.c_str());
    }
    std::istringstream in{input};
    std::ostringstream out;
    std::ostringstream err;
    Terminal terminal{in, out, err, false};
    const int code = run_command_line(static_cast<int>(values.size()), values.data(), terminal);
    return {code, out.str(), err.str()};
}

}  // namespace waybourne::server::test
