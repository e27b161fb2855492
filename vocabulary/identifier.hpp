#pragma once
/// Names of things that are stored and sent: a facility, a referral, a vehicle.

#include <compare>
#include <functional>
#include <string>
#include <utility>

namespace waybourne {

/// An identifier of one kind of thing; ids of different kinds do not mix. Any non-empty text of
/// `[a-z0-9_-]`, as the registers that hold them check. Ordered as text: the last tie-breaker of
/// every choice.
template <typename Tag>
class Id {
public:
    Id() = default;
    explicit Id(std::string value) : value_(std::move(value)) {}
    const std::string& value() const { return value_; }
    bool operator==(const Id&) const = default;
    // Not defaulted: not every standard library compares texts so yet.
    std::strong_ordering operator<=>(const Id& other) const {
        return value_.compare(other.value_) <=> 0;
    }

private:
    std::string value_;
};

using FacilityId = Id<struct FacilityTag>;
using VehicleId = Id<struct VehicleTag>;
using ReferralId = Id<struct ReferralTag>;

}  // namespace waybourne

template <typename Tag>
struct std::hash<waybourne::Id<Tag>> {
    std::size_t operator()(const waybourne::Id<Tag>& id) const {
        return std::hash<std::string>{}(id.value());
    }
};
