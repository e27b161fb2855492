#pragma once
/// All that one choice is made from, put in order once.

#include <memory>
#include <span>
#include <vector>

#include "facilities/capable.hpp"
#include "referral/recommend.hpp"

namespace waybourne::referral {

/// Refers to what `recommend` was given; lives no longer than that call. Places are named by their
/// position in the register, needs by their index in the assessment.
struct Situation {
    const triage::Assessment* assessment = nullptr;
    const facilities::FacilityRegister* facilities = nullptr;
    std::span<const std::optional<routing::Snap>> snaps;
    const Start* start = nullptr;
    const ChoiceSettings* settings = nullptr;
    /// All times of a plan count from here.
    Instant now{};
    /// When places are phoned: `now`, or later when another was waited for first.
    Instant phoned_at{};
    Instant departs{};
    /// Needs that she must be sent for.
    std::vector<std::size_t> to_meet = {};
    /// Needs that the clinic she is at can meet.
    std::vector<std::size_t> met_here = {};
    /// What each place offers, ready or not.
    std::vector<triage::CapabilitySet> offers = {};
    /// Whether it may be recommended: it lies on the map, she is not there already, and nobody
    /// there has refused.
    std::vector<bool> is_considered = {};
    /// False: only what is confirmed counts as care.
    bool counts_unconfirmed = true;
    /// Told where the plan is shown, left out where plans are only compared.
    facilities::Reasons reasons = facilities::Reasons::told;

    const facilities::Facility& place(std::size_t position) const {
        return facilities->facilities()[position];
    }
    const triage::Need& need(std::size_t index) const { return assessment->needs[index]; }
    /// Whether one can phone there: she can, and a number is known.
    bool can_phone(std::size_t position) const {
        return start->can_phone && !place(position).phones.empty();
    }
    std::optional<CallAnswer> call_answer(std::size_t position) const;
    /// Whether the place offers any capability that meets any of the needs.
    bool offers_any(std::size_t position, std::span<const std::size_t> needs) const;
};

/// From the decision to the moment she leaves: as said, or assumed.
Seconds departure_delay(const triage::Assessment& assessment, const Start& start,
                        const ChoiceSettings& settings);

/// @throws InputError if there is not one snap for each facility
Situation situation_of(const triage::Assessment& assessment,
                       const facilities::FacilityRegister& facilities,
                       std::span<const std::optional<routing::Snap>> snaps, const Start& start,
                       const ChoiceSettings& settings, Instant now);

/// The same, with the places that did not answer the phone considered again.
Situation with_unanswered(const Situation& situation);

/// The same, counting only what is confirmed.
Situation only_confirmed(const Situation& situation);

/// The same, everything decided `delay` later.
Situation delayed(const Situation& situation, Seconds delay);

}  // namespace waybourne::referral
