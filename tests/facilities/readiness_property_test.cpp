#include <doctest/doctest.h>

#include <random>

#include "tests/facilities/places.hpp"

// Properties over random places, hours and reports. The reference is slow and obvious: it steps
// through the minutes and asks of each thing whether it is there.

namespace waybourne::facilities {
namespace {

using triage::Capability;

constexpr Capability asked = Capability::operative_delivery;

class RandomPlace {
public:
    explicit RandomPlace(unsigned seed) : random_(seed) {
        facility_ = always_open("place");
        facility_.time_zone = pick({"Etc/GMT", "Europe/Berlin", "Asia/Kathmandu"});
        facility_.hours = hours();
        if (chance(10)) {
            facility_.hours.reset();
        }
        if (chance(20)) {
            facility_.hours_confirmed_at.reset();
        }
        Service made = service(asked, {});
        made.lead = std::chrono::minutes(chance(30) ? number(1, 90) : 0);
        if (chance(20)) {
            made.hours = hours();
        }
        for (int i = number(0, 4); i > 0; --i) {
            Resource each = resource(("thing_" + std::to_string(i)).c_str(),
                                     static_cast<ResourceKind>(number(0, 5)));
            if (chance(40)) {
                each.hours = hours();
                if (chance(50)) {
                    each.on_call = hours();
                    each.call_in = std::chrono::minutes(number(0, 90));
                }
            }
            facility_.resources.push_back(each);
            made.needs.push_back({each.name, number(1, 3)});
        }
        facility_.services = {made};
    }

    const Facility& facility() const { return facility_; }

    /// Any time within two days around noon, to the minute.
    Instant instant() { return wednesday_noon + std::chrono::minutes(number(-1440, 1440)); }

    FacilityRegister with_reports() {
        FacilityRegister facilities(
            {facility_},
            {LocalDay{std::chrono::floor<std::chrono::days>(wednesday_noon.time_since_epoch())}});
        for (int i = number(0, 8); i > 0; --i) {
            facilities = facilities.with(report());
        }
        return facilities;
    }

    int number(int from, int until) {
        return std::uniform_int_distribution<int>(from, until)(random_);
    }

private:
    bool chance(int percent) { return number(1, 100) <= percent; }
    const char* pick(std::initializer_list<const char*> choices) {
        return *(choices.begin() + number(0, static_cast<int>(choices.size()) - 1));
    }
    OpeningHours hours() {
        return parse_opening_hours(
            pick({"24/7", "Mo-Fr 07:00-19:00", "Mo-Su 19:00-07:00", "off",
                  "Mo-Fr 08:00-12:00,13:00-17:00; PH off", "24/7; 2026 Mar 5 off", "We 11:45-12:15",
                  "PH 06:00-09:00", "Th-Sa 00:00-48:00"}));
    }
    Report report() {
        ReportSubject about = WholeFacility{};
        const int subject = number(0, static_cast<int>(facility_.resources.size()) + 1);
        if (subject == 1) {
            about = asked;
        } else if (subject > 1) {
            about = ResourceName{facility_.resources[static_cast<std::size_t>(subject) - 2].name};
        }
        Report made = ready(facility_, about, instant() - std::chrono::hours(number(0, 40)));
        made.is_ready = chance(60);
        if (chance(30)) {
            made.until = made.at + std::chrono::minutes(number(1, 2000));
        }
        if (!made.is_ready && chance(30)) {
            made.backup_until = made.at + std::chrono::minutes(number(1, 1000));
        }
        if (made.is_ready && chance(20)) {
            made.expires_at = made.at + std::chrono::minutes(number(-10, 2000));
        }
        if (subject > 1) {
            const auto kind = facility_.resources[static_cast<std::size_t>(subject) - 2].kind;
            const bool is_counted = kind == ResourceKind::stock || kind == ResourceKind::blood ||
                                    kind == ResourceKind::space;
            if (is_counted && chance(50)) {
                made.units = number(0, 3);
            }
        }
        return made;
    }

    std::mt19937 random_;
    Facility facility_;
};

TEST_CASE("Arriving later never means being seen earlier") {
    for (unsigned seed = 0; seed < 600; ++seed) {
        CAPTURE(seed);
        RandomPlace place(seed);
        const auto facilities = place.with_reports();
        const Instant now = place.instant();
        const auto called = place.number(0, 1) == 1 ? std::optional(now) : std::nullopt;
        std::optional<Instant> before = Instant::min();
        for (int minute = 0; minute <= 2880; minute += 96) {
            const Instant arrival = now + std::chrono::minutes(minute);
            const auto answer =
                readiness(facilities, place.facility().id, asked, arrival, now, called);
            // None is later than any time.
            REQUIRE((!answer.ready_at || (before && *answer.ready_at >= *before)));
            REQUIRE((!answer.ready_at || *answer.ready_at >= arrival));
            before = answer.ready_at;
        }
    }
}

/// 2,000 places with reports, each with somebody who arrives within ten hours:
/// `check(place, facilities, now, arrival)`.
template <typename Check>
void for_each_arrival(const Check& check) {
    for (unsigned seed = 0; seed < 2000; ++seed) {
        CAPTURE(seed);
        RandomPlace place(seed);
        const auto facilities = place.with_reports();
        const Instant now = place.instant();
        check(place, facilities, now, now + std::chrono::minutes(place.number(0, 600)));
    }
}

TEST_CASE("Whatever is not simply ready says why, in words that exist") {
    for_each_arrival(
        [](RandomPlace& place, const FacilityRegister& facilities, Instant now, Instant arrival) {
            const auto answer = readiness(facilities, place.facility().id, asked, arrival, now);
            REQUIRE(answer.chance >= 0);
            REQUIRE(answer.chance <= 1);
            REQUIRE((answer.state == ReadinessState::ready || !answer.reasons.empty()));
            REQUIRE((answer.state == ReadinessState::not_ready) == !answer.ready_at.has_value());
            REQUIRE((answer.state != ReadinessState::not_ready || answer.chance == 0));
            REQUIRE((answer.state != ReadinessState::ready || answer.ready_at == arrival));
            REQUIRE((answer.state != ReadinessState::ready_by || answer.ready_at > arrival));
            REQUIRE((!answer.reported_at || *answer.reported_at <= now));
            const std::string all = words(answer);
            CAPTURE(all);
            REQUIRE(all.find('[') == std::string::npos);  // a missing text is shown in brackets
            REQUIRE(all.find('{') == std::string::npos);  // so is a value that was not given
        });
}

TEST_CASE("Left without reasons, an answer is otherwise the same") {
    for_each_arrival(
        [](RandomPlace& place, const FacilityRegister& facilities, Instant now, Instant arrival) {
            const auto called = place.number(0, 1) == 1 ? std::optional(now) : std::nullopt;
            auto told = readiness_at(facilities, 0, asked, {arrival, now, called});
            const auto bare =
                readiness_at(facilities, 0, asked, {arrival, now, called, Reasons::left_out});
            REQUIRE(bare.reasons.empty());
            told.reasons.clear();
            REQUIRE(bare == told);
        });
}

TEST_CASE("The moment care can begin is the first minute at which all is there") {
    for (unsigned seed = 0; seed < 150; ++seed) {
        CAPTURE(seed);
        RandomPlace place(seed);
        const FacilityRegister facilities({place.facility()});  // no reports: hours alone decide
        const Facility& facility = place.facility();
        const Service& offered = facility.services[0];
        const TimeZone& zone = facilities.time_zone(facility.id);
        const Instant arrival = place.instant();
        const auto answer = readiness(facilities, facility.id, asked, arrival, arrival);
        const auto is_there = [&](const Resource& each, Instant when) {
            return !each.hours || each.hours->is_open(when, zone, {}) ||
                   (each.on_call && when >= arrival + each.call_in &&
                    each.on_call->is_open(when, zone, {}));
        };
        const auto& hours = offered.hours ? offered.hours : facility.hours;
        std::optional<Instant> first;
        for (int minute = 0; minute <= 8 * 1440 && !first; ++minute) {
            const Instant when = arrival + std::chrono::minutes(minute);
            const bool all_there =
                when >= arrival + offered.lead && (!hours || hours->is_open(when, zone, {})) &&
                std::all_of(facility.resources.begin(), facility.resources.end(),
                            [&](const Resource& each) { return is_there(each, when); });
            if (all_there) {
                first = when;
            }
        }
        CHECK((answer.ready_at == first || (!first && answer.ready_at > arrival + 8 * 24h)));
    }
}

}  // namespace
}  // namespace waybourne::facilities
