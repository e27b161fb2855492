#include "coverage/access.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <map>

namespace waybourne::coverage {

namespace {

constexpr std::array<std::string_view, 4> class_names{"in_time", "beyond", "no_route", "unknown"};
constexpr Seconds curve_step{15min};
constexpr Seconds curve_end{6h};

bool is_better(const routing::TravelTime& time, const std::optional<routing::TravelTime>& best) {
    return !best || time.allow < best->allow ||
           (time.allow == best->allow && time.typical < best->typical);
}

SettlementAccess access_of(CareClock& clock, std::size_t settlement,
                           const AccessQuestion& question) {
    SettlementAccess made;
    for (std::uint32_t place = 0; place < clock.places(); ++place) {
        const CareTime care = clock.care(settlement, place, question.needed);
        if (!care.begins) {
            if (clock.offers(place, question.needed) && clock.ways().at(settlement, place)) {
                made.access = AccessClass::beyond;  // there is a way; nobody is there
            }
            continue;
        }
        if (is_better(*care.begins, made.care_at_best)) {
            made.care_at_best = care.begins;
            made.place_at_best = place;
        }
        if (care.ready == Known::unknown) {
            continue;
        }
        made.places_in_time += care.begins->allow <= question.standard ? 1 : 0;
        if (is_better(*care.begins, made.care)) {
            made.care = care.begins;
            made.place = place;
            made.way = clock.ways().at(settlement, place);
        }
    }
    const auto is_in_time = [&](const std::optional<routing::TravelTime>& care) {
        return care && care->allow <= question.standard;
    };
    if (is_in_time(made.care)) {
        made.access = AccessClass::in_time;
    } else if (is_in_time(made.care_at_best)) {
        made.access = AccessClass::unknown;
    } else if (made.care_at_best) {
        made.access = AccessClass::beyond;
    }
    return made;
}

/// Adds one settlement to the total.
void add(AccessTotal& total, const Settlement& settlement, const SettlementAccess& access,
         Seconds standard) {
    const double births = settlement.births_per_year;
    total.births += births;
    ++total.settlements;
    double* const parts[] = {&total.in_time, &total.beyond, &total.no_route, &total.unknown};
    *parts[static_cast<std::size_t>(access.access)] += births;
    total.in_time_typically += access.care && access.care->typical <= standard ? births : 0;
    total.way_in_time += access.way && access.way->allow <= standard ? births : 0;
    total.double_cover += access.places_in_time >= 2 ? births : 0;
}

}  // namespace

std::string_view to_name(AccessClass access) {
    return class_names.at(static_cast<std::size_t>(access));
}

std::vector<SettlementAccess> access(CareClock& clock, const AccessQuestion& question,
                                     const std::vector<bool>& is_on_the_map) {
    if (question.standard < 0s) {
        throw InputError("a time standard of " + std::to_string(question.standard.count()) +
                         " s is below 0");
    }
    std::vector<SettlementAccess> all;
    all.reserve(clock.settlements());
    for (std::size_t settlement = 0; settlement < clock.settlements(); ++settlement) {
        all.push_back(access_of(clock, settlement, question));
        if (!is_on_the_map.empty() && !is_on_the_map.at(settlement)) {
            all.back().access = AccessClass::unknown;
        }
    }
    return all;
}

AccessTotal total(std::span<const Settlement> settlements,
                  std::span<const SettlementAccess> accesses, Seconds standard) {
    assert(settlements.size() == accesses.size());
    AccessTotal sum;
    for (std::size_t i = 0; i < settlements.size(); ++i) {
        add(sum, settlements[i], accesses[i], standard);
    }
    return sum;
}

std::vector<AreaAccess> total_by_area(std::span<const Settlement> settlements,
                                      std::span<const SettlementAccess> accesses,
                                      Seconds standard) {
    assert(settlements.size() == accesses.size());
    std::map<AreaId, AccessTotal> totals;
    for (std::size_t i = 0; i < settlements.size(); ++i) {
        add(totals[settlements[i].area], settlements[i], accesses[i], standard);
    }
    std::vector<AreaAccess> all;
    all.reserve(totals.size());
    for (const auto& [area, sum] : totals) {
        all.push_back({area, sum});
    }
    return all;
}

std::vector<PlaceLoad> loads(std::span<const Settlement> settlements,
                             std::span<const SettlementAccess> accesses, std::size_t places,
                             std::span<const std::optional<double>> capacity) {
    assert(settlements.size() == accesses.size());
    std::vector<PlaceLoad> loads(places);
    for (std::size_t i = 0; i < settlements.size(); ++i) {
        if (!accesses[i].place) {
            continue;
        }
        PlaceLoad& load = loads.at(*accesses[i].place);
        load.births += settlements[i].births_per_year;
        if (accesses[i].access == AccessClass::in_time) {
            load.births_in_time += settlements[i].births_per_year;
        }
    }
    for (std::size_t place = 0; place < std::min(places, capacity.size()); ++place) {
        if (capacity[place] && *capacity[place] > 0) {
            loads[place].of_capacity = loads[place].births / *capacity[place];
        }
    }
    return loads;
}

std::vector<CurvePoint> curve(std::span<const Settlement> settlements,
                              std::span<const SettlementAccess> accesses) {
    assert(settlements.size() == accesses.size());
    const double births = births_of(settlements);
    std::vector<CurvePoint> points;
    for (Seconds standard{0}; births > 0 && standard <= curve_end; standard += curve_step) {
        CurvePoint point{standard};
        const auto part = [&](const std::optional<routing::TravelTime>& time, std::size_t i) {
            return time && time->allow <= standard ? settlements[i].births_per_year / births : 0;
        };
        for (std::size_t i = 0; i < settlements.size(); ++i) {
            point.at_least += part(accesses[i].care, i);
            // a settlement off the map has no time at all and may be anywhere
            const bool is_open =
                accesses[i].access == AccessClass::unknown && !accesses[i].care_at_best;
            point.at_most += is_open ? settlements[i].births_per_year / births
                                     : part(accesses[i].care_at_best, i);
            point.way_only += part(accesses[i].way, i);
        }
        points.push_back(point);
    }
    return points;
}

Loss loss(std::span<const Settlement> settlements, std::span<const SettlementAccess> before,
          std::span<const SettlementAccess> after) {
    assert(settlements.size() == before.size() && settlements.size() == after.size());
    Loss made;
    for (std::size_t i = 0; i < settlements.size(); ++i) {
        const double births = settlements[i].births_per_year;
        const bool was = before[i].access == AccessClass::in_time;
        const bool is = after[i].access == AccessClass::in_time;
        if (was && after[i].access == AccessClass::unknown) {
            made.births_in_doubt += births;
        } else if (was && !is) {
            made.lost.push_back(i);
            made.births_lost += births;
        } else if (!was && is) {
            made.births_gained += births;
        }
    }
    std::stable_sort(made.lost.begin(), made.lost.end(), [&](std::size_t a, std::size_t b) {
        return settlements[a].births_per_year > settlements[b].births_per_year;
    });
    return made;
}

}  // namespace waybourne::coverage
