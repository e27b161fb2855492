#pragma once
/// Long work that tells how far it has come and can be stopped.

#include <stop_token>

#include "vocabulary/error.hpp"
#include "vocabulary/progress.hpp"

namespace waybourne::coverage {

struct Work {
    Progress progress = {};
    std::stop_token stop = {};

    /// @throws Unavailable if a stop was asked for
    void at(std::string_view doing, double share) const {
        if (stop.stop_requested()) {
            throw Unavailable("the work was stopped");
        }
        report(progress, doing, share);
    }
};

}  // namespace waybourne::coverage
