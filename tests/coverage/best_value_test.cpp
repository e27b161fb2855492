#include "coverage/internal/best_value.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "coverage/internal/cover_rows.hpp"

// What makes large plans quick, held against trying everything.

using namespace waybourne;
using namespace waybourne::coverage;

namespace {

constexpr std::uint32_t options = 9;

std::vector<std::uint32_t> members_of(std::uint32_t set) {
    std::vector<std::uint32_t> all;
    for (std::uint32_t option = 0; option < options; ++option) {
        if ((set >> option & 1U) != 0) {
            all.push_back(option);
        }
    }
    return all;
}

LocationModel some_model(std::mt19937& random) {
    std::uniform_real_distribution<double> share(0, 1);
    LocationModel model;
    model.by_count.clear();
    model.options.resize(options);
    model.serves.resize(options);
    for (std::uint32_t i = 0; i < 25; ++i) {
        model.births.push_back(static_cast<double>(random() % 20));
        model.already.push_back(random() % 3 == 0 ? share(random) / 2 : 0);
        for (std::uint32_t option = 0; option < options; ++option) {
            const double value = share(random);
            if (value > model.already.back() && random() % 3 != 0) {
                model.serves[option].push_back({i, value});
            }
        }
    }
    for (Option& option : model.options) {
        option.cost = static_cast<double>(1 + random() % 4);
    }
    model.options[random() % options].choice = Choice::forced_out;
    if (random() % 2 == 0) {
        model.options[random() % options].choice = Choice::forced_in;
    }
    return model;
}

Limit some_limit(std::mt19937& random) {
    Limit limit;
    if (random() % 3 != 0) {
        limit.count = 2 + random() % 3;
    }
    if (!limit.count || random() % 3 == 0) {
        limit.budget = static_cast<double>(5 + random() % 6);
    }
    return limit;
}

bool is_within(const LocationModel& model, const Limit& limit, std::uint32_t set) {
    std::size_t count = 0;
    double cost = 0;
    for (std::uint32_t option = 0; option < options; ++option) {
        const bool is_taken = (set >> option & 1U) != 0;
        const Choice choice = model.options[option].choice;
        if ((is_taken && choice == Choice::forced_out) ||
            (!is_taken && choice == Choice::forced_in)) {
            return false;
        }
        count += is_taken ? 1 : 0;
        cost += is_taken ? model.options[option].cost : 0;
    }
    return (!limit.count || count <= *limit.count) && (!limit.budget || cost <= *limit.budget);
}

}  // namespace

TEST_CASE("No plan is worth more than the prices say, and what they settle no better plan breaks") {
    std::mt19937 random{11};
    MESSAGE("seed 11");
    int settled = 0;
    for (int round = 0; round < 150; ++round) {
        const LocationModel model = some_model(random);
        const Limit limit = some_limit(random);
        const Relaxed told = relaxed(model, limit, quick_plan(model, limit).options, 60s, 0, {});
        CHECK(value_of(model, told.options) == doctest::Approx(told.value));
        for (std::uint32_t set = 0; set < 1U << options; ++set) {
            if (!is_within(model, limit, set)) {
                continue;
            }
            const double value = value_of(model, members_of(set));
            REQUIRE(value <= told.bound * (1 + 1e-6) + 1e-6);
            if (value > told.value * (1 + 1e-9) + 1e-9) {
                for (std::uint32_t option = 0; option < options; ++option) {
                    const bool is_taken = (set >> option & 1U) != 0;
                    CHECK_FALSE((is_taken && told.is_out[option]));
                    CHECK_FALSE((!is_taken && told.is_in[option]));
                }
            }
        }
        settled += static_cast<int>(std::count(told.is_out.begin(), told.is_out.end(), true) +
                                    std::count(told.is_in.begin(), told.is_in.end(), true));
    }
    CHECK(settled > 100);  // else the second half of the sentence was never tried
}

TEST_CASE("After the exchanges no one option in for one out would gain, by trying each pair") {
    std::mt19937 random{12};
    MESSAGE("seed 12");
    int tried = 0;
    for (int round = 0; round < 100; ++round) {
        const LocationModel model = some_model(random);
        const Limit limit = some_limit(random);
        // the first plan within the limit that is neither empty nor everything
        std::uint32_t start = 1;
        while (start < (1U << options) &&
               (!is_within(model, limit, start) || members_of(start).size() < 2)) {
            ++start;
        }
        if (start == 1U << options) {
            continue;
        }
        const auto plan = best_exchanges(model, limit, members_of(start), {});
        const double value = value_of(model, plan);
        CHECK(value >= value_of(model, members_of(start)) - 1e-9);
        std::uint32_t set = 0;
        for (const std::uint32_t option : plan) {
            set |= 1U << option;
        }
        CHECK(is_within(model, limit, set));
        for (std::uint32_t out = 0; out < options; ++out) {
            for (std::uint32_t in = 0; in < options; ++in) {
                const std::uint32_t other = (set & ~(1U << out)) | 1U << in;
                if ((set >> out & 1U) != 0 && (set >> in & 1U) == 0 &&
                    is_within(model, limit, other)) {
                    CHECK(value_of(model, members_of(other)) <= value * (1 + 1e-8) + 1e-8);
                    ++tried;
                }
            }
        }
    }
    CHECK(tried > 300);
}

TEST_CASE("Rows that ask nothing more are left out, and the bounds hold, by trying every set") {
    std::mt19937 random{13};
    MESSAGE("seed 13");
    std::size_t left_out = 0;
    for (int round = 0; round < 100; ++round) {
        CoverRows rows;
        for (std::size_t i = 0; i < 12; ++i) {
            BitSet row(options);
            row.insert(random() % options);
            for (std::size_t k = random() % 4; k > 0; --k) {
                row.insert(random() % options);
            }
            rows.push_back(row);
        }
        const CoverRows few = without_idle_rows(rows);
        left_out += rows.size() - few.size();
        std::size_t least = options;
        for (std::uint32_t set = 0; set < 1U << options; ++set) {
            const auto meets = [&](const CoverRows& all) {
                return std::all_of(all.begin(), all.end(), [&](const BitSet& row) {
                    const auto members = row.members();
                    return std::any_of(members.begin(), members.end(),
                                       [&](std::uint32_t one) { return (set >> one & 1U) != 0; });
                });
            };
            REQUIRE(meets(rows) == meets(few));
            if (meets(rows)) {
                least = std::min(least, members_of(set).size());
            }
        }
        const auto greedy = greedy_cover(few, options);
        CHECK(rows_apart(few) <= least);
        CHECK(greedy.size() >= least);
        for (const BitSet& row : rows) {
            CHECK(std::any_of(greedy.begin(), greedy.end(),
                              [&](std::uint32_t one) { return row.has(one); }));
        }
    }
    CHECK(left_out > 100);
    CHECK(rows_apart({}) == 0);
    CHECK(greedy_cover({}, options).empty());
}
