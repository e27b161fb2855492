#include "triage/need.hpp"

#include <algorithm>
#include <bit>
#include <tuple>

namespace waybourne::triage {

namespace {

bool is_narrower(CapabilitySet a, CapabilitySet b) {
    return a != b && b.contains_all(a);
}

std::optional<Seconds> shorter(std::optional<Seconds> a, std::optional<Seconds> b) {
    return a && b ? std::min(*a, *b) : (a ? a : b);
}

}  // namespace

std::vector<WantedCare> combine_choices(const Protocol& protocol, const FiredRules& fired) {
    std::vector<WantedCare> wanted;
    for (std::size_t rule = 0; rule < fired.size(); ++rule) {
        if (fired[rule] == 0) {
            continue;
        }
        for (const WantedCare& care : protocol.rules[rule].needs) {
            const auto same =
                std::find_if(wanted.begin(), wanted.end(),
                             [&](const WantedCare& other) { return other.any_of == care.any_of; });
            if (same == wanted.end()) {
                wanted.push_back(care);
            } else {
                same->critical |= care.critical;
            }
        }
    }
    std::vector<WantedCare> kept;
    for (WantedCare care : wanted) {
        bool widened = false;
        for (const WantedCare& other : wanted) {
            widened |= is_narrower(other.any_of, care.any_of);
            care.critical |= other.critical && is_narrower(care.any_of, other.any_of);
        }
        if (!widened) {
            kept.push_back(care);
        }
    }
    return kept;
}

std::vector<CombinedNeed> combine_needs(const Protocol& protocol, const FiredRules& fired) {
    std::vector<CombinedNeed> needs;
    for (const WantedCare& care : combine_choices(protocol, fired)) {
        needs.push_back({care.any_of, care.critical, std::nullopt, {}});
    }
    for (std::size_t rule = 0; rule < fired.size(); ++rule) {
        if (fired[rule] == 0) {
            continue;
        }
        for (const WantedCare& care : protocol.rules[rule].needs) {
            for (CombinedNeed& need : needs) {
                if (!care.any_of.contains_all(need.any_of)) {
                    continue;
                }
                need.within = shorter(need.within, protocol.rules[rule].within);
                if (need.rules.empty() || need.rules.back() != rule) {
                    need.rules.push_back(rule);
                }
            }
        }
    }
    std::sort(needs.begin(), needs.end(), [](const CombinedNeed& a, const CombinedNeed& b) {
        const auto key = [](const CombinedNeed& need) {
            return std::tuple(!need.critical, need.within.value_or(Seconds::max()),
                              std::countr_zero(need.any_of.mask()), need.any_of.mask());
        };
        return key(a) < key(b);
    });
    return needs;
}

std::optional<Seconds> shortest_limit(const Protocol& protocol, const FiredRules& fired) {
    std::optional<Seconds> shortest;
    for (std::size_t rule = 0; rule < fired.size(); ++rule) {
        if (fired[rule] != 0) {
            shortest = shorter(shortest, protocol.rules[rule].within);
        }
    }
    return shortest;
}

}  // namespace waybourne::triage
