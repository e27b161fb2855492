#include "server/observed_journeys.hpp"

#include <algorithm>
#include <array>
#include <iterator>
#include <map>

#include "referral/referral_times.hpp"
#include "server/referrals/all_records.hpp"
#include "server/ways.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

using referral::ReferralDurations;

double seconds(Seconds span) {
    return static_cast<double>(span.count());
}

struct Delay {
    const char* name;
    std::optional<Seconds> ReferralDurations::*span;
};

constexpr std::array delays{
    Delay{"recognition_to_decision", &ReferralDurations::recognition_to_decision},
    Delay{"answer", &ReferralDurations::answer},
    Delay{"dispatch", &ReferralDurations::dispatch},
    Delay{"mobilisation", &ReferralDurations::mobilisation},
    Delay{"response", &ReferralDurations::response},
    Delay{"on_scene", &ReferralDurations::on_scene},
    Delay{"transport", &ReferralDurations::transport},
    Delay{"sent_to_arrival", &ReferralDurations::sent_to_arrival},
    Delay{"handover", &ReferralDurations::handover},
    Delay{"arrival_to_care", &ReferralDurations::arrival_to_care},
    Delay{"decision_to_care", &ReferralDurations::decision_to_care},
    Delay{"outcome_to_sender", &ReferralDurations::outcome_to_sender},
};

/// `sent 06:00-12:00`: the quarter of the local day in which word was sent.
std::string quarter_of(const TimeZone& zone, Instant sent) {
    static constexpr std::array names{"sent 00:00-06:00", "sent 06:00-12:00", "sent 12:00-18:00",
                                      "sent 18:00-24:00"};
    const Seconds of_day = zone.local(sent).since_1970 % 24h;
    return names.at(static_cast<std::size_t>(of_day / 6h));
}

DelayGroup group_of(const std::string& name, const std::vector<ReferralDurations>& durations) {
    DelayGroup group{name, durations.size(), {}};
    for (const Delay& delay : delays) {
        std::vector<Seconds> spans;
        for (const ReferralDurations& one : durations) {
            if (const auto span = one.*delay.span) {
                spans.push_back(*span);
            }
        }
        group.delays.emplace_back(delay.name, coverage::spread_of(spans));
    }
    return group;
}

std::optional<coverage::ObservedJourney> journey_of(const Snapshot& snapshot,
                                                    const ReferralRecord& record,
                                                    const referral::ReferralTimes& times,
                                                    const ReferralDurations& durations) {
    const auto way = record.life.at ? record.ways.find(*record.life.at) : record.ways.end();
    if (way == record.ways.end() || !way->second->travel_time || !durations.transport) {
        return std::nullopt;
    }
    return coverage::ObservedJourney{
        expected_conditions(snapshot.district, snapshot.zone, *times.left_with_her),
        *way->second->travel_time, *durations.transport};
}

/// The parts of the way by class of road; none where today's map knows no way, or she walked.
std::optional<coverage::ObservedWay> way_of(const Snapshot& snapshot, const ReferralRecord& record,
                                            const referral::ReferralTimes& times,
                                            const coverage::ObservedJourney& journey) {
    const auto planned = record.ways.find(*record.life.at);
    if (record.opening == nullptr || planned == record.ways.end() ||
        planned->second->means == routing::Means::on_foot) {
        return std::nullopt;
    }
    const RouteRequest asked{record.opening->request.from, *record.life.at, planned->second->means,
                             times.left_with_her, journey.conditions};
    coverage::ObservedWay way{
        journey.conditions.surface, {}, 0, seconds(journey.took), journey.conditions.light};
    try {
        const RouteAnswer found = answer_route(snapshot, asked, *times.left_with_her);
        if (!found.route) {
            return std::nullopt;
        }
        for (const routing::Leg& leg : found.route->legs) {
            if (leg.means != planned->second->means || leg.is_assumed) {
                way.fixed_s += seconds(leg.travel_time.typical);
                continue;
            }
            way.fixed_s += seconds(leg.wait);
            for (const routing::Stretch& stretch : leg.stretches) {
                way.by_class[stretch.road_class] += seconds(stretch.typical);
            }
        }
    } catch (const NotFound&) {
        return std::nullopt;  // a place that is not in the register any more
    }
    return way;
}

}  // namespace

SpeedOffer speed_offer(const Snapshot& snapshot, const JourneysAnswer& answer, Instant now) {
    SpeedOffer offer{snapshot.files.at("speeds"),
                     snapshot.roads->sources().speeds->rows().version,
                     now,
                     answer.ways,
                     {}};
    std::copy_if(answer.classes.begin(), answer.classes.end(), std::back_inserter(offer.changes),
                 [](const auto& one) { return one.is_offered; });
    return offer;
}

JourneysAnswer answer_journeys(const Snapshot& snapshot, const journal::Journal& journal) {
    std::vector<ReferralDurations> all;
    std::map<std::string, std::vector<ReferralDurations>> some;
    std::vector<coverage::ObservedJourney> journeys;
    std::vector<coverage::ObservedWay> ways;
    for_each_referral(journal, [&](const ReferralRecord& record) {
        const referral::ReferralTimes times = referral::referral_times(record.life);
        const ReferralDurations durations = referral::durations_of(times);
        all.push_back(durations);
        if (record.life.at) {
            some["to " + record.life.at->value()].push_back(durations);
        }
        if (times.sent) {
            some[quarter_of(snapshot.zone, *times.sent)].push_back(durations);
        }
        if (const auto journey = journey_of(snapshot, record, times, durations)) {
            journeys.push_back(*journey);
            if (auto way = way_of(snapshot, record, times, *journey)) {
                ways.push_back(std::move(*way));
            }
        }
    });
    JourneysAnswer answer;
    answer.groups.push_back(group_of("all", all));
    for (const auto& [name, durations] : some) {
        if (durations.size() >= coverage::fewest_told) {
            answer.groups.push_back(group_of(name, durations));
        }
    }
    answer.calibrations = coverage::calibrations(journeys);
    answer.classes = coverage::calibrations_by_class(ways);
    answer.ways = ways.size();
    return answer;
}

}  // namespace waybourne::server
