#pragma once
/// Many callers, one sync of the disk.

#include <condition_variable>
#include <deque>
#include <exception>
#include <functional>
#include <mutex>
#include <span>

#include "journal/journal.hpp"

namespace waybourne::journal::internal {

/// One caller's append, waiting for its outcome.
struct Request {
    const Append* append = nullptr;
    Appended result = {};
    std::exception_ptr error = nullptr;
    bool is_done = false;
    std::condition_variable ready = {};
};

/// Whoever is first in line commits for all who stand behind it, then wakes them and the next in
/// line. A lone caller commits on its own thread, so it pays for no change of thread. (The scheme
/// of LevelDB's writer queue; from memory of its source.)
class GroupCommit {
public:
    /// Gives each request its result or error; what it throws is the error of all.
    using Commit = std::function<void(std::span<Request* const>)>;

    explicit GroupCommit(Commit commit) : commit_(std::move(commit)) {}

    Appended run(const Append& append);

    /// Held by whoever else writes: no commit runs meanwhile.
    std::unique_lock<std::mutex> exclusive() { return std::unique_lock{writer_}; }

private:
    void lead(std::unique_lock<std::mutex>& lock);

    Commit commit_;
    std::mutex mutex_;   // the queue
    std::mutex writer_;  // the store
    std::deque<Request*> queue_;
};

}  // namespace waybourne::journal::internal
