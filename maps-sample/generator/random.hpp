#pragma once
/// Numbers that look random and are the same on every machine.

#include <cstdint>

namespace waybourne::sample {

/// SplitMix64 (Steele, Lea, Flood, OOPSLA 2014, 453-472): integer steps only, so that the district
/// is the same everywhere. The standard library's distributions differ between vendors.
class Random {
public:
    explicit Random(std::uint64_t seed) : state_(seed) {}

    std::uint64_t next() {
        state_ += 0x9e3779b97f4a7c15ULL;
        std::uint64_t mixed = state_;
        mixed = (mixed ^ (mixed >> 30U)) * 0xbf58476d1ce4e5b9ULL;
        mixed = (mixed ^ (mixed >> 27U)) * 0x94d049bb133111ebULL;
        return mixed ^ (mixed >> 31U);
    }
    /// In [0, 1), a multiple of 2^-53.
    double unit() { return static_cast<double>(next() >> 11U) * 0x1.0p-53; }
    double between(double low, double high) { return low + (high - low) * unit(); }
    /// In [0, count). The bias of the remainder is below 2^-50 for the counts used here.
    std::uint64_t below(std::uint64_t count) { return next() % count; }

private:
    std::uint64_t state_;
};

}  // namespace waybourne::sample
