#include <doctest/doctest.h>

#include "coverage/access.hpp"
#include "tests/coverage/sample_district.hpp"
#include "tests/coverage/small_district.hpp"

// The invented district of maps-sample: its README.md tells what cuts whom off.

using namespace waybourne;
using namespace waybourne::coverage;
using routing::Light;
using routing::Surface;

namespace {

std::vector<SettlementAccess> by_register(routing::RoadConditions conditions, Seconds standard) {
    CareClock clock(sample().ways(conditions, sample().now()), sample().facilities(),
                    sample().now(), ReadinessAssumption::as_registered, {0s, 0s});
    return access(clock, {{caesarean}, standard});
}

}  // namespace

TEST_CASE("In the wet thirty settlements of the sample are cut off from every theatre") {
    // maps-sample/README.md: "in the wet 30 settlements are cut off"
    const auto wet = by_register({Surface::wet, Light::day}, 2h);
    const auto dry = by_register({Surface::dry, Light::day}, 2h);
    const auto cut_off = std::count_if(wet.begin(), wet.end(), [](const SettlementAccess& one) {
        return one.access == AccessClass::no_route;
    });
    CHECK(cut_off == 30);
    CHECK(std::none_of(dry.begin(), dry.end(), [](const SettlementAccess& one) {
        return one.access == AccessClass::no_route;
    }));
    const Loss made = loss(sample().settlements(), dry, wet);
    CHECK(made.births_lost > 0);
    CHECK(made.births_gained == 0);  // no way is shorter in the wet
}

TEST_CASE("A longer standard never covers fewer, and the wet never more") {
    double before = 0;
    for (const Seconds standard : {30min, 60min, 120min, 240min}) {
        const auto dry = total(sample().settlements(),
                               by_register({Surface::dry, Light::day}, standard), standard);
        const auto wet = total(sample().settlements(),
                               by_register({Surface::wet, Light::day}, standard), standard);
        CHECK(dry.in_time >= before);
        CHECK(wet.in_time <= dry.in_time);
        CHECK(dry.in_time <= dry.in_time_typically);
        before = dry.in_time;
    }
}

TEST_CASE("As reported less is certain than as registered, and the bounds hold it in between") {
    const auto ways = sample().ways({Surface::wet, Light::day}, sample().now());
    CareClock registered(ways, sample().facilities(), sample().now(),
                         ReadinessAssumption::as_registered);
    CareClock reported(ways, sample().facilities(), sample().now(),
                       ReadinessAssumption::as_reported);
    for (const triage::CapabilitySet needed :
         {triage::CapabilitySet{caesarean}, triage::CapabilitySet{caesarean, blood},
          triage::CapabilitySet{triage::Capability::magnesium_sulfate}}) {
        const auto by_book = total(sample().settlements(), access(registered, {needed, 2h}), 2h);
        const auto by_word = total(sample().settlements(), access(reported, {needed, 2h}), 2h);
        CHECK(by_word.at_least() <= by_word.at_most());
        CHECK(by_word.at_least() <= by_book.at_least());
    }
}

TEST_CASE("At night some of the sample lose the theatre that is staffed by day only") {
    // README.md: Pellumvo's theatre is staffed 07:00 to 19:00, Venzhoth's team called in at night
    const auto at = [](const char* clock, Light light) {
        const Instant moment = parse_rfc3339(clock);
        CareClock care(sample().ways({Surface::dry, light}, moment), sample().facilities(), moment,
                       ReadinessAssumption::by_hour);
        return access(care, {{caesarean}, 1h});
    };
    const Loss made = loss(sample().settlements(), at("2026-07-08T10:00:00Z", Light::day),
                           at("2026-07-08T23:00:00Z", Light::night));
    CHECK(made.births_lost > 0);
    // Sorvrith's theatre is staffed day and night
    CHECK(std::count(made.lost.begin(), made.lost.end(), sample().settlement("sorvrith")) == 0);
    CHECK(made.births_gained == 0);
}
