#include <doctest/doctest.h>

#include <cstdlib>
#include <new>
#include <random>

#include "routing/buckets.hpp"
#include "routing/customise.hpp"
#include "routing/unpacker.hpp"
#include "tests/bench/bench_network.hpp"
#include "tests/routing/bisection_order.hpp"

// Counts what this program takes from the heap.

namespace {

std::size_t taken = 0;

}  // namespace

void* operator new(std::size_t bytes) {
    ++taken;
    if (void* memory = std::malloc(bytes == 0 ? 1 : bytes)) {
        return memory;
    }
    throw std::bad_alloc{};
}
void* operator new(std::size_t bytes, const std::nothrow_t& /*tag*/) noexcept {
    ++taken;
    return std::malloc(bytes == 0 ? 1 : bytes);
}
void operator delete(void* memory) noexcept {
    std::free(memory);
}
void operator delete(void* memory, std::size_t) noexcept {
    std::free(memory);
}

namespace waybourne::routing {

namespace {

template <typename Value>
std::size_t taken_by_queries(const Hierarchy& hierarchy, const std::vector<Value>& values) {
    const auto weights = customised<Value>(hierarchy, values);
    const MiddleNotes middles{weights.size()};
    const std::span<const BothWays<Value>> view{weights};
    std::mt19937 random{3};
    const auto any_rank = [&] {
        return static_cast<std::uint32_t>(random() % hierarchy.node_count());
    };
    Buckets<Value> buckets{hierarchy};
    for (std::uint32_t place = 0; place < 50; ++place) {
        buckets.add(hierarchy, view, any_rank(), place, Value::none());
    }
    UpSearch<Value> from{hierarchy};
    UpSearch<Value> to{hierarchy};
    constexpr std::size_t count = 3;
    std::vector<typename Buckets<Value>::Found> found;
    found.reserve(count);
    std::vector<std::uint32_t> way;
    way.reserve(hierarchy.node_count());
    Unpacker unpacker{hierarchy.node_count()};
    const std::size_t before = taken;
    std::size_t reached = 0;
    for (int query = 0; query < 200; ++query) {
        found.clear();
        NearestSearch<Value>{hierarchy, view, buckets, from}.find(
            any_rank(), Value::none(), count, [](std::uint32_t place) { return place % 4 == 0; },
            found);
        const auto met = meet_between<Value>(hierarchy, view, any_rank(), any_rank(), from, to);
        unpacker.run(Weighted<Value>{hierarchy, values, view, middles}, from, to, met, way);
        reached += found.size() + way.size();
    }
    CHECK(reached > 200);
    return taken - before;
}

}  // namespace

TEST_CASE("Asking for a way or the nearest places takes nothing from the heap") {
    const auto network = bench::made_bench_network(3000);
    const Hierarchy hierarchy = Hierarchy::build(
        network.view(),
        tests::bisection_order(network.view(), network.latitude, network.longitude));
    std::vector<Time> times;
    std::vector<TimeAndSpread> both;
    const auto variance = network.variance_ds2();
    for (std::size_t arc = 0; arc < variance.size(); ++arc) {
        times.push_back({network.dry_ds[arc]});
        both.push_back(TimeAndSpread::of(network.dry_ds[arc], variance[arc]));
    }
    CHECK(taken_by_queries(hierarchy, times) == 0);
    CHECK(taken_by_queries(hierarchy, both) == 0);
}

}  // namespace waybourne::routing
