#pragma once
/// The watch over deadlines: what should have happened by now, and who is to act.
///
/// Ask `alerts` again and again (every half minute, and at the earliest `due` of `awaited`). Record
/// each new alert with `raising`: the event has the alert's own id, so that an alert is raised
/// once, also by two servers or after a restart. Its owner acknowledges it with
/// `alert_acknowledged`.

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "referral/life.hpp"
#include "referral/recommendation.hpp"
#include "triage/assessment.hpp"
#include "vocabulary/message.hpp"

namespace waybourne::referral {

/// What is waited for.
enum class WatchedStep {
    inform,             ///< the asked place is told
    reply,              ///< it answers
    ask_another_place,  ///< none is asked, or it cannot take her or does not answer
    set_out,            ///< the assigned vehicle leaves its base
    reach_her,          ///< it reaches her
    leave,              ///< she leaves
    arrive,
    hand_over,
    begin_care,
    ask_again,  ///< after a refusal
    close,      ///< an outcome is told
    return_outcome,
};

std::string_view wire_name(WatchedStep step);

enum class Owner { sender, receiving_place, dispatcher, driver };

std::string_view wire_name(Owner owner);

/// How long each step may take where the recommendation has no time for it. Proposals without a
/// published source but where one is named.
struct WatchSettings {
    Seconds inform_within = 5min;
    /// As `ChoiceSettings::call_wait`.
    Seconds reply_within = 5min;
    Seconds another_place_within = 5min;
    Seconds set_out_within = 10min;
    /// From opening to leaving when there is no `leave_by`; and the least she is given when there
    /// is. As `ChoiceSettings::departure_delay` and `departure_delay_when_now`.
    Seconds leave_within = 30min;
    Seconds leave_within_at_least = 15min;
    /// As `ChoiceSettings::handover`, with its source.
    Seconds hand_over_within = 14min;
    Seconds close_within = 24h;
    /// Contact counts as lost when she is not there this long after she should be (`allow`).
    Seconds contact_margin = 30min;
    /// An alert that nobody acknowledges goes to the next owner (design.md section 6).
    Seconds next_owner_after = 3min;
    bool operator==(const WatchSettings&) const = default;
};

/// What the plan for the way she is on says; none: not known. Renew it when she is diverted.
struct WatchTimes {
    std::optional<Instant> leave_by = {};
    /// From leaving; counts from when she truly left.
    std::optional<Seconds> travel_allow = {};
    /// Used where `travel_allow` is none: planned anew from where the vehicle was.
    std::optional<Instant> arrival_allow = {};
    std::optional<Instant> vehicle_reaches_her = {};
    /// Care must have begun by then: the earliest one that counts.
    std::optional<Instant> deadline = {};
    bool operator==(const WatchTimes&) const = default;
};

/// The times of one stage; the deadline is the earliest over the needs met there.
WatchTimes watch_times(const triage::Assessment& assessment, const Stage& stage);

/// A step that is waited for, overdue after `due`.
struct AwaitedStep {
    WatchedStep step{};
    Instant due{};
    /// The event since which it is waited for.
    EventId since;
    bool operator==(const AwaitedStep&) const = default;
};

/// In the order of `WatchedStep`. While she refuses, only `ask_again`; after an end, only the
/// outcome.
std::vector<AwaitedStep> awaited(const Life& life, const WatchTimes& times,
                                 const WatchSettings& settings);

/// Who is to act, in the order in which an alert goes on: without a driver when there is no vehicle
/// of ours, without a receiving place when none is asked. Ends with the dispatcher, or with
/// everyone when she is missing. Never empty.
std::vector<Owner> owners_of(const Life& life, WatchedStep step);

/// Who has an alert by now, and when the next one gets it.
struct PassedOn {
    /// The owner last.
    std::vector<Owner> told = {};
    /// None when it is acknowledged or nobody is left.
    std::optional<Instant> next_owner_at = {};
};
/// From one owner to the next every `settings.next_owner_after`, until it is acknowledged.
/// @param raised_at when it was raised: that of `raised`, or now for one that is not recorded yet
/// @param owners in order; not empty
PassedOn passed_on(const RaisedAlert& raised, Instant raised_at, std::span<const Owner> owners,
                   Instant now, const WatchSettings& settings = {});

struct Alert {
    /// The same whenever and wherever it is worked out: the event since which the step is waited
    /// for, and the step. A deadline that moves does not make it a new alert.
    std::string id;
    WatchedStep step{};
    Instant due{};
    Instant raised_at{};
    /// Not recorded yet: send it, and add `raising` to the events.
    bool is_new = false;
    /// Everyone who has it by now, the owner last.
    std::vector<Owner> told = {};
    std::optional<Instant> acknowledged_at = {};
    /// When it goes on; none when acknowledged or nobody is left.
    std::optional<Instant> next_owner_at = {};
    Message text;

    Owner owner() const { return told.back(); }
    bool operator==(const Alert&) const = default;
};

/// One for each step that is overdue at `now`. An alert ends when its step is done.
std::vector<Alert> alerts(const Life& life, const WatchTimes& times, Instant now,
                          const WatchSettings& settings = {});

/// The event that records it.
Event raising(const Alert& alert);

/// When contact counts as lost unless somebody hears of her before; none while she is not on the
/// way or it is lost already. The service then adds `lost_contact`.
std::optional<Instant> contact_lost_at(const Life& life, const WatchTimes& times,
                                       const WatchSettings& settings = {});

}  // namespace waybourne::referral
