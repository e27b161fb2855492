#pragma once
/// Every facility of a district with what was last heard of it.

#include <cstddef>
#include <memory>
#include <span>
#include <vector>

#include "facilities/facility.hpp"
#include "facilities/report.hpp"

namespace waybourne::facilities {

/// Facilities and reports, immutable: `with(report)` gives the next register and leaves this one as
/// it is, sharing all that did not change. Copies are cheap. Any number of threads may read it.
class FacilityRegister {
public:
    /// No facility at all.
    FacilityRegister();

    /// @param holidays the days on which `PH` counts, for all facilities
    /// @throws InputError with everything that is wrong (`problems_of`), pointers such as
    ///         `#/facilities/3/services`, or an id that stands twice
    explicit FacilityRegister(std::vector<Facility> facilities, Holidays holidays = {});

    /// Ordered by id.
    std::span<const Facility> facilities() const;
    const Holidays& holidays() const;

    /// @throws NotFound with the nearest known id. O(log facilities)
    const Facility& facility(const FacilityId& id) const;
    /// Null when there is none. Lives as long as any register that shares it.
    const Facility* find_facility(const FacilityId& id) const;
    /// Where it stands in `facilities()`.
    /// @throws NotFound
    std::size_t position(const FacilityId& id) const;
    /// Those that offer the capability, by id, whether they are ready or not.
    std::vector<FacilityId> facilities_with(triage::Capability capability) const;

    /// The zone of a facility, for showing local times.
    /// @throws NotFound
    const TimeZone& time_zone(const FacilityId& id) const;

    /// The register with one more report. An older report than the one already heard about the same
    /// subject changes nothing; of two from the same second the one that is not ready counts: the
    /// order in which reports come in does not matter. O(facilities) pointer copies: about a
    /// microsecond for a district.
    /// @throws NotFound for an unknown facility, with the nearest known id
    /// @throws InputError for a resource that the facility does not have, a capability that it does
    ///         not offer, negative units, or times that contradict each other
    FacilityRegister with(const Report& report) const;
    FacilityRegister with(std::span<const Report> reports) const;

    /// The newest report about each subject, by facility, then subject.
    std::vector<Report> reports() const;
    /// How many there are. O(facilities).
    std::size_t report_count() const;

    /// What `capable.hpp` works on; no business of anybody else.
    struct Prepared;
    struct Heard;
    const Prepared& prepared() const { return *prepared_; }
    const Heard& heard(std::size_t position) const { return *heard_[position]; }

private:
    std::shared_ptr<const Prepared> prepared_;
    std::vector<std::shared_ptr<const Heard>> heard_;
};

}  // namespace waybourne::facilities
