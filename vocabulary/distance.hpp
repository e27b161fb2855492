#pragma once
/// A length along the ground.

#include <compare>

namespace waybourne {

/// A distance in metres. Plain arithmetic only; never negative where a function returns one.
class Metres {
public:
    constexpr Metres() = default;
    constexpr explicit Metres(double value) : value_(value) {}
    constexpr double value() const { return value_; }

    constexpr auto operator<=>(const Metres&) const = default;
    constexpr Metres& operator+=(Metres other) {
        value_ += other.value_;
        return *this;
    }
    friend constexpr Metres operator+(Metres a, Metres b) { return Metres{a.value_ + b.value_}; }
    friend constexpr Metres operator-(Metres a, Metres b) { return Metres{a.value_ - b.value_}; }
    friend constexpr Metres operator*(Metres a, double factor) { return Metres{a.value_ * factor}; }
    /// The ratio of two distances.
    friend constexpr double operator/(Metres a, Metres b) { return a.value_ / b.value_; }

private:
    double value_ = 0;
};

}  // namespace waybourne
