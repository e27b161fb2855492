#include "referral/standing.hpp"

#include <algorithm>
#include <map>
#include <tuple>

namespace waybourne::referral {

namespace {

bool written_after(const Event* one, const Event* other) {
    return std::tie(one->recorded_at, one->id) > std::tie(other->recorded_at, other->id);
}

using ById = std::map<EventId, const Event*>;

ById by_id(std::span<const Event> events) {
    ById found;
    for (const Event& event : events) {
        const auto [at, is_new] = found.emplace(event.id, &event);
        if (!is_new && event < *at->second) {
            at->second = &event;
        }
    }
    return found;
}

bool is_in_a_ring(const ById& events, const Event& event) {
    const Event* at = &event;
    for (std::size_t links = 0; links < events.size() && at->corrects; ++links) {
        const auto next = events.find(*at->corrects);
        if (next == events.end()) {
            return false;
        }
        at = next->second;
        if (at->id == event.id) {
            return true;
        }
    }
    return false;
}

/// Corrections of each event, the one written last first.
using Corrections = std::map<EventId, std::vector<const Event*>>;

/// What counts for an event after all its corrections; null when it was withdrawn.
/// @param event null when only its corrections have come
const Event* settled(const Corrections& corrections, const EventId& id, const Event* event) {
    const auto found = corrections.find(id);
    if (found == corrections.end()) {
        return event;
    }
    for (const Event* latest : found->second) {
        if (const Event* correction = settled(corrections, latest->id, latest)) {
            return correction->kind == EventKind::withdrawn ? nullptr : correction;
        }
    }
    return event;
}

}  // namespace

bool happened_before(const Event& one, const Event& other) {
    return std::tie(one.occurred_at, one.recorded_at, one.id) <
           std::tie(other.occurred_at, other.recorded_at, other.id);
}

Standing standing(std::span<const Event> events) {
    const ById known = by_id(events);
    Standing answer;
    Corrections corrections;
    ById firsts;  // what no event of the set is a correction of; null: not here yet
    for (const auto& [id, event] : known) {
        const bool is_ring = is_in_a_ring(known, *event);
        if (is_ring) {
            answer.in_a_ring.push_back(id);
        }
        if (is_ring || !event->corrects) {
            firsts.emplace(id, event);
            continue;
        }
        corrections[*event->corrects].push_back(event);
        if (known.count(*event->corrects) == 0) {
            firsts.emplace(*event->corrects, nullptr);
        }
    }
    for (auto& [corrected, by] : corrections) {
        std::sort(by.begin(), by.end(), written_after);
    }
    for (const auto& [id, first] : firsts) {
        const Event* event = settled(corrections, id, first);
        if (event != nullptr && event->kind != EventKind::withdrawn) {
            answer.events.push_back(*event);
        }
    }
    std::sort(answer.events.begin(), answer.events.end(), happened_before);
    return answer;
}

}  // namespace waybourne::referral
