#include "tests/referral/brute_force.hpp"

#include <doctest/doctest.h>

#include <random>

#include "tests/referral/small_district.hpp"

using namespace waybourne;
using namespace waybourne::referral;

namespace {

constexpr std::uint64_t seed = 20260304;
constexpr int districts = 2000;

/// A few kinds of care, so that places and needs meet often.
const std::vector<Capability> kinds{
    Capability::magnesium_sulfate,      Capability::operative_delivery,
    Capability::blood_transfusion,      Capability::oxygen,
    Capability::parenteral_antibiotics, Capability::uterotonics};

/// Draws districts, needs and states of the roads.
class Draw {
public:
    explicit Draw(std::uint64_t number) : random_(number) {}

    bool chance(double share) { return std::bernoulli_distribution{share}(random_); }
    int number(int from, int to) { return std::uniform_int_distribution{from, to}(random_); }
    /// Half the time whole five minutes, so that ties within the tolerances come up.
    Seconds minutes(int from, int to) {
        const int drawn = number(from, to);
        return std::chrono::minutes{chance(0.5) ? drawn / 5 * 5 : drawn};
    }
    CapabilitySet some_kinds(double share) {
        CapabilitySet set;
        for (const Capability kind : kinds) {
            if (chance(share)) {
                set.insert(kind);
            }
        }
        return set;
    }
    FakeWay way() {
        const Seconds typical = minutes(5, 180);
        FakeWay drawn{typical, typical + minutes(0, 60), 0s, Metres{1000}};
        if (chance(0.1)) {
            drawn.leaves_every = std::chrono::minutes{number(1, 8) * 15};
        }
        return drawn;
    }

private:
    std::mt19937_64 random_;
};

void add_place(Draw& draw, SmallDistrict& district, const std::string& id) {
    district.unheard(id, draw.some_kinds(0.5));
    facilities::Facility& facility = district.facility(id);
    for (facilities::Service& service : facility.services) {
        if (draw.chance(0.7)) {
            district.hear(id, service.capability, true, ten - 1h);
        } else if (draw.chance(0.2)) {
            district.hear(
                id, service.capability, false, ten - 1h,
                draw.chance(0.5) ? std::optional{ten + draw.minutes(10, 300)} : std::nullopt);
        }
        if (draw.chance(0.2)) {
            service.lead = draw.minutes(10, 60);
        }
        if (draw.chance(0.2)) {
            service.hours = facilities::parse_opening_hours(draw.chance(0.5) ? "Mo-Su 06:00-12:00"
                                                                             : "Mo-Su 11:30-23:00");
        }
    }
    if (draw.chance(0.1)) {
        facility.phones.clear();
    }
    if (draw.chance(0.05)) {
        district.start.calls[facility.id] =
            draw.chance(0.4) ? CallAnswer::accepted : CallAnswer::refused;
    }
}

SmallDistrict random_district(Draw& draw) {
    SmallDistrict district;
    const int count = draw.number(1, 12);
    std::vector<std::string> ids;
    for (int place = 0; place < count; ++place) {
        ids.emplace_back(1, static_cast<char>('a' + place));
        add_place(draw, district, ids.back());
    }
    const GeoPoint here = district.start.from.point;
    for (const std::string& from : ids) {
        if (draw.chance(0.9)) {
            district.router.set_way(here, district.facility(from).point, draw.way());
        }
        for (const std::string& to : ids) {
            if (from != to && draw.chance(0.8)) {
                district.router.set_way(district.facility(from).point, district.facility(to).point,
                                        draw.way());
            }
        }
    }
    district.start.can_phone = draw.chance(0.8);
    if (draw.chance(0.3)) {
        district.start.ready_in.reset();
    }
    if (draw.chance(0.5)) {
        district.settings.handover = 14min;
    }
    return district;
}

triage::Assessment random_assessment(Draw& draw) {
    std::vector<triage::Need> needs;
    const int count = draw.number(1, 5);
    constexpr std::array<Seconds, 7> limits{30min, 60min, 90min, 120min, 240min, 480min, 1440min};
    for (int index = 0; index < count; ++index) {
        CapabilitySet any_of = draw.some_kinds(0.15);
        any_of.insert(kinds[static_cast<std::size_t>(draw.number(0, 5))]);
        const auto within =
            draw.chance(0.95)
                ? std::optional{limits.at(static_cast<std::size_t>(draw.number(0, 6)))}
                : std::nullopt;
        needs.push_back(need(any_of, within, draw.chance(0.6)));
        needs.back().available_here = draw.chance(0.15);
    }
    auto assessment = assessment_of(std::move(needs));
    assessment.leave_now = draw.chance(0.5);
    return assessment;
}

std::vector<std::string> names(const facilities::FacilityRegister& facilities,
                               const std::vector<std::size_t>& places) {
    std::vector<std::string> all;
    for (const std::size_t place : places) {
        all.push_back(facilities.facilities()[place].id.value());
    }
    return all;
}

/// What the answers of the districts were made of, so that the comparison is known to have teeth.
struct Tally {
    int staged = 0;
    int late = 0;
    int calls = 0;
    int nowhere = 0;
};

void compare(SmallDistrict& district, const triage::Assessment& assessment, Tally& tally) {
    const auto facilities = district.facilities();
    const auto snaps = district.snaps();
    const auto answer = recommend(assessment, facilities, snaps, district.router, district.start,
                                  district.settings, ten);
    if (answer.outcome == Outcome::stay) {
        return;
    }
    const auto expected = brute_force::answer(
        {assessment, facilities, snaps, district.router, district.start, district.settings, ten});
    REQUIRE(answer.chosen.has_value() == expected.chosen.has_value());
    if (!answer.chosen) {
        ++tally.nowhere;
        return;
    }
    CHECK(places_of(*answer.chosen) == names(facilities, expected.chosen->places));
    CHECK(answer.chosen->lateness == doctest::Approx(expected.chosen->lateness));
    CHECK(answer.chosen->last_critical_after == expected.chosen->last_critical);
    CHECK(answer.chosen->last_need_after == expected.chosen->last_need);
    CHECK(answer.chosen->unmet.size() == expected.chosen->unmet);
    CHECK(answer.chosen->is_unconfirmed == !expected.chosen->doubtful.empty());
    CHECK(answer.call_first.empty() == expected.calls.empty());
    if (expected.if_declined) {
        REQUIRE_FALSE(answer.call_first.empty());
        CHECK(answer.call_first.front().if_declined ==
              facilities.facilities()[*expected.if_declined].id);
    }
    tally.staged += answer.chosen->stages.size() > 1 ? 1 : 0;
    tally.late += answer.outcome == Outcome::late ? 1 : 0;
    tally.calls += answer.call_first.empty() ? 0 : 1;
}

}  // namespace

TEST_CASE("The choice equals the one found by trying every place and every pair of stages") {
    Tally tally;
    for (int number = 0; number < districts; ++number) {
        const std::uint64_t own_seed = seed + static_cast<std::uint64_t>(number);
        CAPTURE(own_seed);
        Draw draw(own_seed);
        SmallDistrict district = random_district(draw);
        compare(district, random_assessment(draw), tally);
    }
    MESSAGE(districts << " districts: " << tally.staged << " staged, " << tally.late << " late, "
                      << tally.calls << " led by a call, " << tally.nowhere << " nowhere");
    CHECK(tally.staged > districts / 20);
    CHECK(tally.late > districts / 20);
    CHECK(tally.calls > districts / 20);
    CHECK(tally.nowhere > 0);
}

TEST_CASE(
    "Another place, or another kind of care at a place, never makes the best lateness worse") {
    // The chosen plan itself may be later by what the tolerances allow: a second stop that saves
    // less than a tenth over a new single place is not worth it, and near-equals count as equal.
    for (int number = 0; number < 250; ++number) {
        const std::uint64_t own_seed = seed + 100'000 + static_cast<std::uint64_t>(number);
        CAPTURE(own_seed);
        Draw draw(own_seed);
        SmallDistrict district = random_district(draw);
        const auto assessment = random_assessment(draw);
        const auto least = [&] {
            const auto facilities = district.facilities();
            const auto snaps = district.snaps();
            std::optional<std::pair<std::size_t, double>> best;
            for (const auto& trial :
                 brute_force::everything({assessment, facilities, snaps, district.router,
                                          district.start, district.settings, ten})) {
                const std::pair figures{trial.unmet_critical, trial.lateness};
                best = best ? std::min(*best, figures) : figures;
            }
            return best;
        };
        const auto before = least();
        const auto chosen_before = district.ask(assessment);
        add_place(draw, district, "new");
        district.way("new", draw.minutes(5, 180));
        const auto& [id, some] = *district.made.begin();
        for (const Capability kind : kinds) {
            const auto offers = [&, kind = kind](const facilities::Service& service) {
                return service.capability == kind;
            };
            auto& services = district.facility(id.value()).services;
            if (std::none_of(services.begin(), services.end(), offers)) {
                facilities::Service more;
                more.capability = kind;
                services.push_back(more);
            }
        }
        const auto after = least();
        const auto chosen_after = district.ask(assessment);
        if (before) {
            REQUIRE(after);
            CHECK(*after <= *before);
        }
        const bool is_by_plan =
            chosen_before.chosen && !chosen_before.chosen->is_unconfirmed && chosen_after.chosen &&
            !chosen_after.chosen->is_unconfirmed && chosen_before.call_first.empty() &&
            chosen_after.call_first.empty() &&
            !mentions(chosen_after.remarks, "referral.unconfirmed_would_be_better");
        if (is_by_plan && before->first == after->first) {
            CHECK(chosen_after.chosen->lateness <= chosen_before.chosen->lateness +
                                                       district.settings.second_stop_saves +
                                                       district.settings.lateness_tolerance + 1e-9);
        }
    }
}
