#include "referral/merge.hpp"

#include <doctest/doctest.h>

#include <random>

#include "tests/referral/told.hpp"

using namespace waybourne;
using namespace waybourne::referral;
using K = EventKind;
using Kinds = std::vector<EventKind>;

namespace {

const ReferralId by_page{"by-page"};
const ReferralId by_text{"by-text"};
const ReferralId by_telephone{"by-telephone"};

ReportedCase reported(const ReferralId& id, Channel channel, Seconds later) {
    return {id, channel, clinic, opening_time + later};
}

ReportedCase with(ReportedCase report, const std::string& field, triage::FindingValue value) {
    report.findings.values[field] = std::move(value);
    return report;
}

Event decision(K kind, const ReferralId& about, int minutes, const std::string& id) {
    Event event = told(kind, minutes, id);
    event.other = about;
    return event;
}

ReferralEvents opened_referral(const ReferralId& id, int opened_at) {
    return {id, {told(K::opened, opened_at, "opened-" + id.value())}};
}

std::vector<MergeOffer> offers(const std::vector<ReportedCase>& reports) {
    return merge_offers(reports, Cases{});
}

}  // namespace

TEST_CASE("The same woman by page, text and telephone is offered as one case, closest first") {
    const auto found = offers({reported(by_page, Channel::page, 0min),
                               reported(by_telephone, Channel::telephone, 30min),
                               reported(by_text, Channel::text, 10min)});
    REQUIRE(found.size() == 3);
    CHECK(found[0].first == by_page);
    CHECK(found[0].second == by_text);
    CHECK(found[0].apart == 10min);
    CHECK(found[0].reasons[1] == Message{"referral.merge.minutes_apart", {{"minutes", "10"}}});
    CHECK(found[1].second == by_telephone);
    CHECK(found[1].apart == 20min);
    CHECK(found[2].apart == 30min);
}

TEST_CASE("Only what can be the same woman is offered") {
    const auto first = reported(by_page, Channel::page, 0min);
    const auto second = reported(by_text, Channel::text, 10min);
    SUBCASE("another sender: no") {
        auto elsewhere = second;
        elsewhere.sender = mission;
        CHECK(offers({first, elsewhere}).empty());
    }
    SUBCASE("two hours apart yes, a second more no (MergeSettings, a proposal)") {
        CHECK(offers({first, reported(by_text, Channel::text, 2h)}).size() == 1);
        CHECK(offers({first, reported(by_text, Channel::text, 2h + 1s)}).empty());
    }
    SUBCASE("weeks are estimates: two apart yes, three no") {
        const auto at_34 = with(first, "gestation_weeks", 34.0);
        CHECK(offers({at_34, with(second, "gestation_weeks", 36.0)}).size() == 1);
        CHECK(offers({at_34, with(second, "gestation_weeks", 37.0)}).empty());
    }
    SUBCASE("unknown contradicts nothing") {
        CHECK(offers({with(first, "gestation_weeks", 34.0), second}).size() == 1);
        CHECK(offers({with(first, "age_years", 19.0),
                      with(second, "age_years", triage::Answer::unknown)})
                  .size() == 1);
    }
    SUBCASE("in labour first and after birth then is the same woman; the other way round is not") {
        const auto labour = [](const ReportedCase& report) {
            return with(report, "status", std::string{"in_labour"});
        };
        const auto birth = [](const ReportedCase& report) {
            return with(report, "status", std::string{"postpartum"});
        };
        CHECK(offers({labour(first), birth(second)}).size() == 1);
        CHECK(offers({birth(first), labour(second)}).empty());
        CHECK(offers({with(first, "status", std::string{"post_abortion"}), birth(second)}).empty());
    }
    SUBCASE("other ages: no") {
        CHECK(offers({with(first, "age_years", 19.0), with(second, "age_years", 31.0)}).empty());
    }
}

TEST_CASE("Merging is a decision of a person, and can be turned round") {
    auto page = opened_referral(by_page, 0);
    auto text = opened_referral(by_text, 10);
    const std::vector reports{reported(by_page, Channel::page, 0min),
                              reported(by_text, Channel::text, 10min)};
    SUBCASE("nothing is merged silently") {
        const Cases cases = cases_of(std::vector{page, text});
        CHECK_FALSE(cases.are_one(by_page, by_text));
        CHECK(merge_offers(reports, cases).size() == 1);
    }
    text.events.push_back(decision(K::merged, by_page, 20, "m1"));
    Cases cases = cases_of(std::vector{page, text});
    CHECK(cases.are_one(by_page, by_text));
    CHECK(cases.cases == std::vector<std::vector<ReferralId>>{{by_page, by_text}});
    CHECK(merge_offers(reports, cases).empty());
    SUBCASE("unmerged from the other side, and not asked again") {
        page.events.push_back(decision(K::unmerged, by_text, 30, "m2"));
        cases = cases_of(std::vector{page, text});
        CHECK_FALSE(cases.are_one(by_page, by_text));
        CHECK(cases.told_apart == std::vector<Pair>{pair_of(by_text, by_page)});
        CHECK(merge_offers(reports, cases).empty());
        text.events.push_back(decision(K::merged, by_page, 40, "m3"));
        CHECK(cases_of(std::vector{page, text}).are_one(by_page, by_text));
    }
    SUBCASE("a decision withdrawn is as if it had never been: asked again") {
        text.events.push_back(correcting(told(K::withdrawn, 30), text.events.back()));
        CHECK(merge_offers(reports, cases_of(std::vector{page, text})).size() == 1);
    }
    SUBCASE("a referral is never merged with itself, nor with one that is not there") {
        page.events.push_back(decision(K::merged, by_page, 30, "m2"));
        page.events.push_back(decision(K::merged, ReferralId{"nowhere"}, 30, "m3"));
        CHECK(cases_of(std::vector{page, text}).cases.size() == 1);
    }
}

TEST_CASE("One case has one life, opened by the first; unmerging gives back what was") {
    auto page = opened_referral(by_page, 0);
    auto text = opened_referral(by_text, 10);
    page.events.push_back(told(K::informed, 12));
    text.events.push_back(told(K::departed, 15));
    const Life before = life_of(page.events);
    const Life both = life_of_case(std::vector{page, text});
    CHECK(both.state() == State::departed);
    CHECK(both.reply == Reply::informed);
    CHECK(both.flags.empty());
    CHECK(both.last(K::opened) == opening_time);
    CHECK(life_of(page.events) == before);
    CHECK(life_of_case(std::vector{page}) == before);
    SUBCASE("corrections count within the one life too") {
        text.events.push_back(correcting(told(K::departed, 18, "later"), text.events.back()));
        CHECK(life_of_case(std::vector{page, text}).last(K::departed) == opening_time + 18min);
    }
}

TEST_CASE("Three reports, of which two were told apart, are shown to be looked at") {
    auto page = opened_referral(by_page, 0);
    auto text = opened_referral(by_text, 10);
    auto telephone = opened_referral(by_telephone, 20);
    text.events.push_back(decision(K::merged, by_page, 30, "m1"));
    telephone.events.push_back(decision(K::merged, by_text, 31, "m2"));
    CHECK(cases_of(std::vector{page, text, telephone}).contradictory.empty());
    page.events.push_back(decision(K::unmerged, by_telephone, 32, "m3"));
    const Cases cases = cases_of(std::vector{page, text, telephone});
    CHECK(cases.cases.size() == 1);
    CHECK(cases.cases[0].front() == by_page);
    CHECK(cases.contradictory == std::vector<Pair>{pair_of(by_page, by_telephone)});
}

TEST_CASE("Random decisions give the same cases in every order, and the same as a plain search") {
    std::mt19937 random{11};
    MESSAGE("seed 11");
    for (int round = 0; round < 60; ++round) {
        constexpr std::size_t count = 6;
        std::vector<ReferralEvents> referrals;
        for (std::size_t at = 0; at < count; ++at) {
            referrals.push_back(opened_referral(ReferralId{"r" + std::to_string(at)},
                                                static_cast<int>(random() % 9)));
        }
        bool joined[count][count] = {};
        for (int at = 0; at < 12; ++at) {
            const std::size_t one = random() % count;
            const std::size_t other = random() % count;
            if (one == other) {
                continue;
            }
            const bool are_one = random() % 2 == 0;
            referrals[one].events.push_back(decision(are_one ? K::merged : K::unmerged,
                                                     referrals[other].referral, 20 + at,
                                                     "m" + std::to_string(at)));
            joined[one][other] = joined[other][one] = are_one;
        }
        // Who can be reached from whom (Warshall's closure, the plain way).
        for (std::size_t by = 0; by < count; ++by) {
            for (auto& from : joined) {
                for (std::size_t to = 0; to < count; ++to) {
                    from[to] = from[to] || (from[by] && joined[by][to]);
                }
            }
        }
        const Cases cases = cases_of(referrals);
        for (std::size_t from = 0; from < count; ++from) {
            for (std::size_t to = 0; to < count; ++to) {
                REQUIRE(cases.are_one(referrals[from].referral, referrals[to].referral) ==
                        (from == to || joined[from][to]));
            }
        }
        for (ReferralEvents& shuffled : referrals) {
            std::shuffle(shuffled.events.begin(), shuffled.events.end(), random);
        }
        std::shuffle(referrals.begin(), referrals.end(), random);
        REQUIRE(cases_of(referrals).cases == cases.cases);
        REQUIRE(cases_of(referrals).contradictory == cases.contradictory);
    }
}
