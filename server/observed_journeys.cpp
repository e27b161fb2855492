#include "server/observed_journeys.hpp"

#include <array>
#include <map>

#include "referral/referral_times.hpp"
#include "server/referrals/all_records.hpp"

namespace waybourne::server {

namespace {

using referral::ReferralDurations;

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

}  // namespace

JourneysAnswer answer_journeys(const Snapshot& snapshot, const journal::Journal& journal) {
    std::vector<ReferralDurations> all;
    std::map<std::string, std::vector<ReferralDurations>> some;
    std::vector<coverage::ObservedJourney> journeys;
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
    return answer;
}

}  // namespace waybourne::server
