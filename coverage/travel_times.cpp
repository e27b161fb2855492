#include "coverage/travel_times.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace waybourne::coverage {

namespace {

using routing::TravelTime;

constexpr std::array<std::string_view, 3> transport_names{"at_hand", "on_foot", "sent"};

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

/// Places that can be reached at all, with the columns they stand in.
struct Targets {
    std::vector<routing::Snap> snaps;
    std::vector<std::size_t> columns;
};

Targets targets_of(std::span<const std::optional<routing::Snap>> places) {
    Targets targets;
    for (std::size_t place = 0; place < places.size(); ++place) {
        if (places[place]) {
            targets.snaps.push_back(*places[place]);
            targets.columns.push_back(place);
        }
    }
    return targets;
}

}  // namespace

std::string_view to_name(Transport transport) {
    return transport_names.at(static_cast<std::size_t>(transport));
}

std::optional<Transport> find_transport(std::string_view name) {
    const auto found = std::find(transport_names.begin(), transport_names.end(), name);
    return found == transport_names.end()
               ? std::nullopt
               : std::optional(static_cast<Transport>(found - transport_names.begin()));
}

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
    const Targets targets = targets_of(places);
    TravelTimes times(settlements.size(), places.size());
    for (std::size_t i = 0; i < settlements.size(); ++i) {
        tell(work, i, settlements.size());
        if (!settlements[i] || targets.snaps.empty()) {
            continue;
        }
        const auto ways =
            router.travel_times({*settlements[i], leave_at}, targets.snaps, longest_way);
        for (std::size_t target = 0; target < ways.size(); ++target) {
            add_up(times, i, targets.columns[target], ways[target]);
        }
    }
    return times;
}

TravelTimes travel_times(const routing::PlaceSweep& sweep, routing::Router& router,
                         std::span<const std::optional<routing::Snap>> settlements,
                         std::span<const std::optional<routing::Snap>> places, Instant leave_at,
                         const Work& work) {
    if (sweep.settlements() != settlements.size()) {
        throw InputError("the sweep was made for other settlements");
    }
    work.at("travel times", 0);
    const Targets targets = targets_of(places);
    std::vector<std::vector<routing::Snap>> groups;
    for (const routing::Snap& snap : targets.snaps) {
        groups.push_back({snap});
    }
    const auto ways = sweep.to_nearest(groups);
    TravelTimes times(settlements.size(), places.size());
    for (std::size_t i = 0; i < settlements.size(); ++i) {
        tell(work, i, settlements.size());
        Targets unsure;
        for (std::size_t target = 0; target < groups.size(); ++target) {
            const routing::SweptWay& way = ways[i * groups.size() + target];
            if (!way.may_wait) {
                add_up(times, i, targets.columns[target], way.time);
            } else {
                unsure.snaps.push_back(targets.snaps[target]);
                unsure.columns.push_back(targets.columns[target]);
            }
        }
        if (unsure.snaps.empty()) {
            continue;
        }
        const auto waited =
            router.travel_times({*settlements[i], leave_at}, unsure.snaps, longest_way);
        for (std::size_t target = 0; target < waited.size(); ++target) {
            add_up(times, i, unsure.columns[target], waited[target]);
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

TravelTimes sooner(const TravelTimes& a, const TravelTimes& b) {
    if (a.settlements() != b.settlements() || a.places() != b.places()) {
        throw InputError("two tables of ways do not fit each other");
    }
    TravelTimes times = a;
    for (std::size_t i = 0; i < times.settlements(); ++i) {
        for (std::size_t place = 0; place < times.places(); ++place) {
            const auto other = b.at(i, place);
            if (other && is_sooner(*other, a.at(i, place))) {
                times.set(i, place, other);
            }
        }
    }
    return times;
}

TravelTimes scaled(const TravelTimes& times, double factor) {
    if (!(factor > 0)) {
        throw InputError("travel times can only be multiplied by a number above 0");
    }
    const auto longer = [&](Seconds time) {
        return Seconds{std::llround(static_cast<double>(time.count()) * factor)};
    };
    TravelTimes made(times.settlements(), times.places());
    for (std::size_t i = 0; i < times.settlements(); ++i) {
        for (std::size_t place = 0; place < times.places(); ++place) {
            if (const auto way = times.at(i, place)) {
                made.set(i, place, TravelTime{longer(way->typical), longer(way->allow)});
            }
        }
    }
    return made;
}

TravelTimes turned_round(const TravelTimes& times) {
    TravelTimes turned(times.places(), times.settlements());
    for (std::size_t i = 0; i < times.settlements(); ++i) {
        for (std::size_t place = 0; place < times.places(); ++place) {
            turned.set(place, i, times.at(i, place));
        }
    }
    return turned;
}

}  // namespace waybourne::coverage
