#pragma once
/// The choice of the place written a second time, slowly and plainly, from the sentences of the
/// design: every place, every ordered pair, every set of needs that could be met at the first stop.
/// It shares only the contracts with what it checks: `readiness`, `Router`, the settings.

#include <algorithm>
#include <bit>
#include <map>
#include <set>

#include "facilities/capable.hpp"
#include "referral/recommend.hpp"

namespace waybourne::referral::brute_force {

struct Given {
    const triage::Assessment& assessment;
    const facilities::FacilityRegister& facilities;
    const std::vector<std::optional<routing::Snap>>& snaps;
    routing::Router& router;
    const Start& start;
    const ChoiceSettings& settings;
    Instant now;
    /// Everything is decided this much later than now.
    Seconds delay{};
    /// Only confirmed care counts.
    bool only_sure = false;
};

struct Trial {
    std::vector<std::size_t> places;
    std::vector<Instant> departures;
    std::map<std::size_t, Instant> begun = {};
    std::set<std::size_t> doubtful = {};
    std::size_t unmet_critical = 0;
    std::size_t unmet = 0;
    double lateness = 0;
    Seconds last_critical{};
    Seconds last_need{};
    int continues = 0;
    bool operator==(const Trial&) const = default;
};

inline const facilities::Facility& facility(const Given& given, std::size_t place) {
    return given.facilities.facilities()[place];
}

inline std::optional<CallAnswer> call(const Given& given, std::size_t place) {
    const auto found = given.start.calls.find(facility(given, place).id);
    return found == given.start.calls.end() ? std::nullopt : std::optional{found->second};
}

struct Begun {
    Instant at{};
    bool is_doubtful = false;
};

inline facilities::Readiness ask(const Given& given, std::size_t place,
                                 triage::Capability capability, Instant arrival) {
    std::optional<Instant> called;
    if (given.start.can_phone && !facility(given, place).phones.empty()) {
        called = given.now + given.delay;
    }
    return facilities::readiness(given.facilities, facility(given, place).id, capability, arrival,
                                 given.now, called);
}

/// When the need begins to be met there, by the best of its capabilities.
inline std::optional<Begun> begins(const Given& given, std::size_t place, std::size_t need,
                                   Instant arrival) {
    std::optional<Begun> best;
    for (const triage::Capability capability : given.assessment.needs[need].any_of.members()) {
        const auto readiness = ask(given, place, capability, arrival);
        if (!readiness.ready_at) {
            continue;
        }
        Begun begun{std::max(arrival + given.settings.handover, *readiness.ready_at),
                    readiness.state == facilities::ReadinessState::unconfirmed &&
                        call(given, place) != CallAnswer::accepted};
        if (begun.at >= given.now + given.settings.unmet_after ||
            (given.only_sure && begun.is_doubtful)) {
            continue;
        }
        if (!best || begun.at < best->at ||
            (begun.at == best->at && best->is_doubtful && !begun.is_doubtful)) {
            best = begun;
        }
    }
    return best;
}

inline void weigh(const Given& given, Trial& trial, Instant last_arrival) {
    for (std::size_t need = 0; need < given.assessment.needs.size(); ++need) {
        const triage::Need& wanted = given.assessment.needs[need];
        if (wanted.available_here) {
            bool can = false;
            for (const triage::Capability capability : wanted.any_of.members()) {
                can = can || ask(given, trial.places.back(), capability, last_arrival).state !=
                                 facilities::ReadinessState::not_ready;
            }
            trial.continues += can ? 1 : 0;
            continue;
        }
        const auto met = trial.begun.find(need);
        Instant at = given.now + given.settings.unmet_after;
        if (met == trial.begun.end()) {
            ++trial.unmet;
            trial.unmet_critical += wanted.critical ? 1 : 0;
        } else {
            at = met->second;
        }
        if (wanted.deadline && at > *wanted.deadline) {
            const double late = static_cast<double>((at - *wanted.deadline).count());
            const double allowed =
                std::max(60.0, static_cast<double>(wanted.within.value().count()));
            trial.lateness +=
                (wanted.critical ? given.settings.critical_weight : 1) * (late / allowed);
        }
        trial.last_need = std::max(trial.last_need, at - given.now);
        if (wanted.critical) {
            trial.last_critical = std::max(trial.last_critical, at - given.now);
        }
    }
}

inline std::optional<routing::TravelTime> way(const Given& given, std::optional<std::size_t> from,
                                              std::size_t to, Instant at) {
    if (!given.snaps[to]) {
        return std::nullopt;
    }
    const routing::Snap start = from ? *given.snaps[*from] : given.start.from;
    const std::vector<routing::Snap> target{*given.snaps[to]};
    return given.router.travel_times({start, at}, target, given.settings.search_limit).front();
}

inline bool may_go(const Given& given, std::size_t place) {
    const auto answer = call(given, place);
    return given.snaps[place] && facility(given, place).id != given.start.at_facility &&
           answer != CallAnswer::refused && answer != CallAnswer::no_answer;
}

inline Instant leaving(const Given& given) {
    const Seconds delay = given.assessment.leave_now ? given.settings.departure_delay_when_now
                                                     : given.settings.departure_delay;
    return given.now + given.delay + given.start.ready_in.value_or(delay);
}

inline std::vector<std::size_t> wanted_needs(const Given& given) {
    std::vector<std::size_t> needs;
    for (std::size_t need = 0; need < given.assessment.needs.size(); ++need) {
        if (!given.assessment.needs[need].available_here) {
            needs.push_back(need);
        }
    }
    return needs;
}

inline std::optional<Trial> single(const Given& given, std::size_t place) {
    const auto travel =
        may_go(given, place) ? way(given, std::nullopt, place, leaving(given)) : std::nullopt;
    if (!travel) {
        return std::nullopt;
    }
    Trial trial{.places = {place}, .departures = {leaving(given)}};
    const Instant arrival = leaving(given) + travel->allow;
    for (const std::size_t need : wanted_needs(given)) {
        if (const auto begun = begins(given, place, need, arrival)) {
            trial.begun[need] = begun->at;
            if (begun->is_doubtful) {
                trial.doubtful.insert(place);
            }
        }
    }
    if (trial.begun.empty()) {
        return std::nullopt;
    }
    weigh(given, trial, arrival);
    return trial;
}

inline auto strict(const Trial& trial) {
    return std::tuple{trial.unmet_critical, trial.lateness, trial.last_critical, trial.last_need,
                      trial.departures.back()};
}

/// Every set of the needs that the first place can meet is tried as what is met there.
inline std::optional<Trial> pair(const Given& given, std::size_t first, std::size_t second) {
    const auto alone = single(given, first);
    if (!alone || first == second || !may_go(given, second)) {
        return std::nullopt;
    }
    std::vector<std::size_t> possible;
    for (const auto& [need, at] : alone->begun) {
        possible.push_back(need);
    }
    const auto travel = way(given, std::nullopt, first, leaving(given));
    const Instant arrival = leaving(given) + travel->allow;
    std::optional<Trial> best;
    std::size_t best_set = 0;
    for (std::size_t set = 1; set < (std::size_t{1} << possible.size()); ++set) {
        Trial trial{.places = {first, second}, .departures = {leaving(given)}};
        Instant last{};
        for (std::size_t bit = 0; bit < possible.size(); ++bit) {
            if ((set >> bit) % 2 == 1) {
                const auto begun = begins(given, first, possible[bit], arrival);
                trial.begun[possible[bit]] = begun->at;
                last = std::max(last, begun->at);
                if (begun->is_doubtful) {
                    trial.doubtful.insert(first);
                }
            }
        }
        const Instant onward = last + given.settings.first_stop_stay;
        trial.departures.push_back(onward);
        const auto leg = way(given, first, second, onward);
        if (!leg) {
            continue;
        }
        bool is_useful = false;
        for (const std::size_t need : wanted_needs(given)) {
            if (trial.begun.count(need) == 0) {
                if (const auto begun = begins(given, second, need, onward + leg->allow)) {
                    trial.begun[need] = begun->at;
                    is_useful = true;
                    if (begun->is_doubtful) {
                        trial.doubtful.insert(second);
                    }
                }
            }
        }
        if (!is_useful) {
            continue;
        }
        weigh(given, trial, onward + leg->allow);
        // Of equally good ways to share the needs, the one that meets most at the first stop.
        if (!best || strict(trial) < strict(*best) ||
            (strict(trial) == strict(*best) && std::popcount(set) > std::popcount(best_set))) {
            best_set = set;
            best = trial;
        }
    }
    return best;
}

inline std::vector<Trial> everything(const Given& given) {
    std::vector<Trial> trials;
    const std::size_t count = given.facilities.facilities().size();
    for (std::size_t first = 0; first < count; ++first) {
        if (auto trial = single(given, first)) {
            trials.push_back(*trial);
        }
        for (std::size_t second = 0; second < count; ++second) {
            if (auto trial = pair(given, first, second)) {
                trials.push_back(*trial);
            }
        }
    }
    return trials;
}

inline int changes(const Given& given, const Trial& trial) {
    int count = 0;
    for (std::size_t stop = 0; stop < trial.places.size(); ++stop) {
        const routing::Snap from =
            stop == 0 ? given.start.from : *given.snaps[trial.places[stop - 1]];
        const auto route =
            given.router.route({from, trial.departures[stop]}, *given.snaps[trial.places[stop]]);
        for (std::size_t leg = 1; leg < route->legs.size(); ++leg) {
            count += route->legs[leg].means != route->legs[leg - 1].means ? 1 : 0;
        }
    }
    return count;
}

/// Those that may be chosen: a second stop must earn its place against the best single one here.
inline std::vector<Trial> admitted(const Given& given, const std::vector<Trial>& trials) {
    std::optional<std::pair<std::size_t, double>> best;
    for (const Trial& trial : trials) {
        const std::pair figures{trial.unmet_critical, trial.lateness};
        if (trial.places.size() == 1 && (!best || figures < *best)) {
            best = figures;
        }
    }
    std::vector<Trial> kept;
    for (const Trial& trial : trials) {
        const bool earns =
            !best || trial.unmet_critical < best->first ||
            (trial.unmet_critical == best->first &&
             trial.lateness <= best->second - given.settings.second_stop_saves + 1e-9);
        if (trial.places.size() == 1 || earns) {
            kept.push_back(trial);
        }
    }
    return kept;
}

template <typename Figure, typename Slack>
void narrow(std::vector<Trial>& trials, Figure figure, Slack slack) {
    auto best = figure(trials.front());
    for (const Trial& trial : trials) {
        best = std::min(best, figure(trial));
    }
    std::vector<Trial> kept;
    for (const Trial& trial : trials) {
        if (figure(trial) <= best + slack) {
            kept.push_back(trial);
        }
    }
    trials = kept;
}

inline std::optional<Trial> best(const Given& given, std::vector<Trial> trials) {
    if (trials.empty()) {
        return std::nullopt;
    }
    narrow(
        trials, [](const Trial& t) { return static_cast<int>(t.unmet_critical); }, 0);
    narrow(
        trials, [](const Trial& t) { return t.lateness; },
        given.settings.lateness_tolerance + 1e-9);
    narrow(
        trials, [](const Trial& t) { return t.last_critical; }, given.settings.time_tolerance);
    narrow(
        trials, [](const Trial& t) { return t.last_need; }, given.settings.time_tolerance);
    narrow(
        trials, [](const Trial& t) { return -t.continues; }, 0);
    narrow(
        trials, [](const Trial& t) { return static_cast<int>(t.places.size()); }, 0);
    narrow(
        trials, [&](const Trial& t) { return changes(given, t); }, 0);
    std::sort(trials.begin(), trials.end(),
              [](const Trial& a, const Trial& b) { return a.places < b.places; });
    return trials.front();
}

inline bool touches(const Trial& trial, const std::set<std::size_t>& places) {
    return std::any_of(trial.places.begin(), trial.places.end(),
                       [&](std::size_t place) { return places.count(place) > 0; });
}

struct Answer {
    std::optional<Trial> chosen;
    std::vector<std::size_t> calls;
    std::optional<std::size_t> if_declined;
};

/// Who leads, by the sentences on unconfirmed readiness.
inline Answer answer(const Given& given) {
    const auto all = everything(given);
    Answer result;
    result.chosen = best(given, admitted(given, all));
    if (!result.chosen || result.chosen->doubtful.empty()) {
        return result;
    }
    const Trial leading = *result.chosen;
    Given sure = given;
    sure.only_sure = true;
    std::vector<Trial> confirmed;
    for (const Trial& trial : everything(sure)) {
        if (!touches(trial, leading.doubtful)) {
            confirmed.push_back(trial);
        }
    }
    std::vector<Trial> behind;
    for (const Trial& trial : admitted(given, confirmed)) {
        bool lacks = false;
        for (const std::size_t need : wanted_needs(given)) {
            lacks = lacks || (given.assessment.needs[need].critical &&
                              trial.begun.count(need) == 0 && leading.begun.count(need) > 0);
        }
        if (!lacks) {
            behind.push_back(trial);
        }
    }
    const auto next = best(given, behind);
    bool can_phone = given.start.can_phone;
    for (const std::size_t place : leading.doubtful) {
        can_phone = can_phone && !facility(given, place).phones.empty();
    }
    if (!next) {
        if (can_phone) {
            result.calls.assign(leading.doubtful.begin(), leading.doubtful.end());
        }
        return result;
    }
    Given later = sure;
    later.delay = given.settings.call_wait;
    const auto then = next->places.size() == 1 ? single(later, next->places[0])
                                               : pair(later, next->places[0], next->places[1]);
    const bool as_good = then && then->unmet_critical <= next->unmet_critical &&
                         then->unmet <= next->unmet &&
                         then->lateness <= next->lateness + given.settings.lateness_tolerance;
    if (can_phone && as_good) {
        result.calls.assign(leading.doubtful.begin(), leading.doubtful.end());
        result.if_declined = next->places.front();
    } else {
        result.chosen = next;
    }
    return result;
}

}  // namespace waybourne::referral::brute_force
