#include <doctest/doctest.h>

#include <fstream>
#include <sstream>

#include "facilities/register_file.hpp"
#include "maps-sample/generator/reports.hpp"
#include "routing/metric.hpp"
#include "routing/osm_import.hpp"
#include "routing/reference_router.hpp"
#include "routing/speed_rules.hpp"
#include "tests/referral/brute_force.hpp"
#include "tests/referral/small_district.hpp"

using namespace waybourne;
using namespace waybourne::referral;

namespace {

std::string read(const std::string& path) {
    std::ifstream file(std::string(WAYBOURNE_SOURCE_DIR) + "/" + path, std::ios::binary);
    std::stringstream text;
    text << file.rdbuf();
    return text.str();
}

/// Asks the real router once per start and departure for all places, and remembers: brute force
/// asks for one place at a time, again and again.
class Remembering final : public routing::Router {
public:
    Remembering(routing::Router& router, const std::vector<std::optional<routing::Snap>>& snaps)
        : router_(router) {
        for (const auto& snap : snaps) {
            if (snap) {
                all_.push_back(*snap);
            }
        }
    }
    std::vector<std::optional<routing::TravelTime>> travel_times(
        const routing::Departure& departure, std::span<const routing::Snap> targets,
        Seconds limit) override {
        const auto key = std::tuple{departure.from.point.latitude().degrees,
                                    departure.from.point.longitude().degrees, departure.at};
        auto known = times_.find(key);
        if (known == times_.end()) {
            known = times_.emplace(key, router_.travel_times(departure, all_, limit)).first;
        }
        std::vector<std::optional<routing::TravelTime>> times;
        for (const routing::Snap& target : targets) {
            const auto place = std::find(all_.begin(), all_.end(), target);
            times.push_back(known->second.at(static_cast<std::size_t>(place - all_.begin())));
        }
        return times;
    }
    std::optional<routing::Route> route(const routing::Departure& departure,
                                        const routing::Snap& target) override {
        return router_.route(departure, target);
    }
    std::vector<routing::Nearest> nearest(const routing::Departure& departure,
                                          std::span<const routing::Snap> targets, std::size_t count,
                                          Seconds limit,
                                          const routing::ReadyAfter& ready_after) override {
        return router_.nearest(departure, targets, count, limit, ready_after);
    }
    std::optional<routing::Route> route_around(const routing::Departure& departure,
                                               const routing::Snap& target,
                                               std::span<const routing::PieceId> avoided) override {
        return router_.route_around(departure, target, avoided);
    }

private:
    routing::Router& router_;
    std::vector<routing::Snap> all_;
    std::map<std::tuple<double, double, Instant>, std::vector<std::optional<routing::TravelTime>>>
        times_;
};

/// What women in the sample's stories need, with limits from tight to loose.
std::vector<triage::Assessment> assessments() {
    const auto hours = [](int count) { return std::chrono::hours{count}; };
    return {
        assessment_of({critical({Capability::magnesium_sulfate}, 60min),
                       critical({Capability::operative_delivery}, hours(4))}),
        assessment_of({critical({Capability::blood_transfusion}, 90min),
                       critical({Capability::operative_delivery}, 90min),
                       need({Capability::uterotonics}, 30min)}),
        assessment_of({need({Capability::parenteral_antihypertensive,
                             Capability::rapid_oral_antihypertensive},
                            hours(4)),
                       need({Capability::laboratory}, hours(24)),
                       critical({Capability::critical_care, Capability::oxygen}, hours(2))}),
        assessment_of({critical({Capability::parenteral_antibiotics}, 60min),
                       need({Capability::antimalarial_parenteral}, hours(2)),
                       need({Capability::preterm_newborn_care}, std::nullopt)}),
    };
}

void shift(triage::Assessment& assessment, Instant now) {
    assessment.assessed_at = now;
    for (triage::Need& need : assessment.needs) {
        if (need.within) {
            need.deadline = now + *need.within;
        }
    }
}

}  // namespace

TEST_CASE("On the sample district too the choice equals the one found by trying everything") {
    const Instant now = parse_rfc3339(sample::sample_now);
    const auto speeds = routing::parse_speed_table(read("routing/data/speeds.json"));
    routing::ImportSettings import;
    import.time_zone = "Etc/UTC";
    const auto network = std::make_shared<const routing::RoadNetwork>(
        routing::import_osm(WAYBOURNE_SOURCE_DIR "/maps-sample/roads.osm", speeds, import).network);
    const routing::SnapIndex index(network);
    auto loaded =
        facilities::load_facilities(WAYBOURNE_SOURCE_DIR "/maps-sample/facilities.geojson");
    const auto facilities =
        facilities::FacilityRegister(std::move(loaded.facilities), loaded.holidays)
            .with(facilities::load_reports(WAYBOURNE_SOURCE_DIR "/maps-sample/reports.json"));

    std::size_t asked = 0;
    std::size_t staged = 0;
    for (const auto surface : {routing::Surface::dry, routing::Surface::wet}) {
        const auto metric = std::make_shared<const routing::Metric>(
            network,
            routing::speed_rules(speeds, routing::Means::car, {surface, routing::Light::night}));
        std::vector<std::optional<routing::Snap>> snaps;
        for (const facilities::Facility& place : facilities.facilities()) {
            snaps.push_back(index.snap(place.point, *metric));
        }
        routing::ReferenceRouter router{metric};
        Remembering remembering{router, snaps};
        // Every fourth place as the clinic she is at, another one in the wet.
        const std::size_t first = surface == routing::Surface::dry ? 0 : 2;
        for (std::size_t here = first; here < snaps.size(); here += 4) {
            if (!snaps[here]) {
                continue;
            }
            for (triage::Assessment& assessment : assessments()) {
                shift(assessment, now);
                Start start;
                start.from = *snaps[here];
                start.at_facility = facilities.facilities()[here].id;
                CAPTURE(start.at_facility->value());
                CAPTURE(asked);
                const ChoiceSettings settings;
                const auto answer =
                    recommend(assessment, facilities, snaps, router, start, settings, now);
                const auto expected = brute_force::answer(
                    {assessment, facilities, snaps, remembering, start, settings, now});
                REQUIRE(answer.chosen.has_value() == expected.chosen.has_value());
                ++asked;
                if (!answer.chosen) {
                    continue;
                }
                std::vector<std::string> places;
                for (const std::size_t place : expected.chosen->places) {
                    places.push_back(facilities.facilities()[place].id.value());
                }
                CHECK(places_of(*answer.chosen) == places);
                CHECK(answer.chosen->lateness == doctest::Approx(expected.chosen->lateness));
                CHECK(answer.chosen->last_critical_after == expected.chosen->last_critical);
                CHECK(answer.chosen->last_need_after == expected.chosen->last_need);
                CHECK(answer.call_first.empty() == expected.calls.empty());
                staged += places.size() > 1 ? 1U : 0U;
                for (const PassedOver& passed : answer.passed_over) {
                    CHECK_FALSE(passed.reasons.empty());
                }
            }
        }
    }
    MESSAGE(asked << " questions, " << staged << " answered with a stop on the way");
    CHECK(asked >= 32);
}
