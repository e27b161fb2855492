#include "referral/merge.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <tuple>

#include "referral/standing.hpp"

namespace waybourne::referral {

namespace {

using Decisions = std::map<Pair, bool>;

Decisions decisions_of(std::span<const ReferralEvents> referrals) {
    struct Decided {
        Pair pair;
        const Event* event;
    };
    std::vector<Standing> kept;  // what `Decided` points into
    kept.reserve(referrals.size());
    std::vector<Decided> decided;
    for (const ReferralEvents& referral : referrals) {
        kept.push_back(standing(referral.events));
        for (const Event& event : kept.back().events) {
            if (decides_about_two(event.kind) && event.other && *event.other != referral.referral) {
                decided.push_back({pair_of(referral.referral, *event.other), &event});
            }
        }
    }
    std::sort(decided.begin(), decided.end(), [](const Decided& one, const Decided& other) {
        return happened_before(*one.event, *other.event);
    });
    Decisions last;
    for (const Decided& decision : decided) {
        last[decision.pair] = decision.event->kind == EventKind::merged;
    }
    return last;
}

/// Referrals that belong together, found by following one to another.
class Together {
public:
    void add(const ReferralId& id) { leads_to_.emplace(id, id); }

    /// Referrals that are not there are left out.
    void join(const Pair& pair) {
        if (leads_to_.count(pair.first) != 0 && leads_to_.count(pair.second) != 0) {
            leads_to_[end_of(pair.first)] = end_of(pair.second);
        }
    }

    ReferralId end_of(ReferralId id) {
        while (leads_to_.at(id) != id) {
            id = leads_to_[id] = leads_to_.at(leads_to_.at(id));
        }
        return id;
    }

private:
    std::map<ReferralId, ReferralId> leads_to_;
};

std::optional<Instant> opened_at(const ReferralEvents& referral) {
    return life_of(referral.events).last(EventKind::opened);
}

/// The one opened first leads; one that was not opened never does while another was.
void put_leader_first(std::vector<ReferralId>& members,
                      const std::map<ReferralId, const ReferralEvents*>& known) {
    if (members.size() < 2) {
        return;
    }
    std::map<ReferralId, std::optional<Instant>> opened;
    for (const ReferralId& id : members) {
        opened[id] = opened_at(*known.at(id));
    }
    const auto leader = std::min_element(members.begin(), members.end(),
                                         [&](const ReferralId& one, const ReferralId& other) {
                                             const auto first = opened.at(one);
                                             const auto second = opened.at(other);
                                             return std::tuple(!first.has_value(), first, one) <
                                                    std::tuple(!second.has_value(), second, other);
                                         });
    std::rotate(members.begin(), leader, leader + 1);
}

std::optional<double> number(const ReportedCase& report, std::string_view field) {
    const auto found = report.findings.values.find(field);
    if (found == report.findings.values.end() || !std::holds_alternative<double>(found->second)) {
        return std::nullopt;
    }
    return std::get<double>(found->second);
}

bool may_differ(const ReportedCase& one, const ReportedCase& other, std::string_view field,
                double by) {
    const auto first = number(one, field);
    const auto second = number(other, field);
    return !first || !second || std::abs(*first - *second) <= by;
}

/// Whether she can have gone from one status to the other. One who has given birth stays so; one
/// after a loss too. What is not known contradicts nothing.
bool can_follow(const ReportedCase& earlier, const ReportedCase& later) {
    static const std::map<std::string, int, std::less<>> order{
        {"pregnant", 0}, {"in_labour", 1}, {"postpartum", 2}, {"post_abortion", 2}};
    const auto status = [](const ReportedCase& report) -> const std::string* {
        const auto found = report.findings.values.find("status");
        return found == report.findings.values.end() ? nullptr
                                                     : std::get_if<std::string>(&found->second);
    };
    const std::string* before = status(earlier);
    const std::string* after = status(later);
    if (before == nullptr || after == nullptr || *before == *after || order.count(*before) == 0 ||
        order.count(*after) == 0) {
        return true;
    }
    return order.at(*before) < 2;  // labour can prove to be none: pregnant may follow it
}

}  // namespace

std::string_view wire_name(Channel channel) {
    constexpr std::array<std::string_view, 3> names{"page", "text", "telephone"};
    return names.at(static_cast<std::size_t>(channel));
}

Pair pair_of(const ReferralId& one, const ReferralId& other) {
    return std::minmax(one, other);
}

bool Cases::are_one(const ReferralId& one, const ReferralId& other) const {
    const auto holds = [](const std::vector<ReferralId>& members, const ReferralId& id) {
        return std::find(members.begin(), members.end(), id) != members.end();
    };
    return std::any_of(cases.begin(), cases.end(), [&](const auto& members) {
        return holds(members, one) && holds(members, other);
    });
}

Cases cases_of(std::span<const ReferralEvents> referrals) {
    std::map<ReferralId, const ReferralEvents*> known;
    Together together;
    for (const ReferralEvents& referral : referrals) {
        known.emplace(referral.referral, &referral);
        together.add(referral.referral);
    }
    Cases answer;
    for (const auto& [pair, are_one] : decisions_of(referrals)) {
        if (are_one) {
            together.join(pair);
        } else {
            answer.told_apart.push_back(pair);
        }
    }
    std::map<ReferralId, std::vector<ReferralId>> members_of;
    for (const auto& [id, unused] : known) {
        members_of[together.end_of(id)].push_back(id);
    }
    for (auto& [unused, members] : members_of) {
        put_leader_first(members, known);
        answer.cases.push_back(std::move(members));
    }
    std::sort(answer.cases.begin(), answer.cases.end());
    for (const Pair& pair : answer.told_apart) {
        if (known.count(pair.first) != 0 && known.count(pair.second) != 0 &&
            together.end_of(pair.first) == together.end_of(pair.second)) {
            answer.contradictory.push_back(pair);
        }
    }
    return answer;
}

Life life_of_case(std::span<const ReferralEvents> members) {
    std::vector<Event> events;
    for (const ReferralEvents& member : members) {
        const bool leads = &member == members.data();
        for (Event& event : standing(member.events).events) {
            if (leads || event.kind != EventKind::opened) {
                events.push_back(std::move(event));
            }
        }
    }
    return life_of(events);
}

bool are_reported_together(const ReportedCase& one, const ReportedCase& other,
                           const MergeSettings& settings) {
    return one.sender == other.sender && std::chrono::abs(one.at - other.at) <= settings.within;
}

bool are_compatible(const ReportedCase& earlier, const ReportedCase& later,
                    const MergeSettings& settings) {
    return can_follow(earlier, later) &&
           may_differ(earlier, later, "gestation_weeks", settings.weeks_may_differ) &&
           may_differ(earlier, later, "age_years", settings.years_may_differ) &&
           may_differ(earlier, later, "days_postpartum", settings.days_after_birth_may_differ);
}

std::vector<MergeOffer> merge_offers(std::span<const ReportedCase> reported, const Cases& cases,
                                     const MergeSettings& settings) {
    std::vector<const ReportedCase*> order;
    for (const ReportedCase& report : reported) {
        order.push_back(&report);
    }
    const auto key = [](const ReportedCase* report) {
        return std::tie(report->sender, report->at, report->referral);
    };
    std::sort(order.begin(), order.end(),
              [&](const auto* one, const auto* other) { return key(one) < key(other); });
    const auto is_decided = [&](const ReportedCase& one, const ReportedCase& other) {
        const Pair pair = pair_of(one.referral, other.referral);
        return cases.are_one(one.referral, other.referral) ||
               std::binary_search(cases.told_apart.begin(), cases.told_apart.end(), pair);
    };
    std::vector<MergeOffer> offers;
    for (std::size_t at = 0; at < order.size(); ++at) {
        const ReportedCase& first = *order[at];
        for (std::size_t next = at + 1; next < order.size(); ++next) {
            const ReportedCase& second = *order[next];
            if (!are_reported_together(first, second, settings)) {
                break;
            }
            const Seconds apart = second.at - first.at;
            if (is_decided(first, second) || !are_compatible(first, second, settings)) {
                continue;
            }
            const auto minutes = std::to_string(ceil_minutes(apart).count());
            offers.push_back({first.referral,
                              second.referral,
                              apart,
                              {{"referral.merge.same_sender"},
                               {"referral.merge.minutes_apart", {{"minutes", minutes}}},
                               {"referral.merge.nothing_contradicts"}}});
        }
    }
    std::sort(offers.begin(), offers.end(), [](const MergeOffer& one, const MergeOffer& other) {
        return std::tie(one.apart, one.first, one.second) <
               std::tie(other.apart, other.first, other.second);
    });
    return offers;
}

}  // namespace waybourne::referral
