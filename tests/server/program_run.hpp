#pragma once
/// The program as a person at a terminal runs it, within the test.

#include <string>
#include <vector>

namespace waybourne::server::test {

/// What came of it.
struct ProgramRun {
    int code = 0;
    std::string out;
    std::string err;
};

/// `waybourne ARGUMENTS…`, not watched by a person (no progress is drawn over).
/// @param input what is typed
ProgramRun run_program(std::vector<std::string> arguments, const std::string& input = "");

}  // namespace waybourne::server::test
