#include "coverage/location.hpp"

#include <doctest/doctest.h>

#include <atomic>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <map>
#include <random>
#include <thread>

#include "coverage/minutes_plan.hpp"
#include "tests/coverage/small_district.hpp"
#include "vocabulary/csv.hpp"

using namespace waybourne;
using namespace waybourne::coverage;

namespace {

using Options = std::vector<std::uint32_t>;
constexpr std::uint32_t site_a = 0;
constexpr std::uint32_t site_b = 1;
constexpr std::uint32_t site_c = 2;
constexpr std::uint32_t site_d = 3;

// Six villages and four sites; our own numbers, all worked by hand and by brute force.
const std::vector<double> births{40, 30, 30, 25, 25, 10};
const TravelTimes& dry() {
    static const TravelTimes times = minutes_table({{80, 30, 120, 150},
                                                    {50, 45, 90, 140},
                                                    {40, 70, 55, 100},
                                                    {60, 95, 35, 80},
                                                    {75, 110, 60, 65},
                                                    {130, 160, 90, 20}});
    return times;
}
const TravelTimes& wet() {
    static const TravelTimes times = minutes_table({{80, 30, 180, 220},
                                                    {50, 45, 140, 200},
                                                    {40, 100, 55, 150},
                                                    {90, 140, 35, 110},
                                                    {110, 160, 60, 100},
                                                    {200, 240, 150, 20}});
    return times;
}

Plan best(const LocationModel& model, std::size_t count) {
    Plan plan = exact_plan(model, {.count = count});
    CHECK(plan.is_proven());
    CHECK(value_of(model, plan.options) == doctest::Approx(plan.value));
    return plan;
}

/// Every set within the limit, one after the other.
double brute_force(const LocationModel& model, const Limit& limit) {
    double most = 0;
    for (std::uint32_t set = 0; set < 1U << model.options.size(); ++set) {
        Options chosen;
        double cost = 0;
        std::map<std::uint32_t, int> sites;
        bool is_allowed = true;
        for (std::uint32_t option = 0; option < model.options.size(); ++option) {
            const Option& one = model.options[option];
            const bool is_in = (set >> option & 1U) != 0;
            is_allowed = is_allowed && !(is_in && one.choice == Choice::forced_out) &&
                         !(!is_in && one.choice == Choice::forced_in);
            if (is_in) {
                chosen.push_back(option);
                cost += one.cost;
                is_allowed = is_allowed && !(one.site && ++sites[*one.site] > 1);
            }
        }
        if (is_allowed && (!limit.count || chosen.size() <= *limit.count) &&
            (!limit.budget || cost <= *limit.budget)) {
            most = std::max(most, value_of(model, chosen));
        }
    }
    return most;
}

/// The outside data's folder; none with a plain word where it is not there.
std::optional<std::string> planning_data(const char* folder) {
    const char* const data = std::getenv("WAYBOURNE_DATA");
    if (data != nullptr && std::filesystem::exists(std::string(data) + "/planning/" + folder)) {
        return std::string(data) + "/planning/" + folder;
    }
    CHECK_MESSAGE(std::getenv("CI") == nullptr, "WAYBOURNE_DATA must be set where CI is");
    MESSAGE("not run: WAYBOURNE_DATA does not hold planning/" << folder);
    return std::nullopt;
}

struct MedianInstance {
    TravelTimes times;
    std::size_t count = 0;
};

/// OR-Library's form: `n m p`, then edges; a repeated edge replaces the earlier one.
MedianInstance read_pmed(const std::string& path) {
    std::ifstream file(path);
    std::size_t nodes = 0;
    std::size_t edges = 0;
    MedianInstance made;
    file >> nodes >> edges >> made.count;
    constexpr int far = 1'000'000;
    std::vector<std::vector<int>> ways(nodes, std::vector<int>(nodes, far));
    for (std::size_t i = 0; i < edges; ++i) {
        std::size_t from = 0;
        std::size_t to = 0;
        int cost = 0;
        file >> from >> to >> cost;
        ways[from - 1][to - 1] = cost;
        ways[to - 1][from - 1] = cost;
    }
    for (std::size_t k = 0; k < nodes; ++k) {  // Floyd, Warshall
        ways[k][k] = 0;
        for (std::size_t i = 0; i < nodes; ++i) {
            for (std::size_t j = 0; j < nodes; ++j) {
                ways[i][j] = std::min(ways[i][j], ways[i][k] + ways[k][j]);
            }
        }
    }
    made.times = minutes_table(ways);
    return made;
}

}  // namespace

TEST_CASE("The most births within an hour by one, two and three sites, as worked by hand") {
    const LocationModel model = covering(dry(), births, 60min);
    CHECK(best(model, 1).value == 85);
    CHECK(best(model, 1).options == Options{site_a});
    CHECK(best(model, 2).value == 150);
    CHECK(best(model, 2).options == Options{site_b, site_c});
    CHECK(best(model, 3).value == 160);
    CHECK(best(model, 3).options == Options{site_b, site_c, site_d});
}

TEST_CASE("Site after site falls short: exchanges and the integer programme close the gap") {
    // greedy by hand: A 85, then B 125; exchanging A for C gives 150
    const LocationModel model = covering(dry(), births, 60min);
    CHECK(value_of(model, Options{site_a, site_b}) == 125);
    CHECK(quick_plan(model, {.count = 2}).value == 150);
    CHECK(quick_plan(model, {.count = 2}).bound >= 150);
}

TEST_CASE("The fewest sites that leave nobody beyond the hour are B, C and D") {
    std::vector<std::uint32_t> unserved;
    const Plan plan = cheapest_full_cover(covering(dry(), births, 60min), &unserved);
    CHECK(plan.options == Options{site_b, site_c, site_d});
    CHECK(plan.is_proven());
    CHECK(unserved.empty());
    SUBCASE("who can be served by nobody is named, not dropped") {
        cheapest_full_cover(covering(dry(), births, 30min), &unserved);
        CHECK(unserved == std::vector<std::uint32_t>{1, 2, 3, 4});
    }
}

TEST_CASE("A cover that fades from one hour to two, as worked by hand") {
    const LocationModel model = gradual_covering(dry(), births, 60min, 120min);
    CHECK(best(model, 1).value == doctest::Approx(130.4167).epsilon(1e-6));
    CHECK(best(model, 2).value == doctest::Approx(155));
    CHECK(best(model, 3).value == doctest::Approx(160));
}

TEST_CASE("A second cover counts half: A and C, as worked by hand") {
    const Plan plan = best(backup_covering(dry(), births, 60min, 0.5), 2);
    CHECK(plan.value == doctest::Approx(82.5));
    CHECK(plan.options == Options{site_a, site_c});
}

TEST_CASE("Vehicles that are busy four hours of ten, as worked by hand") {
    const LocationModel model = expected_covering(dry(), births, 60min, 0.4, 2);
    CHECK(best(model, 2).value == doctest::Approx(90));
    CHECK(best(model, 3).value == doctest::Approx(110.4));
    CHECK(best(model, 4).value == doctest::Approx(126));
    CHECK(best(model, 4).options == Options{site_b, site_b, site_c, site_c});
}

TEST_CASE("The plan for the worst season is not that for the dry one, as worked by hand") {
    // dry: A 85, C 80; wet: A 60, C 80
    const std::vector<LocationModel> seasons{covering(dry(), births, 60min),
                                             covering(wet(), births, 60min)};
    const Plan plan = robust_plan(seasons, {.count = 1});
    CHECK(plan.options == Options{site_c});
    CHECK(plan.value == doctest::Approx(80));
    CHECK(plan.is_proven());
}

TEST_CASE("Budgets, sites forced in or out and levels of one site: equal to trying every set") {
    std::mt19937 random{20261126};
    MESSAGE("seed 20261126");
    std::size_t compared = 0;
    for (int round = 0; round < 60; ++round) {
        LocationModel model;
        const std::size_t villages = 4 + random() % 8;
        for (std::size_t i = 0; i < villages; ++i) {
            model.births.push_back(1.0 + static_cast<double>(random() % 40));
        }
        for (std::uint32_t option = 0; option < 8; ++option) {
            Option made;
            made.cost = 1.0 + static_cast<double>(random() % 9);
            made.choice =
                option == 0 ? Choice::forced_in : (option == 1 ? Choice::forced_out : Choice::free);
            if (option >= 2 && option < 5) {
                made.site = 7;
            }
            model.options.push_back(made);
            model.serves.emplace_back();
            for (std::uint32_t i = 0; i < villages; ++i) {
                if (random() % 3 == 0) {
                    model.serves.back().push_back(
                        {i, round % 3 == 2 ? 0.1 * static_cast<double>(1 + random() % 10) : 1.0});
                }
            }
        }
        if (round % 3 == 1) {
            model.by_count = {0.6, 0.3};
        } else if (round % 3 == 2) {
            model.by_count.clear();
        }
        const Limit limit{.budget = 10.0 + static_cast<double>(random() % 15)};
        const double most = brute_force(model, limit);
        const Plan exact = exact_plan(model, limit);
        const Plan quick = quick_plan(model, limit);
        CHECK(exact.value == doctest::Approx(most));
        CHECK(exact.is_proven());
        CHECK(exact.cost <= *limit.budget + 1e-9);
        CHECK(quick.value <= most + 1e-9);
        CHECK(quick.bound >= most - 1e-9);
        ++compared;
    }
    std::cout << compared << " plans compared with every set there is\n";
}

TEST_CASE("Greedy choice keeps its guarantee, and no bound is below the optimum") {
    // 1 − 1/e, Nemhauser, Wolsey, Fisher 1978
    std::mt19937 random{5};
    MESSAGE("seed 5");
    for (int round = 0; round < 40; ++round) {
        std::vector<std::vector<int>> minutes(15, std::vector<int>(9));
        std::vector<double> weights;
        for (auto& row : minutes) {
            for (int& way : row) {
                way = static_cast<int>(random() % 200);
            }
            weights.push_back(static_cast<double>(random() % 50));
        }
        const LocationModel model = covering(minutes_table(minutes), weights, 45min);
        const Limit limit{.count = 1 + random() % 4};
        const double most = brute_force(model, limit);
        const Plan quick = quick_plan(model, limit);
        CHECK(quick.value >= (1 - std::exp(-1.0)) * most);
        CHECK(quick.bound >= most - 1e-9);
        CHECK(exact_plan(model, limit).value == doctest::Approx(most));
    }
}

TEST_CASE("Births gained rise with the budget") {
    LocationModel model = covering(dry(), births, 60min);
    model.options = {{.cost = 5}, {.cost = 3}, {.cost = 4}, {.cost = 1}};
    const auto plans = cost_curve(model, std::vector<double>{1, 3, 5, 8, 20}, 10s);
    REQUIRE(plans.size() == 5);
    // by hand: D; B; B and D (or A); B, C and D; the same
    const std::vector<double> expected{10, 70, 90, 160, 160};
    for (std::size_t i = 0; i < plans.size(); ++i) {
        CAPTURE(i);
        CHECK(plans[i].value == doctest::Approx(expected[i]));
    }
}

TEST_CASE("OR-Library: the exact answers are the published optima") {
    // J.E. Beasley, EJOR 21 (1985) 270-273: pmed1 5819 and pmed2 4093; centres 127 and 98
    const auto folder = planning_data("pmed");
    if (!folder) {
        return;
    }
    for (const auto& [name, median, centre] :
         {std::tuple("pmed1", 5819, 127), std::tuple("pmed2", 4093, 98)}) {
        const std::string file = name;
        CAPTURE(file);
        const MedianInstance instance = read_pmed(*folder + "/" + file + ".txt");
        const std::vector<double> ones(instance.times.settlements(), 1);
        const MinutesModel minutes = minutes_from_nothing(instance.times, ones);
        const MinutesPlan plan = least_minutes(minutes, {.count = instance.count}, 120s);
        CHECK(plan.minutes == doctest::Approx(median));
        CHECK(plan.is_proven());
        const MinutesPlan worst = least_greatest_minutes(minutes, {.count = instance.count}, 120s);
        CHECK(worst.minutes == centre);
        CHECK(worst.is_proven());
    }
}

TEST_CASE("San Francisco: 205 tracts and 16 sites, as an open library's tests assert") {
    const auto folder = planning_data("sf205");
    if (!folder) {
        return;
    }
    std::ifstream file(*folder + "/SF_network_distance_candidateStore_16_censusTract_205_new.csv");
    const std::string text((std::istreambuf_iterator<char>(file)), {});
    std::map<std::string, std::uint32_t> stores;
    std::map<std::string, std::uint32_t> tracts;
    std::vector<std::tuple<std::uint32_t, std::uint32_t, double>> ways;
    std::map<std::uint32_t, double> demand;
    for (const CsvRow& row : read_csv(text)) {
        if (row.line == 1) {
            continue;
        }
        const auto store =
            stores.emplace(row.values[1], static_cast<std::uint32_t>(stores.size())).first->second;
        const auto tract =
            tracts.emplace(row.values[2], static_cast<std::uint32_t>(tracts.size())).first->second;
        ways.emplace_back(tract, store, std::stod(row.values[0]));
        demand[tract] = std::stod(row.values[3]);
    }
    REQUIRE(tracts.size() == 205);
    REQUIRE(stores.size() == 16);
    TravelTimes times(205, 16);
    for (const auto& [tract, store, metres] : ways) {
        const Seconds time{std::lround(metres * 60)};  // a metre is a minute
        times.set(tract, store, routing::TravelTime{time, time});
    }
    std::vector<double> weights;
    double people = 0;
    for (const auto& [tract, one] : demand) {
        weights.push_back(one);
        people += one;
    }
    CHECK(least_minutes(minutes_from_nothing(times, weights), {.count = 4}).minutes / people ==
          doctest::Approx(2982.1268578890657).epsilon(1e-5));
    const std::vector<double> ones(205, 1);
    // the most people within 5,000 m: 184 tracts, 21 are left
    const Plan plan = best(covering(times, weights, std::chrono::minutes(5000)), 4);
    CHECK(value_of(covering(times, ones, std::chrono::minutes(5000)), plan.options) == 184);
    CHECK(cheapest_full_cover(covering(times, ones, std::chrono::minutes(5000))).options.size() ==
          8);
}

TEST_CASE(
    "Two plans worked out at the same time are both right, and neither waits for a keyboard") {
    // CBC keeps the place in its parameters in variables of the whole process: two threads at once
    // lost it, and read the next parameter from the standard input, for ever.
    const LocationModel model = covering(dry(), births, 60min);
    const auto work = [&](std::atomic<int>& right) {
        for (int round = 0; round < 60; ++round) {
            const std::vector<LocationModel> seasons{model, covering(wet(), births, 60min)};
            right += robust_plan(seasons, {.count = 2}).options.size() == 2 ? 1 : 0;
        }
    };
    std::atomic<int> first{0};
    std::atomic<int> second{0};
    std::thread other([&] { work(second); });
    work(first);
    other.join();
    CHECK(first == 60);
    CHECK(second == 60);
}

TEST_CASE("A budget of nothing, negative costs and counts that cannot be are refused") {
    LocationModel model = covering(dry(), births, 60min);
    CHECK_THROWS_AS(quick_plan(model, {.count = 0}), InputError);
    CHECK_THROWS_AS(quick_plan(model, {.budget = 0.0}), InputError);
    CHECK_THROWS_AS(quick_plan(model, {.budget = -5.0}), InputError);
    CHECK_THROWS_AS(quick_plan(model, {}), InputError);
    CHECK_THROWS_AS(covering(dry(), std::vector<double>{1}, 60min), InputError);
    CHECK_THROWS_AS(gradual_covering(dry(), births, 60min, 60min), InputError);
    model.options[0].choice = Choice::forced_in;
    model.options[1].choice = Choice::forced_in;
    CHECK_THROWS_AS(exact_plan(model, {.count = 1}), InputError);
    model.options[1].cost = -1;
    CHECK_THROWS_AS(exact_plan(model, {.count = 3}), InputError);
}
