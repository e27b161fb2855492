#include "coverage/room_plan.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "vocabulary/error.hpp"

using namespace waybourne;
using namespace waybourne::coverage;

namespace {

using Options = std::vector<std::uint32_t>;

/// How many of so many women, one by one, find room: augmenting paths (Ford, Fulkerson, Canadian J.
/// Math. 8, 1956), since every number is whole.
class Seats {
public:
    Seats(const RoomModel& model, const Options& options) : model_(model), rooms_(model.there) {
        for (const std::uint32_t option : options) {
            rooms_.push_back(model.with[option]);
        }
        taken_.resize(rooms_.size());
    }
    int seated() {
        int count = 0;
        for (std::uint32_t settlement = 0; settlement < model_.births.size(); ++settlement) {
            for (int woman = 0; woman < static_cast<int>(model_.births[settlement]); ++woman) {
                std::vector<bool> seen(rooms_.size());
                count += seat(settlement, seen) ? 1 : 0;
            }
        }
        return count;
    }

private:
    bool seat(std::uint32_t settlement, std::vector<bool>& seen) {
        for (std::size_t room = 0; room < rooms_.size(); ++room) {
            const auto& near = rooms_[room].in_time;
            if (seen[room] || std::find(near.begin(), near.end(), settlement) == near.end()) {
                continue;
            }
            seen[room] = true;
            if (!rooms_[room].births ||
                static_cast<double>(taken_[room].size()) < *rooms_[room].births) {
                taken_[room].push_back(settlement);
                return true;
            }
            for (std::uint32_t& sits : taken_[room]) {
                if (seat(sits, seen)) {
                    sits = settlement;
                    return true;
                }
            }
        }
        return false;
    }

    const RoomModel& model_;
    std::vector<Room> rooms_;
    std::vector<std::vector<std::uint32_t>> taken_;
};

RoomModel random_model(std::mt19937& random) {
    const auto upto = [&](unsigned most) { return static_cast<int>(random() % (most + 1)); };
    RoomModel model;
    for (int i = 0; i < 6; ++i) {
        model.births.push_back(upto(6));
    }
    const auto room = [&] {
        Room made;
        if (upto(4) > 0) {
            made.births = upto(9);
        }
        for (std::uint32_t i = 0; i < 6; ++i) {
            if (upto(2) == 0) {
                made.in_time.push_back(i);
            }
        }
        return made;
    };
    model.there = {room(), room()};
    for (int option = 0; option < 5; ++option) {
        model.options.push_back({.cost = static_cast<double>(1 + upto(5))});
        model.with.push_back(room());
    }
    model.options[0].choice = static_cast<Choice>(upto(2));
    return model;
}

}  // namespace

TEST_CASE(
    "Two settlements share one theatre: more room next door is worth more than a nearer one") {
    // 60 and 60 births, one theatre for 50. Option 0 has room for 20, option 1 for 40: 90 in the
    // end.
    const RoomModel model{{60, 60}, {{}, {}}, {{50, {0, 1}}}, {{20, {0}}, {40, {1}}}};
    CHECK(births_with_room(model, {}) == doctest::Approx(50));
    const Plan plan = room_plan(model, {.count = 1});
    CHECK(plan.options == Options{1});
    CHECK(plan.value == doctest::Approx(40));
    CHECK(plan.is_proven());
    CHECK(room_plan(model, {.count = 2}).value == doctest::Approx(60));
}

TEST_CASE("Room that nobody knows is taken to suffice; no room serves nobody") {
    const RoomModel model{{60}, {{}, {}}, {{0, {0}}}, {{std::nullopt, {0}}, {0, {0}}}};
    CHECK(births_with_room(model, {}) == 0);
    CHECK(births_with_room(model, Options{0}) == doctest::Approx(60));
    CHECK(births_with_room(model, Options{1}) == 0);
}

TEST_CASE("The best plan is the best of all choices, women seated one by one") {
    std::mt19937 random{17};
    MESSAGE("seed 17");
    for (int round = 0; round < 60; ++round) {
        CAPTURE(round);
        const RoomModel model = random_model(random);
        const Limit limit{.count = 1 + random() % 3,
                          .budget = static_cast<double>(6 + random() % 8)};
        const int now = Seats(model, {}).seated();
        CHECK(births_with_room(model, {}) == doctest::Approx(now));
        int best = -1;
        for (unsigned mask = 0; mask < 32; ++mask) {
            Options chosen;
            double cost = 0;
            bool is_allowed = true;
            for (std::uint32_t option = 0; option < 5; ++option) {
                const bool is_in = (mask >> option & 1U) != 0;
                const Choice choice = model.options[option].choice;
                is_allowed = is_allowed &&
                             (is_in ? choice != Choice::forced_out : choice != Choice::forced_in);
                if (is_in) {
                    chosen.push_back(option);
                    cost += model.options[option].cost;
                }
            }
            if (is_allowed && chosen.size() <= *limit.count && cost <= *limit.budget) {
                best = std::max(best, Seats(model, chosen).seated() - now);
            }
        }
        const Plan plan = room_plan(model, limit);
        CHECK(plan.value == doctest::Approx(best));
        CHECK(plan.is_proven());
        CHECK(births_with_room(model, plan.options) ==
              doctest::Approx(Seats(model, plan.options).seated()));
    }
}

TEST_CASE("A budget of nothing is refused") {
    const RoomModel model{{1}, {{}}, {}, {{1, {0}}}};
    CHECK_THROWS_AS(room_plan(model, {.budget = 0.0}), InputError);
    CHECK_THROWS_AS(room_plan(model, {}), InputError);
}
