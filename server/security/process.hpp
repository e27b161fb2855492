#pragma once
/// What the process itself must not give away.

namespace waybourne::server {

/// While it lives, the process leaves no core dump, and no other process of the same user may look
/// into its memory: tokens and what women told are in there.
class PrivateMemory {
public:
    PrivateMemory();
    /// Lets tools that look for leaks at the end look.
    ~PrivateMemory();
    PrivateMemory(const PrivateMemory&) = delete;
    PrivateMemory& operator=(const PrivateMemory&) = delete;
};

}  // namespace waybourne::server
