#include "coverage/care_times.hpp"

#include <algorithm>
#include <array>

#include "facilities/capable.hpp"
#include "facilities/offered.hpp"

namespace waybourne::coverage {

namespace {

using facilities::Facility;
using facilities::FacilityRegister;
using facilities::ReadinessState;
using triage::CapabilitySet;

constexpr std::array<std::string_view, 3> assumption_names{"as_registered", "by_hour",
                                                           "as_reported"};

/// The same places with everything they offer just confirmed, so that only hours and call-in times
/// are left to count.
FacilityRegister with_all_confirmed(const FacilityRegister& given, Instant at) {
    std::vector<Facility> places(given.facilities().begin(), given.facilities().end());
    std::vector<facilities::Report> reports;
    for (Facility& place : places) {
        place.hours_confirmed_at = at;
        for (const facilities::Service& service : place.services) {
            facilities::Report report;
            report.facility = place.id;
            report.about = service.capability;
            report.at = at;
            report.by = "assumed for planning";
            report.is_ready = true;
            reports.push_back(std::move(report));
        }
    }
    return FacilityRegister(std::move(places), given.holidays()).with(reports);
}

}  // namespace

std::string_view to_name(ReadinessAssumption assumption) {
    return assumption_names.at(static_cast<std::size_t>(assumption));
}

std::optional<ReadinessAssumption> find_readiness_assumption(std::string_view name) {
    const auto found = std::find(assumption_names.begin(), assumption_names.end(), name);
    return found == assumption_names.end()
               ? std::nullopt
               : std::optional(static_cast<ReadinessAssumption>(found - assumption_names.begin()));
}

CareClock::CareClock(std::shared_ptr<const TravelTimes> ways, FacilityRegister facilities,
                     Instant decided_at, ReadinessAssumption assumption,
                     const CareAssumptions& assumptions)
    : ways_(std::move(ways)),
      facilities_(assumption == ReadinessAssumption::by_hour
                      ? with_all_confirmed(facilities, decided_at)
                      : std::move(facilities)),
      decided_at_(decided_at),
      assumption_(assumption),
      assumptions_(assumptions) {
    const auto places = facilities_.facilities();
    if (ways_->places() != places.size()) {
        throw InputError("there are ways to " + std::to_string(ways_->places()) + " places, and " +
                         std::to_string(places.size()) + " facilities");
    }
    for (const Facility& place : places) {
        offered_.push_back(facilities::offered_by(place));
    }
}

bool CareClock::offers(std::size_t place, CapabilitySet needed) const {
    return offered_.at(place).contains_all(needed);
}

CareClock::Begins CareClock::begins(std::size_t settlement, std::size_t place,
                                    triage::Capability capability) const {
    const auto way = ways_->at(settlement, place);
    if (!way || !offered_[place].contains(capability)) {
        return {};
    }
    const auto seconds = [](Seconds span) { return static_cast<std::int32_t>(span.count()); };
    Begins made{seconds(arrival(way->typical)), seconds(arrival(way->allow)), Known::yes};
    if (assumption_ == ReadinessAssumption::as_registered) {
        return made;
    }
    for (std::int32_t* const begins : {&made.typical_s, &made.allow_s}) {
        const Instant arrives = decided_at_ + Seconds{*begins};
        const facilities::Readiness ready = facilities::readiness_at(
            facilities_, place, capability,
            {arrives, decided_at_, decided_at_, facilities::Reasons::left_out});
        if (ready.state == ReadinessState::not_ready || !ready.ready_at) {
            return ready.state == ReadinessState::unconfirmed
                       ? Begins{made.typical_s, made.allow_s, Known::unknown}
                       : Begins{};
        }
        if (ready.state == ReadinessState::unconfirmed) {
            made.ready = Known::unknown;
        }
        *begins = std::max(*begins, seconds(*ready.ready_at - decided_at_));
    }
    return made;
}

const std::vector<CareClock::Begins>& CareClock::begins(triage::Capability capability) {
    std::vector<Begins>& kept = begins_.at(static_cast<std::size_t>(capability));
    if (kept.empty()) {
        kept.reserve(settlements() * places());
        for (std::size_t settlement = 0; settlement < settlements(); ++settlement) {
            for (std::size_t place = 0; place < places(); ++place) {
                kept.push_back(begins(settlement, place, capability));
            }
        }
    }
    return kept;
}

CareTime CareClock::care(std::size_t settlement, std::size_t place, CapabilitySet needed) {
    if (needed.empty()) {
        throw InputError("no capability was asked for");
    }
    if (!offers(place, needed) || !ways_->at(settlement, place)) {
        return {};
    }
    Begins all{0, 0, Known::yes};
    for (std::uint64_t rest = needed.mask(); rest != 0; rest &= rest - 1) {
        const auto capability = static_cast<triage::Capability>(std::countr_zero(rest));
        const Begins one = begins(capability)[settlement * places() + place];
        if (one.ready == Known::no) {
            return {};
        }
        all.ready = one.ready == Known::unknown ? Known::unknown : all.ready;
        all.typical_s = std::max(all.typical_s, one.typical_s);
        all.allow_s = std::max(all.allow_s, one.allow_s);
    }
    return {all.ready, routing::TravelTime{Seconds{all.typical_s}, Seconds{all.allow_s}}};
}

}  // namespace waybourne::coverage
