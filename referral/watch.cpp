#include "referral/watch.hpp"

#include <algorithm>
#include <array>
#include <initializer_list>

#include "referral/internal/names.hpp"

namespace waybourne::referral {

namespace {

constexpr std::array<std::string_view, 12> step_names{
    "inform", "reply",     "ask_another_place", "set_out",   "reach_her", "leave",
    "arrive", "hand_over", "begin_care",        "ask_again", "close",     "return_outcome"};
constexpr std::array<std::string_view, 4> owner_names{"sender", "receiving_place", "dispatcher",
                                                      "driver"};

const Event* last_of(const Life& life, std::initializer_list<EventKind> kinds) {
    const auto found =
        std::find_if(life.events.rbegin(), life.events.rend(), [&](const Event& event) {
            return std::find(kinds.begin(), kinds.end(), event.kind) != kinds.end();
        });
    return found == life.events.rend() ? nullptr : &*found;
}

/// When she should be there at the latest.
std::optional<Instant> arrives_by(const Life& life, const WatchTimes& times) {
    const auto departed = life.last(EventKind::departed);
    return departed && times.travel_allow ? *departed + *times.travel_allow : times.arrival_allow;
}

/// Collects what is waited for.
class Watch {
public:
    Watch(const Life& life, const WatchTimes& times, const WatchSettings& settings)
        : life_(&life), times_(&times), settings_(&settings) {}

    std::vector<AwaitedStep> awaited() {
        if (!life_->is_opened) {
            return {};
        }
        if (!life_->is_open()) {
            await_outcome();
        } else if (life_->is_refused) {
            await(WatchedStep::ask_again, last_of(*life_, {EventKind::refused}),
                  life_->ask_again_at);
        } else {
            if (!life_->is_there()) {
                await_reply();
                await_vehicle();
                await_journey();
            } else {
                await_end();
            }
            await_care();
        }
        std::sort(steps_.begin(), steps_.end(),
                  [](const auto& one, const auto& other) { return one.step < other.step; });
        return std::move(steps_);
    }

private:
    void await(WatchedStep step, const Event* since, std::optional<Instant> due) {
        if (since != nullptr && due) {
            steps_.push_back({step, *due, since->id});
        }
    }

    void await(WatchedStep step, const Event* since, Seconds within) {
        if (since != nullptr) {
            await(step, since, std::optional{since->occurred_at + within});
        }
    }

    void await_reply() {
        if (!life_->asked) {
            await(WatchedStep::ask_another_place, last_of(*life_, {EventKind::opened}),
                  settings_->another_place_within);
            return;
        }
        switch (life_->reply) {
            case Reply::none:
                await(WatchedStep::inform,
                      last_of(*life_, {EventKind::opened, EventKind::diverted}),
                      settings_->inform_within);
                break;
            case Reply::informed:
                await(WatchedStep::reply, last_of(*life_, {EventKind::informed}),
                      settings_->reply_within);
                break;
            case Reply::accepted:
                break;
            default:
                await(WatchedStep::ask_another_place,
                      last_of(*life_, {EventKind::declined, EventKind::unanswered}),
                      settings_->another_place_within);
        }
    }

    void await_vehicle() {
        if (life_->vehicle && life_->journey == Journey::not_begun) {
            await(WatchedStep::set_out, last_of(*life_, {EventKind::vehicle_assigned}),
                  settings_->set_out_within);
        }
        const bool sends_another = life_->takeover && !life_->second_vehicle;
        if (sends_another && life_->takeover == Journey::not_begun) {
            await(WatchedStep::set_out, last_of(*life_, {EventKind::vehicle_assigned}),
                  settings_->set_out_within);
        }
        if (life_->journey == Journey::transport_sent ||
            (sends_another && life_->takeover == Journey::transport_sent)) {
            await(WatchedStep::reach_her, last_of(*life_, {EventKind::transport_sent}),
                  times_->vehicle_reaches_her);
        }
    }

    void await_journey() {
        if (life_->journey == Journey::departed) {
            await(WatchedStep::arrive, last_of(*life_, {EventKind::departed}),
                  arrives_by(*life_, *times_));
            return;
        }
        const Event* since = life_->goes_onward
                                 ? last_of(*life_, {EventKind::diverted})
                                 : last_of(*life_, {EventKind::opened, EventKind::agreed});
        if (since == nullptr) {
            return;
        }
        const Instant at_least = since->occurred_at + settings_->leave_within_at_least;
        await(WatchedStep::leave, since,
              times_->leave_by ? std::max(*times_->leave_by, at_least)
                               : since->occurred_at + settings_->leave_within);
    }

    void await_end() {
        if (life_->journey == Journey::arrived) {
            await(WatchedStep::hand_over, last_of(*life_, {EventKind::arrived}),
                  settings_->hand_over_within);
        } else {
            await(WatchedStep::close, last_of(*life_, {EventKind::received}),
                  settings_->close_within);
        }
    }

    void await_care() {
        if (!life_->has_care_begun) {
            await(WatchedStep::begin_care, last_of(*life_, {EventKind::opened}), times_->deadline);
        }
    }

    void await_outcome() {
        if (!life_->outcome_returned_at) {
            await(WatchedStep::return_outcome,
                  last_of(*life_, {EventKind::closed, EventKind::died_before_arrival}),
                  life_->outcome_due);
        }
    }

    const Life* life_;
    const WatchTimes* times_;
    const WatchSettings* settings_;
    std::vector<AwaitedStep> steps_;
};

std::vector<Owner> all_owners_of(const Life& life, WatchedStep step) {
    switch (step) {
        case WatchedStep::inform:
        case WatchedStep::ask_another_place:
        case WatchedStep::leave:
        case WatchedStep::ask_again:
            return {Owner::sender, Owner::dispatcher};
        case WatchedStep::reply:
        case WatchedStep::hand_over:
        case WatchedStep::close:
        case WatchedStep::return_outcome:
            return {Owner::receiving_place, Owner::dispatcher};
        case WatchedStep::set_out:
        case WatchedStep::reach_her:
            return {Owner::driver, Owner::dispatcher};
        case WatchedStep::arrive:
            return {Owner::driver, Owner::dispatcher, Owner::receiving_place, Owner::sender};
        case WatchedStep::begin_care:
            break;
    }
    if (life.journey < Journey::departed) {
        return {Owner::sender, Owner::dispatcher};
    }
    return {life.journey == Journey::departed ? Owner::driver : Owner::receiving_place,
            Owner::dispatcher};
}

Alert alert_of(const Life& life, const AwaitedStep& awaited, Instant now,
               const WatchSettings& settings) {
    Alert alert;
    alert.id = awaited.since.value() + "-" + std::string(wire_name(awaited.step));
    alert.step = awaited.step;
    alert.due = awaited.due;
    alert.text = {"referral.alert." + std::string(wire_name(awaited.step)),
                  {{"due", to_rfc3339(awaited.due)}}};
    const auto known = life.alerts.find(alert.id);
    const RaisedAlert raised = known == life.alerts.end() ? RaisedAlert{} : known->second;
    alert.is_new = !raised.raised_at.has_value();
    alert.raised_at = raised.raised_at.value_or(now);
    alert.acknowledged_at = raised.acknowledged_at;

    PassedOn passed =
        passed_on(raised, alert.raised_at, owners_of(life, awaited.step), now, settings);
    alert.told = std::move(passed.told);
    alert.next_owner_at = passed.next_owner_at;
    return alert;
}

}  // namespace

std::string_view wire_name(WatchedStep step) {
    return name_in(step_names, step);
}

std::string_view wire_name(Owner owner) {
    return name_in(owner_names, owner);
}

WatchTimes watch_times(const triage::Assessment& assessment, const Stage& stage) {
    WatchTimes times;
    times.leave_by = stage.leave_by;
    times.travel_allow = stage.travel_time.allow;
    times.arrival_allow = stage.arrival.allow;
    for (const std::size_t need : stage.needs) {
        const auto& deadline = assessment.needs.at(need).deadline;
        if (deadline) {
            times.deadline = std::min(times.deadline.value_or(*deadline), *deadline);
        }
    }
    return times;
}

std::vector<AwaitedStep> awaited(const Life& life, const WatchTimes& times,
                                 const WatchSettings& settings) {
    return Watch{life, times, settings}.awaited();
}

std::vector<Owner> owners_of(const Life& life, WatchedStep step) {
    std::vector<Owner> owners = all_owners_of(life, step);
    const bool has_place = life.asked || life.at;
    std::erase_if(owners, [&](Owner owner) {
        return (owner == Owner::driver && !life.vehicle) ||
               (owner == Owner::receiving_place && !has_place);
    });
    return owners;
}

PassedOn passed_on(const RaisedAlert& raised, Instant raised_at, std::span<const Owner> owners,
                   Instant now, const WatchSettings& settings) {
    const Seconds waited = std::max(Seconds{0}, raised.acknowledged_at.value_or(now) - raised_at);
    const auto gone_on = static_cast<std::size_t>(waited / settings.next_owner_after);
    const std::size_t last = std::min(gone_on, owners.size() - 1);
    PassedOn passed;
    passed.told.assign(owners.begin(), owners.begin() + static_cast<std::ptrdiff_t>(last) + 1);
    if (!raised.acknowledged_at && last + 1 < owners.size()) {
        passed.next_owner_at =
            raised_at + settings.next_owner_after * static_cast<Seconds::rep>(last + 1);
    }
    return passed;
}

std::vector<Alert> alerts(const Life& life, const WatchTimes& times, Instant now,
                          const WatchSettings& settings) {
    std::vector<Alert> found;
    for (const AwaitedStep& step : awaited(life, times, settings)) {
        if (now > step.due) {
            found.push_back(alert_of(life, step, now, settings));
        }
    }
    return found;
}

Event raising(const Alert& alert) {
    Event event;
    event.id = EventId{alert.id};
    event.kind = EventKind::alert_raised;
    event.occurred_at = alert.raised_at;
    event.recorded_at = alert.raised_at;
    event.by = {Role::service, {}};
    event.alert = alert.id;
    return event;
}

std::optional<Instant> contact_lost_at(const Life& life, const WatchTimes& times,
                                       const WatchSettings& settings) {
    const auto arrives = arrives_by(life, times);
    if (!life.is_open() || life.is_refused || life.has_lost_contact || !arrives ||
        life.journey != Journey::departed) {
        return std::nullopt;
    }
    const auto regained = life.last(EventKind::contact_regained);
    return std::max(*arrives, regained.value_or(*arrives)) + settings.contact_margin;
}

}  // namespace waybourne::referral
