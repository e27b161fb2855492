#pragma once
/// The closed list of what a place can do for her, by which needs and services speak to each other.

#include <array>
#include <bit>
#include <cstdint>
#include <initializer_list>
#include <optional>
#include <string_view>
#include <vector>

namespace waybourne::triage {

/// One kind of care. The first nine are the signal functions of emergency obstetric care (UN
/// handbook "Monitoring emergency obstetric care", 2009: seven basic, two comprehensive); the
/// others are what the rules need beyond them. The order is the order of display and never changes:
/// stored masks depend on it.
enum class Capability : std::uint8_t {
    parenteral_antibiotics,
    uterotonics,
    magnesium_sulfate,
    manual_placenta_removal,
    uterine_evacuation,
    assisted_vaginal_delivery,
    newborn_resuscitation,
    operative_delivery,
    blood_transfusion,
    oral_antihypertensive,
    rapid_oral_antihypertensive,
    parenteral_antihypertensive,
    iv_fluids,
    tranexamic_acid,
    antenatal_corticosteroid,
    oral_anti_infectives,
    antimalarial_parenteral,
    oxygen,
    vaginal_tear_repair,
    uterine_tamponade,
    obstetric_laparotomy,
    fetal_monitoring,
    ultrasound,
    laboratory,
    skilled_birth,
    preterm_newborn_care,
    anticoagulation,
    insulin_therapy,
    critical_care,
    mental_health_emergency,
};

inline constexpr std::size_t capability_count = 30;

/// The wire name, e.g. `blood_transfusion`.
std::string_view to_name(Capability capability);

/// None for an unknown name.
std::optional<Capability> find_capability(std::string_view name);

/// A set of capabilities: one 64-bit mask, compared and combined in O(1).
class CapabilitySet {
public:
    constexpr CapabilitySet() = default;
    constexpr CapabilitySet(std::initializer_list<Capability> members) {
        for (const Capability member : members) {
            insert(member);
        }
    }
    static constexpr CapabilitySet from_mask(std::uint64_t mask) {
        CapabilitySet set;
        set.mask_ = mask;
        return set;
    }

    constexpr std::uint64_t mask() const { return mask_; }
    constexpr void insert(Capability member) { mask_ |= bit(member); }
    constexpr void erase(Capability member) { mask_ &= ~bit(member); }
    constexpr bool contains(Capability member) const { return (mask_ & bit(member)) != 0; }
    constexpr bool contains_all(CapabilitySet other) const { return (other.mask_ & ~mask_) == 0; }
    constexpr bool intersects(CapabilitySet other) const { return (mask_ & other.mask_) != 0; }
    constexpr bool empty() const { return mask_ == 0; }
    constexpr std::size_t size() const { return static_cast<std::size_t>(std::popcount(mask_)); }
    /// In the order of the enum.
    std::vector<Capability> members() const;

    constexpr bool operator==(const CapabilitySet&) const = default;
    friend constexpr CapabilitySet operator|(CapabilitySet a, CapabilitySet b) {
        return from_mask(a.mask_ | b.mask_);
    }
    friend constexpr CapabilitySet operator&(CapabilitySet a, CapabilitySet b) {
        return from_mask(a.mask_ & b.mask_);
    }

private:
    static constexpr std::uint64_t bit(Capability member) {
        return std::uint64_t{1} << static_cast<unsigned>(member);
    }
    std::uint64_t mask_ = 0;
};

}  // namespace waybourne::triage
