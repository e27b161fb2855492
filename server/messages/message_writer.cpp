#include "server/messages/message_writer.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "facilities/offered.hpp"
#include "server/answer.hpp"
#include "server/facility_name.hpp"
#include "server/languages.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// One vehicle brings her and another meets it, as it was accepted last.
bool is_rendezvous(const ReferralRecord& record) {
    return record.life.second_vehicle && record.transport && record.transport->meets_at &&
           record.transport->meets;
}

/// Is sent to meet her.
bool takes_her_over(const ReferralRecord& record, const std::string& account) {
    return is_rendezvous(record) && record.life.second_vehicle->value() == account;
}

/// Brings her to where another one takes her over. Once that has her, it is the only one.
bool hands_her_over(const ReferralRecord& record, const std::string& account) {
    return is_rendezvous(record) && record.life.second_vehicle->value() != account;
}

referral::Stage stage_of(const PlannedWay& way, const std::optional<referral::Expected>& arrival) {
    referral::Stage stage;
    stage.facility = way.to;
    stage.leave_by = way.leave_by;
    if (way.travel_time) {
        stage.travel_time = *way.travel_time;
    }
    if (arrival) {
        stage.arrival = *arrival;
        if (way.leave_by) {
            stage.margin = *way.leave_by - (arrival->allow - stage.travel_time.allow);
        }
    }
    return stage;
}

/// A point on the way, and the place of care nearest to it: drivers go by names. A landing has one
/// of its own.
referral::WaitingPlace place_near(const Snapshot& snapshot, const GeoPoint& at) {
    constexpr Metres at_the_landing{100};
    for (const routing::Landing& landing : snapshot.landings) {
        if (great_circle_distance(at, landing.point) < at_the_landing) {
            return {at, landing.name};
        }
    }
    const auto all = snapshot.facilities.facilities();
    const auto nearest =
        std::min_element(all.begin(), all.end(), [&](const auto& a, const auto& b) {
            return great_circle_distance(at, a.point) < great_circle_distance(at, b.point);
        });
    if (nearest == all.end()) {
        return {at, {}};
    }
    constexpr double metres_per_kilometre = 1000;
    const double away = great_circle_distance(at, nearest->point).value() / metres_per_kilometre;
    constexpr double at_the_place = 0.1;
    if (away < at_the_place) {
        return {{}, nearest->name};
    }
    return {at, fmt::format("{:.1f} km / {}", away, nearest->name)};
}

/// Where she waits, in words.
referral::WaitingPlace from(const ReferralRecord& record, const Snapshot& snapshot,
                            const Catalogue& catalogue) {
    if (record.transport && record.transport->fetch_at && record.life.takeover) {
        return place_near(snapshot, *record.transport->fetch_at);
    }
    const Place& from = record.opening->request.from;
    if (const auto* facility = std::get_if<FacilityId>(&from)) {
        return {{}, name_of(snapshot.facilities, *facility)};
    }
    return {
        std::get<GeoPoint>(from),
        catalogue.text(Message{"referral.message.ask",
                               {{"place", name_of(snapshot.facilities, record.opening->sender)}}})};
}

referral::Choice choice_to(const ReferralRecord& record, const Snapshot& snapshot,
                           const FacilityId& place) {
    referral::Choice choice;
    if (record.way && record.way->to == place) {
        choice.stages.push_back(stage_of(*record.way, record.expected_arrival()));
        const auto& onward = record.way->onward;
        if (onward && snapshot.facilities.find_facility(*onward) != nullptr) {
            choice.stages.emplace_back();
            choice.stages.back().facility = *onward;
        }
    } else {
        choice.stages.emplace_back();
        choice.stages.back().facility = place;
    }
    return choice;
}

/// Later than she needs, by what was planned.
bool is_late(const referral::Choice& choice) {
    const auto& margin = choice.stages.front().margin;
    return margin && *margin < Seconds{0};
}

/// Whose arrival counts for all that ride together: who is late, else who has to be there first.
bool is_more_pressing(const referral::Choice& one, const referral::Choice& other) {
    const auto by = [](const referral::Choice& choice) {
        return be_there_by(choice.stages.front()).value_or(Instant::max());
    };
    return is_late(one) != is_late(other) ? is_late(one) : by(one) < by(other);
}

}  // namespace

MessageWriter::MessageWriter(const ReferralRecord& record, const Snapshot& snapshot,
                             const FindReferral& find, const std::string& language, Instant now)
    : record_(record),
      snapshot_(snapshot),
      find_(find),
      catalogue_(catalogue_for(snapshot, language)),
      now_(now) {}

std::string MessageWriter::short_text(const char* id) const {
    return referral::in_text_message_alphabet(
        catalogue_.text(Message{id, {{"code", record_.code}}}));
}

referral::MessageContext MessageWriter::context() const {
    return {record_.code, now_, snapshot_.zone.period_at(now_).offset};
}

/// What she needs and the place offers.
std::vector<triage::Capability> MessageWriter::meets_at(const FacilityId& place) const {
    const triage::CapabilitySet offered =
        facilities::offered_by(snapshot_.facilities.facility(place));
    const triage::Findings& findings = record_.opening->request.findings;
    std::vector<triage::Capability> meets;
    triage::Assessment assessment;
    try {
        assessment =
            answer_assessment(snapshot_, findings, std::max(now_, findings.at.value_or(now_)));
    } catch (const InputError&) {
        return meets;  // the protocol has changed since: what is seen is told all the same
    }
    for (const triage::Need& need : assessment.needs) {
        const auto given = (need.any_of & offered).members();
        if (!need.available_here && !given.empty()) {
            meets.push_back(given.front());
        }
    }
    return meets;
}

std::optional<std::string> MessageWriter::expected(const FacilityId& place) const {
    if (snapshot_.facilities.find_facility(place) == nullptr) {
        return std::nullopt;
    }
    const bool is_planned = record_.way && record_.way->to == place;
    const auto arrival = is_planned ? record_.expected_arrival() : std::nullopt;
    if (!arrival) {
        return short_text("referral.message.receiving_no_time");
    }
    referral::Choice choice;
    choice.stages.push_back(stage_of(*record_.way, arrival));
    choice.stages.front().meets = meets_at(place);
    return receiving_site_message(context(), choice, 0, record_.opening->request.findings,
                                  catalogue_);
}

/// Herself and those that her vehicle is still to bring with her, in the order of its tour.
std::vector<std::shared_ptr<const ReferralRecord>> MessageWriter::fetched_together() const {
    std::vector<std::shared_ptr<const ReferralRecord>> women;
    for (const std::string& code : record_.tour()) {
        auto woman = find_(code);
        const bool is_fetched = woman && woman->opening && woman->life.is_open() &&
                                !woman->life.is_refused && !woman->life.is_there() &&
                                woman->life.vehicle == record_.life.vehicle;
        if (is_fetched) {
            women.push_back(std::move(woman));
        }
    }
    return women;
}

std::string MessageWriter::tour_order(
    const std::vector<std::shared_ptr<const ReferralRecord>>& women, bool is_changed) const {
    const FacilityId& place = *record_.life.asked;
    std::vector<referral::TourStop> stops;
    referral::Choice choice = choice_to(record_, snapshot_, place);
    for (const auto& woman : women) {
        stops.push_back({woman->code, from(*woman, snapshot_, catalogue_)});
        if (woman->life.asked == place) {
            auto hers = choice_to(*woman, snapshot_, place);
            if (is_more_pressing(hers, choice)) {
                choice = std::move(hers);
            }
        }
    }
    return referral::tour_order(context(), stops, choice, is_changed, snapshot_.facilities,
                                catalogue_);
}

std::optional<std::string> MessageWriter::order(const std::string& account, bool is_changed) const {
    const referral::Life& life = record_.life;
    if (!life.asked || snapshot_.facilities.find_facility(*life.asked) == nullptr) {
        return std::nullopt;
    }
    const referral::Choice choice = choice_to(record_, snapshot_, *life.asked);
    referral::MeetingPoint meeting;
    if (is_rendezvous(record_)) {
        meeting = {referral::in_words(place_near(snapshot_, *record_.transport->meets_at)),
                   record_.transport->meets->typical};
    }
    if (takes_her_over(record_, account)) {
        return meeting_order(context(), meeting, choice, is_changed, snapshot_.facilities,
                             catalogue_);
    }
    const bool has_somebody = life.journey >= referral::Journey::with_the_woman;
    const std::string where = referral::in_words(from(record_, snapshot_, catalogue_));
    if (hands_her_over(record_, account)) {
        return hand_over_order(context(), has_somebody ? "" : where, meeting, is_changed,
                               catalogue_);
    }
    if (has_somebody && !life.takeover) {
        return driver_message(context(), choice, snapshot_.facilities, catalogue_);
    }
    const auto women = fetched_together();
    if (women.size() > 1) {
        return tour_order(women, is_changed);
    }
    return driver_order(context(), where, choice, is_changed, snapshot_.facilities, catalogue_);
}

}  // namespace waybourne::server
