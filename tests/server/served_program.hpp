#pragma once
/// `waybourne serve` as a process of its own, as in use.

#include <sys/types.h>

#include <string>
#include <vector>

namespace waybourne::server::test {

/// Serves on a free port from the moment this exists until it goes. `--port 0` and the moment of
/// the sample are given already.
class ServedProgram {
public:
    /// @throws std::runtime_error when it does not come to serve
    explicit ServedProgram(const std::vector<std::string>& options);
    ~ServedProgram();
    ServedProgram(const ServedProgram&) = delete;
    ServedProgram& operator=(const ServedProgram&) = delete;

    int port() const { return port_; }
    /// What it said when it came to serve, without the line break.
    const std::string& first_line() const { return first_line_; }

private:
    pid_t process_ = -1;
    int output_ = -1;
    int port_ = 0;
    std::string first_line_;
};

}  // namespace waybourne::server::test
