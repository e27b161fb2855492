#include "dispatch/tour.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <random>

#include "vocabulary/error.hpp"

namespace waybourne::dispatch {

namespace {

/// Random ways between women; some lead nowhere, some have a boat on the full hour.
struct RandomWays {
    std::size_t women;
    std::vector<std::optional<Instant>> first;
    std::vector<std::vector<std::optional<std::chrono::minutes>>> takes;
    std::vector<std::vector<bool>> has_boat;

    explicit RandomWays(unsigned seed) {
        std::mt19937 random{seed};
        women = 1 + random() % 6;
        for (std::size_t from = 0; from < women; ++from) {
            first.push_back(random() % 6 == 0 ? std::optional<Instant>{}
                                              : Instant{std::chrono::minutes{random() % 120}});
            takes.emplace_back();
            has_boat.emplace_back();
            for (std::size_t to = 0; to < women; ++to) {
                takes.back().push_back(random() % 6 == 0 ? std::optional<std::chrono::minutes>{}
                                                         : std::chrono::minutes{1 + random() % 90});
                has_boat.back().push_back(random() % 4 == 0);
            }
        }
    }
    std::optional<Instant> next(std::size_t from, std::size_t to, Instant at) const {
        if (!takes[from][to]) {
            return std::nullopt;
        }
        const Instant sails =
            has_boat[from][to]
                ? Instant{std::chrono::ceil<std::chrono::hours>(at.time_since_epoch())}
                : at;
        return sails + *takes[from][to];
    }
    /// In that order; none where it is not possible.
    std::optional<Instant> leaves(const std::vector<std::size_t>& order) const {
        std::optional<Instant> at = first[order.front()];
        for (std::size_t i = 1; at && i < order.size(); ++i) {
            at = next(order[i - 1], order[i], *at);
        }
        return at;
    }
};

}  // namespace

TEST_CASE("No other order of fetching them would leave sooner with all on board") {
    // Against every order of every set.
    constexpr unsigned trials = 400;
    std::size_t compared = 0;
    for (unsigned seed = 1; seed <= trials; ++seed) {
        CAPTURE(seed);
        const RandomWays ways(seed);
        const std::size_t most = 2 + seed % 4;
        std::map<std::pair<std::size_t, std::size_t>, Instant> soonest;  // by set and last
        for (std::size_t set = 1; set < std::size_t{1} << ways.women; ++set) {
            std::vector<std::size_t> order;
            for (std::size_t woman = 0; woman < ways.women; ++woman) {
                if ((set >> woman & 1) != 0) {
                    order.push_back(woman);
                }
            }
            if (order.size() < 2 || order.size() > most) {
                continue;
            }
            do {
                if (const auto at = ways.leaves(order)) {
                    const auto [known, is_new] = soonest.emplace(std::pair{set, order.back()}, *at);
                    known->second = std::min(known->second, *at);
                }
            } while (std::next_permutation(order.begin(), order.end()));
        }
        const auto tours = soonest_tours(
            ways.first,
            [&](std::size_t from, std::size_t to, Instant at) { return ways.next(from, to, at); },
            most);
        REQUIRE(tours.size() == soonest.size());
        auto expected = soonest.begin();
        for (const Tour& tour : tours) {
            std::size_t set = 0;
            for (const std::size_t woman : tour.order) {
                set |= std::size_t{1} << woman;
            }
            CHECK(expected->first == std::pair{set, tour.order.back()});
            CHECK(tour.leaves == expected->second);
            CHECK(ways.leaves(tour.order) == tour.leaves);  // and that order does it
            ++expected;
            ++compared;
        }
    }
    MESSAGE(compared << " tours compared");
    CHECK(compared > 1000);
}

TEST_CASE("Nobody makes no tour, one woman alone makes none, and too many are refused") {
    const auto never = [](std::size_t, std::size_t, Instant) { return std::optional<Instant>{}; };
    CHECK(soonest_tours({}, never, 4).empty());
    const std::vector<std::optional<Instant>> one{Instant{}};
    CHECK(soonest_tours(one, never, 4).empty());
    const std::vector<std::optional<Instant>> many(most_in_tours + 1, Instant{});
    CHECK_THROWS_AS(soonest_tours(many, never, 4), InputError);
}

}  // namespace waybourne::dispatch
