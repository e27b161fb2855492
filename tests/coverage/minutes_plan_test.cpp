#include "coverage/minutes_plan.hpp"

#include <doctest/doctest.h>

#include <random>

#include "tests/coverage/small_district.hpp"

using namespace waybourne;
using namespace waybourne::coverage;

namespace {

using Options = std::vector<std::uint32_t>;

/// Six villages, births and minutes to the sites A, B, C, D: our own numbers, worked by hand and by
/// trying every choice.
const std::vector<double> births{40, 30, 30, 25, 25, 10};
MinutesModel six_villages() {
    return minutes_from_nothing(minutes_table({{80, 30, 120, 150},
                                               {50, 45, 90, 140},
                                               {40, 70, 55, 100},
                                               {60, 95, 35, 80},
                                               {75, 110, 60, 65},
                                               {130, 160, 90, 20}}),
                                births);
}

/// Some places are there, some options are forced, costs differ, some ways are none.
MinutesModel random_model(std::mt19937& random) {
    const auto upto = [&](unsigned most) { return static_cast<int>(random() % (most + 1)); };
    const auto way = [&]() -> std::optional<double> {
        return upto(4) == 0 ? std::nullopt : std::optional<double>(upto(1700));
    };
    MinutesModel model;
    const int settlements = 1 + upto(9);
    const int options = 1 + upto(6);
    for (int i = 0; i < settlements; ++i) {
        model.births.push_back(upto(60));
        model.now.push_back(way());
    }
    for (int option = 0; option < options; ++option) {
        model.options.push_back({.cost = static_cast<double>(1 + upto(8))});
        model.with.emplace_back();
        for (int i = 0; i < settlements; ++i) {
            model.with.back().push_back(way());
        }
    }
    if (options > 2) {
        model.options[0].choice = static_cast<Choice>(upto(2));
        model.options[1].choice = upto(3) == 0 ? Choice::forced_out : Choice::free;
    }
    return model;
}

/// The least that any allowed choice has, by trying all.
template <typename Measure>
std::optional<double> least_of_all(const MinutesModel& model, const Limit& limit,
                                   const Measure& measure) {
    std::optional<double> least;
    for (unsigned mask = 0; mask < 1U << model.options.size(); ++mask) {
        Options chosen;
        double cost = 0;
        bool is_allowed = true;
        for (std::uint32_t option = 0; option < model.options.size(); ++option) {
            const bool is_in = (mask >> option & 1U) != 0;
            const Choice choice = model.options[option].choice;
            is_allowed =
                is_allowed && (is_in ? choice != Choice::forced_out : choice != Choice::forced_in);
            if (is_in) {
                chosen.push_back(option);
                cost += model.options[option].cost;
            }
        }
        if (is_allowed && (!limit.count || chosen.size() <= *limit.count) &&
            (!limit.budget || cost <= *limit.budget)) {
            const double minutes = measure(chosen);
            least = least ? std::min(*least, minutes) : minutes;
        }
    }
    return least;
}

}  // namespace

TEST_CASE("The least births times minutes, and the least greatest time, as worked by hand") {
    const MinutesModel model = six_villages();
    for (const auto& [count, minutes] : {std::pair(1U, 10'575), {2U, 7'475}, {3U, 6'775}}) {
        const MinutesPlan plan = least_minutes(model, {.count = count});
        CHECK(plan.minutes == doctest::Approx(minutes));
        CHECK(plan.at_least == doctest::Approx(minutes));
        CHECK(plan.is_proven());
    }
    CHECK(least_minutes(model, {.count = 3}).options == Options{1, 2, 3});
    for (const auto& [count, minutes] : {std::pair(1U, 120), {2U, 80}, {3U, 60}}) {
        const MinutesPlan plan = least_greatest_minutes(model, {.count = count});
        CHECK(plan.minutes == minutes);
        CHECK(plan.at_least == minutes);
    }
    CHECK(least_greatest_minutes(model, {.count = 1}).options == Options{2});
}

TEST_CASE("With what is there, costs and forced choices it is the best of all choices tried") {
    std::mt19937 random{31};
    MESSAGE("seed 31");
    for (int round = 0; round < 150; ++round) {
        CAPTURE(round);
        const MinutesModel model = random_model(random);
        Limit limit;
        if (round % 3 != 1) {
            limit.count = 1 + random() % 4;
        }
        if (round % 3 != 0) {
            limit.budget = static_cast<double>(9 + random() % 20);
        }
        const auto sum = [&](const Options& chosen) { return birth_minutes(model, chosen); };
        const auto worst = [&](const Options& chosen) { return greatest_minutes(model, chosen); };
        const MinutesPlan median = least_minutes(model, limit);
        CHECK(median.minutes == doctest::Approx(*least_of_all(model, limit, sum)));
        CHECK(median.minutes == doctest::Approx(sum(median.options)));
        CHECK(median.is_proven());
        const MinutesPlan centre = least_greatest_minutes(model, limit);
        CHECK(centre.minutes == doctest::Approx(*least_of_all(model, limit, worst)));
        CHECK(centre.minutes == doctest::Approx(worst(centre.options)));
        CHECK(centre.is_proven());
    }
}

TEST_CASE("Who would be reached by no plan is named, and does not hide everybody else's wait") {
    MinutesModel model;
    model.births = {10, 20, 5};
    model.now = {90, std::nullopt, std::nullopt};
    model.options.resize(1);
    model.with = {{30, 40, std::nullopt}};
    CHECK(beyond_any_plan(model) == Options{2});
    CHECK(greatest_minutes(model, {}) == minutes_of_a_day);  // the second counts as a day
    CHECK(least_greatest_minutes(model, {.count = 1}).minutes == 40);
    // 10 × 30 + 20 × 40 + 5 × a day
    CHECK(least_minutes(model, {.count = 1}).minutes == doctest::Approx(1100 + 5 * 1440));
    model.options[0].choice = Choice::forced_out;
    CHECK(beyond_any_plan(model) == Options{1, 2});
    CHECK(greatest_minutes(model, {}) == 90);
}

TEST_CASE("A limit of nothing, and a settlement that no place reaches, are refused") {
    CHECK_THROWS_AS(least_minutes(six_villages(), {.count = 0}), InputError);
    CHECK_THROWS_AS(least_greatest_minutes(six_villages(), {.budget = 0.0}), InputError);
    CHECK_THROWS_AS(least_greatest_minutes(six_villages(), {}), InputError);
    const std::vector<double> one{1};
    CHECK_THROWS_AS(minutes_from_nothing(minutes_table({{no_way}}), one), InputError);
}
