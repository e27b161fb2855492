#pragma once
/// Where a command reads from and writes to.

#include <iosfwd>

namespace waybourne::server {

struct Terminal {
    std::istream& in;
    std::ostream& out;
    std::ostream& err;
    /// A person types: questions may be asked.
    bool is_interactive = false;
};

}  // namespace waybourne::server
