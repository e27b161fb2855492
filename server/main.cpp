#include <unistd.h>

#include <iostream>

#include "server/cli/commands.hpp"

int main(int argc, char** argv) {
    waybourne::server::Terminal terminal{std::cin, std::cout, std::cerr,
                                         isatty(STDIN_FILENO) == 1 && isatty(STDOUT_FILENO) == 1};
    return waybourne::server::run_command_line(argc, argv, terminal);
}
