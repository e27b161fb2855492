#include "dispatch/assignment.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <numeric>
#include <random>

#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

namespace {

/// Minutes as costs that are never late.
Cost in_minutes(int minutes) {
    return cost_of(0, std::chrono::minutes{minutes});
}

/// Minutes until care against a deadline: lateness is the share that she is late.
Cost with_deadline(int minutes, int allowed) {
    return cost_of(std::max(0.0, static_cast<double>(minutes - allowed) / allowed),
                   std::chrono::minutes{minutes});
}

std::optional<Cost> cheapest(const AssignmentProblem& problem, std::vector<bool> served,
                             std::vector<bool> used, std::size_t changes_left) {
    const auto next = std::find(served.begin(), served.end(), false);
    if (next == served.end()) {
        return 0;
    }
    const auto woman = static_cast<std::size_t>(next - served.begin());
    std::vector<bool> promised(problem.women, false);
    for (const TransportOption& option : problem.options) {
        for (const std::size_t carried : option.women) {
            promised[carried] = promised[carried] || option.is_promised;
        }
    }
    std::optional<Cost> best;
    for (const TransportOption& option : problem.options) {
        bool fits =
            std::find(option.women.begin(), option.women.end(), woman) != option.women.end();
        std::size_t changes = 0;
        for (const std::size_t carried : option.women) {
            fits = fits && !served[carried];
            changes += !option.is_promised && promised[carried] ? 1 : 0;
        }
        for (const std::size_t vehicle : option.vehicles) {
            fits = fits && !used[vehicle];
        }
        if (!fits || changes > changes_left) {
            continue;
        }
        auto served_then = served;
        auto used_then = used;
        for (const std::size_t carried : option.women) {
            served_then[carried] = true;
        }
        for (const std::size_t vehicle : option.vehicles) {
            used_then[vehicle] = true;
        }
        const auto rest = cheapest(problem, served_then, used_then, changes_left - changes);
        if (rest && (!best || *rest + option.cost < *best)) {
            best = *rest + option.cost;
        }
    }
    return best;
}

/// Every plan there is, tried one by one.
std::optional<Cost> by_exhaustion(const AssignmentProblem& problem) {
    return cheapest(problem, std::vector<bool>(problem.women, false),
                    std::vector<bool>(problem.vehicles, false),
                    problem.most_changed_promises.value_or(problem.women));
}

class RandomProblems {
public:
    explicit RandomProblems(unsigned seed) : random_(seed) {}
    int below(int bound) { return static_cast<int>(random_() % static_cast<unsigned>(bound)); }

    AssignmentProblem one(bool with_several) {
        AssignmentProblem problem;
        problem.women = 1 + static_cast<std::size_t>(below(5));
        problem.vehicles = static_cast<std::size_t>(below(6));
        for (std::size_t woman = 0; woman < problem.women; ++woman) {
            const int allowed = 30 + below(120);
            problem.options.push_back({{woman}, {}, with_deadline(60 + below(400), allowed)});
            for (std::size_t vehicle = 0; vehicle < problem.vehicles; ++vehicle) {
                if (below(4) > 0) {
                    problem.options.push_back(
                        {{woman}, {vehicle}, with_deadline(20 + below(200), allowed)});
                }
            }
        }
        for (int more = with_several ? below(5) : 0; more > 0 && problem.vehicles > 1; --more) {
            add_several(problem);
        }
        return problem;
    }

private:
    void add_several(AssignmentProblem& problem) {
        const auto vehicle = static_cast<std::size_t>(below(static_cast<int>(problem.vehicles)));
        const auto woman = static_cast<std::size_t>(below(static_cast<int>(problem.women)));
        if (below(2) == 0) {
            const std::size_t other = (vehicle + 1) % problem.vehicles;
            problem.options.push_back({{woman}, {vehicle, other}, in_minutes(20 + below(150))});
        } else if (problem.women > 1) {
            const std::size_t other = (woman + 1) % problem.women;
            problem.options.push_back({{woman, other}, {vehicle}, in_minutes(60 + below(300))});
        }
    }
    std::mt19937 random_;
};

/// Women, vehicles and the hospital on a plane of 120 by 120 minutes, driven along two axes; two
/// ride together where both are in time so. The seed gives the same problem on every machine.
AssignmentProblem on_a_plane(unsigned seed, std::size_t women, std::size_t vehicles) {
    struct Spot {
        int east = 60;
        int north = 60;
    };
    std::mt19937 random{seed};
    const auto below = [&](int bound) {
        return static_cast<int>(random() % static_cast<unsigned>(bound));
    };
    const auto spots = [&](std::size_t count) {
        std::vector<Spot> made(count);
        for (Spot& spot : made) {
            spot.east = below(120);
            spot.north = below(120);
        }
        return made;
    };
    const auto drive = [](const Spot& from, const Spot& to) {
        return std::abs(from.east - to.east) + std::abs(from.north - to.north);
    };
    const Spot hospital;
    const auto wait_at = spots(women);
    const auto stand_at = spots(vehicles);
    std::vector<int> allowed(women);
    for (int& minutes : allowed) {
        minutes = 30 + below(150);
    }
    AssignmentProblem problem{women, vehicles, {}, {}};
    for (std::size_t one = 0; one < women; ++one) {
        problem.options.push_back({{one}, {}, with_deadline(allowed[one] + 2000, allowed[one])});
        for (std::size_t vehicle = 0; vehicle < vehicles; ++vehicle) {
            const int to_her = drive(stand_at[vehicle], wait_at[one]);
            const int alone = to_her + drive(wait_at[one], hospital);
            problem.options.push_back({{one}, {vehicle}, with_deadline(alone, allowed[one])});
            for (std::size_t other = 0; other < women; ++other) {
                const int both =
                    to_her + drive(wait_at[one], wait_at[other]) + drive(wait_at[other], hospital);
                if (other != one && both <= std::min(allowed[one], allowed[other])) {
                    problem.options.push_back({{one, other}, {vehicle}, 2 * in_minutes(both)});
                }
            }
        }
    }
    return problem;
}

}  // namespace

TEST_CASE("Equal sums are told apart by who would be late") {
    // Worked by hand: minutes to care of three women by three vehicles; first-come-nearest leaves
    // the second late at the same sum of 260 minutes; the best plan leaves nobody late.
    const int minutes[3][3] = {{70, 95, 110}, {60, 130, 100}, {85, 90, 150}};
    const int allowed[3] = {120, 90, 120};
    AssignmentProblem problem{3, 3, {}, {}};
    for (std::size_t woman = 0; woman < 3; ++woman) {
        problem.options.push_back({{woman}, {}, with_deadline(1000, allowed[woman])});
        for (std::size_t vehicle = 0; vehicle < 3; ++vehicle) {
            problem.options.push_back(
                {{woman}, {vehicle}, with_deadline(minutes[woman][vehicle], allowed[woman])});
        }
    }
    for (const AssignmentPlan& plan : {*assign_exactly(problem), assign_many(problem)}) {
        CHECK(lateness_in(plan.cost) == 0);
        CHECK(seconds_in(plan.cost) == 260min);
        CHECK(plan.is_optimal);
        CHECK(plan.chosen == std::vector<std::size_t>{3, 5, 10});  // r1-v3, r2-v1, r3-v2
    }
}

TEST_CASE("No plan of a small district is better than the one found") {
    constexpr unsigned trials = 4000;
    for (unsigned seed = 1; seed <= trials; ++seed) {
        CAPTURE(seed);
        const auto problem = RandomProblems(seed).one(true);
        REQUIRE(assign_exactly(problem)->cost == *by_exhaustion(problem));
    }
    MESSAGE(trials << " districts of at most five women and five vehicles, every plan tried");
}

TEST_CASE("The plan for many equals the exact one where each vehicle carries one woman") {
    for (unsigned seed = 1; seed <= 2000; ++seed) {
        CAPTURE(seed);
        const auto single = RandomProblems(seed).one(false);
        REQUIRE(assign_many(single).cost == assign_exactly(single)->cost);
        const auto several = RandomProblems(seed).one(true);
        REQUIRE(assign_many(several).cost >= assign_exactly(several)->cost);
    }
}

TEST_CASE("Where women ride together the plan for many stays near the best one") {
    // At most eight women, so that the best plan is known. Rides together taken by the greatest
    // saving and never given up leave 86 of these 300 worse. The bounds are our own.
    Cost best_of_all = 0;
    Cost found_of_all = 0;
    int worse = 0;
    constexpr int trials = 300;
    for (unsigned seed = 1; seed <= trials; ++seed) {
        CAPTURE(seed);
        const auto problem = on_a_plane(seed, 5 + seed % 4, 2 + seed % 4);
        const auto best = assign_exactly(problem);
        REQUIRE(best);
        const Cost found = assign_many(problem).cost;
        REQUIRE(found >= best->cost);
        best_of_all += best->cost;
        found_of_all += found;
        worse += found > best->cost ? 1 : 0;
    }
    MESSAGE(worse << " of " << trials << " plans are not the best; lateness "
                  << lateness_in(found_of_all) << " against " << lateness_in(best_of_all));
    CHECK(worse <= trials * 2 / 100);
    CHECK(lateness_in(found_of_all) <= 1.01 * lateness_in(best_of_all));
}

TEST_CASE(
    "Deciding otherwise never costs less than nothing, also where no plan is proven the best") {
    // Sixteen women and eight vehicles: too many for the exact search.
    int unproven = 0;
    for (unsigned seed = 1; seed <= 6; ++seed) {
        CAPTURE(seed);
        const auto problem = on_a_plane(seed, 16, 8);
        const auto plan = assign(problem);
        unproven += plan.is_optimal ? 0 : 1;
        for (std::size_t option = seed; option < problem.options.size(); option += 29) {
            CAPTURE(option);
            const Override forced = with_forced(problem, option);
            REQUIRE(forced.costs_more >= 0);
            REQUIRE(std::count(forced.plan.chosen.begin(), forced.plan.chosen.end(), option) == 1);
        }
    }
    CHECK(unproven > 0);
}

TEST_CASE("The plan for many holds the limit on changed promises where women ride together") {
    for (unsigned seed = 1; seed <= 20; ++seed) {
        CAPTURE(seed);
        auto problem = on_a_plane(seed, 14, 6);
        const auto before = assign_many(problem);
        for (const std::size_t option : before.chosen) {
            problem.options[option].is_promised = true;
        }
        std::mt19937 random{seed};
        for (TransportOption& option : problem.options) {
            option.cost += in_minutes(static_cast<int>(random() % 60));
        }
        problem.most_changed_promises = seed % 3;
        REQUIRE(assign_many(problem).changed_promises <= *problem.most_changed_promises);
    }
}

TEST_CASE("One more vehicle never makes the plan worse, and a closure never better") {
    for (unsigned seed = 1; seed <= 1000; ++seed) {
        CAPTURE(seed);
        RandomProblems random(seed);
        const auto problem = random.one(true);
        const Cost before = assign_exactly(problem)->cost;
        auto more = problem;
        ++more.vehicles;
        for (std::size_t woman = 0; woman < problem.women; ++woman) {
            more.options.push_back({{woman}, {problem.vehicles}, in_minutes(random.below(300))});
        }
        REQUIRE(assign_exactly(more)->cost <= before);
        auto closed = problem;  // a way is gone, or takes longer
        for (TransportOption& option : closed.options) {
            option.cost += random.below(3) == 0 ? in_minutes(random.below(60)) : 0;
        }
        std::erase_if(closed.options, [&](const TransportOption& option) {
            return !option.vehicles.empty() && random.below(5) == 0;
        });
        REQUIRE(assign_exactly(closed)->cost >= before);
    }
}

TEST_CASE("No more promises are changed than are allowed, and within that the plan is the best") {
    int held_back = 0;
    for (unsigned seed = 1; seed <= 1000; ++seed) {
        CAPTURE(seed);
        RandomProblems random(seed);
        auto problem = random.one(true);
        // What is promised: the plan of roads that have changed since.
        const auto promised = *assign_exactly(problem);
        for (const std::size_t option : promised.chosen) {
            problem.options[option].is_promised = true;
        }
        for (TransportOption& option : problem.options) {
            option.cost += in_minutes(random.below(90));
        }
        const Cost free = assign_exactly(problem)->cost;
        problem.most_changed_promises = static_cast<std::size_t>(random.below(3));
        const auto plan = *assign_exactly(problem);
        REQUIRE(plan.changed_promises <= *problem.most_changed_promises);
        REQUIRE(plan.cost == *by_exhaustion(problem));
        REQUIRE(assign_many(problem).changed_promises <= *problem.most_changed_promises);
        held_back += plan.cost > free ? 1 : 0;
    }
    MESSAGE(held_back << " plans were held back by a promise");
    CHECK(held_back > 20);
}

TEST_CASE("A promise that nobody can keep any more is not counted as changed") {
    AssignmentProblem problem{1, 1, {{{0}, {}, in_minutes(90)}, {{0}, {0}, in_minutes(40)}}, 0};
    CHECK(assign(problem).chosen == std::vector<std::size_t>{1});
    problem.options[0].is_promised = true;
    CHECK(assign(problem).chosen == std::vector<std::size_t>{0});
}

TEST_CASE("A dispatcher may decide otherwise and sees what it costs") {
    AssignmentProblem problem{2,
                              1,
                              {{{0}, {}, in_minutes(90)},
                               {{0}, {0}, in_minutes(40)},
                               {{1}, {}, in_minutes(60)},
                               {{1}, {0}, in_minutes(50)}},
                              {}};
    CHECK(assign(problem).chosen == std::vector<std::size_t>{1, 2});  // 40 + 60
    const Override forced = with_forced(problem, 3);                  // 90 + 50
    CHECK(forced.plan.chosen == std::vector<std::size_t>{0, 3});
    CHECK(seconds_in(forced.costs_more) == 40min);
    CHECK(with_forced(problem, 1).costs_more == 0);
    CHECK_THROWS_AS(with_forced(problem, 9), InputError);
    for (unsigned seed = 1; seed <= 300; ++seed) {
        CAPTURE(seed);
        RandomProblems random(seed);
        const auto other = random.one(true);
        const auto option =
            static_cast<std::size_t>(random.below(static_cast<int>(other.options.size())));
        REQUIRE(with_forced(other, option).costs_more >= 0);
    }
}

TEST_CASE("An option for who does not exist is refused, and so is a woman without any") {
    CHECK_THROWS_AS(check({1, 0, {{{0}, {0}, 0}}, {}}), InputError);
    CHECK_THROWS_AS(check({1, 1, {{{0}, {0}, 0}}, {}}), InputError);
    CHECK_THROWS_AS(check({1, 1, {{{0}, {}, 0}, {{0, 0}, {0}, 0}}, {}}), InputError);
    CHECK_NOTHROW(check({0, 0, {}, {}}));
}

TEST_CASE("A hundred assignments of the published instance cost 305 by flow") {
    // Beasley, OR-Library (J. Operational Research Society 41, 1990, 1069-1072), file assign100,
    // optimum 305 as its list of optima says.
    const char* const data = std::getenv("WAYBOURNE_DATA");
    std::ifstream file{std::string{data == nullptr ? "" : data} + "/planning/assign/assign100.txt"};
    if (!file) {
        MESSAGE("not compared with assign100: WAYBOURNE_DATA does not hold it");
        CHECK(std::getenv("CI") == nullptr);
        return;
    }
    std::size_t size = 0;
    file >> size;
    REQUIRE(size == 100);
    AssignmentProblem problem{size, size, {}, {}};
    for (std::size_t row = 0; row < size; ++row) {
        for (std::size_t column = 0; column < size; ++column) {
            Cost cost = 0;
            file >> cost;
            problem.options.push_back({{row}, {column}, cost});
        }
        problem.options.push_back({{row}, {}, 1'000'000});
    }
    REQUIRE(file);
    CHECK(assign_many(problem).cost == 305);
    const AssignmentPlan plan = assign(problem);
    CHECK(plan.cost == 305);
    CHECK(plan.is_optimal);
}

}  // namespace waybourne::dispatch
