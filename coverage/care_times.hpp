#pragma once
/// When care can begin at each place for a woman from each settlement: the way, and what is there.

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include "coverage/travel_times.hpp"
#include "facilities/register.hpp"

namespace waybourne::coverage {

/// What is taken for granted about a facility. Each is said beside every figure.
enum class ReadinessAssumption : std::uint8_t {
    as_registered,  ///< whatever the register says it offers is there at any hour
    by_hour,        ///< everything works, but opening hours and call-in times count
    as_reported,    ///< as last heard of at the moment that is asked about
};

/// `as_registered`, `by_hour`, `as_reported`
std::string_view to_name(ReadinessAssumption assumption);
std::optional<ReadinessAssumption> find_readiness_assumption(std::string_view name);

enum class Known : std::uint8_t { no, yes, unknown };

/// Since the decision to go. For `unknown`: if all is well. Nothing for `no`, or where no way is.
struct CareTime {
    Known ready = Known::no;
    std::optional<routing::TravelTime> begins;
    bool operator==(const CareTime&) const = default;
};

/// Assumed legs of every journey, labelled as such wherever they count.
struct CareAssumptions {
    /// From the decision until she sets out. None by default: coverage is counted from leaving.
    Seconds preparation{0};
    /// From the arrival until the receiving team has taken over: 11 minutes, rounded from the mean
    /// of 10.85 over 38,823 ambulance journeys in Maharashtra (Jana et al., Sci Rep 13, 2023, doi
    /// 10.1038/s41598-023-48713-1).
    Seconds handover{11min};
    /// Where a vehicle is sent: from its arrival until it leaves with her. 12 minutes, rounded from
    /// the mean of 12.12 at the scene of the same journeys.
    Seconds loading{12min};
    bool operator==(const CareAssumptions&) const = default;
};

/// Works out care times for any set of capabilities, for one scenario: one register, one moment,
/// one table of ways. Keeps what each single capability needs, so that many sets cost little more
/// than one. Not for several threads at once. 8 bytes per settlement, place and capability asked.
class CareClock {
public:
    /// @param ways settlements × facilities in the register's order
    /// @param decided_at the moment somebody decides to go; ways are those of this departure
    /// @throws InputError if the sizes do not fit
    CareClock(std::shared_ptr<const TravelTimes> ways, facilities::FacilityRegister facilities,
              Instant decided_at, ReadinessAssumption assumption,
              const CareAssumptions& assumptions = {});

    const TravelTimes& ways() const { return *ways_; }
    const facilities::FacilityRegister& facilities() const { return facilities_; }
    std::size_t settlements() const { return ways_->settlements(); }
    std::size_t places() const { return ways_->places(); }

    /// Care begins at max(arrival + handover, the last needed capability is ready), typical and
    /// allowed each from its own arrival. `yes` only where every needed capability is known to be
    /// ready, `unknown` where none is known not to be.
    /// @param needed not empty
    CareTime care(std::size_t settlement, std::size_t place, triage::CapabilitySet needed);

    /// Whether the place offers all of them by the register, at whatever hour.
    bool offers(std::size_t place, triage::CapabilitySet needed) const;

private:
    struct Begins {
        std::int32_t typical_s = 0;
        std::int32_t allow_s = 0;
        Known ready = Known::no;
    };
    const std::vector<Begins>& begins(triage::Capability capability);
    Begins begins(std::size_t settlement, std::size_t place, triage::Capability capability) const;
    Seconds arrival(Seconds way) const {
        return assumptions_.preparation + way + assumptions_.handover;
    }

    std::shared_ptr<const TravelTimes> ways_;
    facilities::FacilityRegister facilities_;
    std::vector<triage::CapabilitySet> offered_;
    Instant decided_at_;
    ReadinessAssumption assumption_;
    CareAssumptions assumptions_;
    std::array<std::vector<Begins>, triage::capability_count> begins_;
};

}  // namespace waybourne::coverage
