#include "coverage/travel_times.hpp"

#include <algorithm>

namespace waybourne::coverage {

namespace {

using routing::TravelTime;

/// Progress is told this often.
constexpr std::size_t told_every = 64;

void add_up(TravelTimes& times, std::size_t settlement, std::size_t place,
            const std::optional<TravelTime>& way) {
    if (way && way->typical <= longest_way) {
        times.set(settlement, place, way);
    }
}

TravelTime sum(const TravelTime& a, const TravelTime& b) {
    return {a.typical + b.typical, a.allow + b.allow};
}

TravelTime plus(const TravelTime& time, Seconds more) {
    return {time.typical + more, time.allow + more};
}

bool is_sooner(const TravelTime& a, const std::optional<TravelTime>& b) {
    return !b || a.typical < b->typical || (a.typical == b->typical && a.allow < b->allow);
}

void tell(const Work& work, std::size_t done, std::size_t all) {
    if (done % told_every == 0) {
        work.at("travel times", static_cast<double>(done) / static_cast<double>(all));
    }
}

}  // namespace

TravelTimes::TravelTimes(std::size_t settlements, std::size_t places)
    : places_(places), pairs_(settlements * places) {}

std::optional<TravelTime> TravelTimes::at(std::size_t settlement, std::size_t place) const {
    const Pair& pair = pairs_.at(settlement * places_ + place);
    return pair.typical_s == unreached
               ? std::nullopt
               : std::optional(TravelTime{Seconds{pair.typical_s}, Seconds{pair.allow_s}});
}

void TravelTimes::set(std::size_t settlement, std::size_t place,
                      const std::optional<TravelTime>& time) {
    constexpr Seconds most{0x7fffffff};
    Pair& pair = pairs_.at(settlement * places_ + place);
    if (!time) {
        pair = {};
        return;
    }
    if (time->typical < 0s || time->allow < time->typical || time->allow > most) {
        throw InputError("a travel time of " + std::to_string(time->typical.count()) +
                         " s, allow " + std::to_string(time->allow.count()) +
                         " s, cannot be: typical is at least 0 and at most allow");
    }
    pair = {static_cast<std::uint32_t>(time->typical.count()),
            static_cast<std::uint32_t>(time->allow.count())};
}

TravelTimes travel_times(routing::Router& router,
                         std::span<const std::optional<routing::Snap>> settlements,
                         std::span<const std::optional<routing::Snap>> places, Instant leave_at,
                         const Work& work) {
    std::vector<routing::Snap> targets;
    std::vector<std::size_t> place_of;
    for (std::size_t place = 0; place < places.size(); ++place) {
        if (places[place]) {
            targets.push_back(*places[place]);
            place_of.push_back(place);
        }
    }
    TravelTimes times(settlements.size(), places.size());
    for (std::size_t i = 0; i < settlements.size(); ++i) {
        tell(work, i, settlements.size());
        if (!settlements[i] || targets.empty()) {
            continue;
        }
        const auto ways = router.travel_times({*settlements[i], leave_at}, targets, longest_way);
        for (std::size_t target = 0; target < ways.size(); ++target) {
            add_up(times, i, place_of[target], ways[target]);
        }
    }
    return times;
}

TravelTimes travel_times(routing::HierarchyRouter& router,
                         std::span<const std::optional<routing::Snap>> settlements,
                         const routing::PlaceIndex& places, Instant leave_at, const Work& work) {
    TravelTimes times(settlements.size(), places.places().size());
    for (std::size_t i = 0; i < settlements.size(); ++i) {
        tell(work, i, settlements.size());
        if (!settlements[i]) {
            continue;
        }
        const auto ways = router.travel_times({*settlements[i], leave_at}, places, longest_way);
        for (std::size_t place = 0; place < ways.size(); ++place) {
            add_up(times, i, place, ways[place]);
        }
    }
    return times;
}

TravelTimes on_foot_first(const TravelTimes& walk, const TravelTimes& onward,
                          const TravelTimes& on_foot, Seconds boarding) {
    if (walk.places() != onward.settlements() || onward.places() != on_foot.places() ||
        walk.settlements() != on_foot.settlements()) {
        throw InputError("walks and ways onward do not fit each other");
    }
    TravelTimes times(on_foot.settlements(), on_foot.places());
    for (std::size_t i = 0; i < times.settlements(); ++i) {
        for (std::size_t place = 0; place < times.places(); ++place) {
            std::optional<TravelTime> best = on_foot.at(i, place);
            for (std::size_t post = 0; post < walk.places(); ++post) {
                const auto first = walk.at(i, post);
                const auto then = first ? onward.at(post, place) : std::nullopt;
                if (then && is_sooner(plus(sum(*first, *then), boarding), best)) {
                    best = plus(sum(*first, *then), boarding);
                }
            }
            times.set(i, place, best);
        }
    }
    return times;
}

TravelTimes vehicle_sent(const TravelTimes& approach, std::span<const Seconds> mobilisation,
                         Seconds loading, const TravelTimes& drive) {
    if (approach.places() != mobilisation.size() || approach.settlements() != drive.settlements()) {
        throw InputError("vehicles' ways and bases do not fit each other");
    }
    TravelTimes times(drive.settlements(), drive.places());
    for (std::size_t i = 0; i < drive.settlements(); ++i) {
        std::optional<TravelTime> there;
        for (std::size_t base = 0; base < approach.places(); ++base) {
            const auto way = approach.at(i, base);
            if (way && is_sooner(plus(*way, mobilisation[base]), there)) {
                there = plus(*way, mobilisation[base]);
            }
        }
        for (std::size_t place = 0; there && place < drive.places(); ++place) {
            if (const auto way = drive.at(i, place)) {
                times.set(i, place, plus(sum(*there, *way), loading));
            }
        }
    }
    return times;
}

}  // namespace waybourne::coverage
