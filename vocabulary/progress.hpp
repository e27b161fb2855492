#pragma once
/// How long work tells how far it has come, without knowing who listens.

#include <functional>
#include <string_view>

namespace waybourne {

/// Called now and then with what is being done and the share done, 0 to 1 (negative: not known).
/// May be empty: call it through `report`.
using Progress = std::function<void(std::string_view doing, double share)>;

inline void report(const Progress& progress, std::string_view doing, double share) {
    if (progress) {
        progress(doing, share);
    }
}

}  // namespace waybourne
