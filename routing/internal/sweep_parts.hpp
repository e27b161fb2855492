#pragma once
/// What every sweep over a hierarchy consists of.

#include <bit>
#include <cstdint>
#include <span>
#include <vector>

#include "routing/hierarchy.hpp"
#include "routing/internal/parallel.hpp"

namespace waybourne::routing {

/// Ranks that were added and all their ancestors: all that has a value before the way down begins.
class Climbed {
public:
    explicit Climbed(const HierarchyArrays& h)
        : parent_(h.parent), words_(h.node_of_rank.size() / 64 + 1) {}
    void add(std::uint32_t rank) {
        for (std::uint32_t x = rank; x != no_rank && !contains(x); x = parent_[x]) {
            words_[x / 64] |= std::uint64_t{1} << x % 64;
        }
    }
    bool contains(std::uint32_t rank) const { return (words_[rank / 64] >> rank % 64 & 1) != 0; }
    /// In ascending order.
    template <typename Visit>
    void for_each(const Visit& visit) const {
        for (std::size_t word = 0; word < words_.size(); ++word) {
            for (std::uint64_t rest = words_[word]; rest != 0; rest &= rest - 1) {
                visit(static_cast<std::uint32_t>(word * 64) +
                      static_cast<std::uint32_t>(std::countr_zero(rest)));
            }
        }
    }

private:
    std::span<const std::uint32_t> parent_;
    std::vector<std::uint64_t> words_;
};

/// Runs `sweep(begin, end)` over all positions from the top down: the top alone, then the subtrees.
template <typename Sweep>
void top_down(const HierarchyArrays& h, unsigned threads, const Sweep& sweep) {
    const auto nodes = static_cast<std::uint32_t>(h.node_of_rank.size());
    const auto jobs = static_cast<std::uint32_t>(h.job_first.size() - 1);
    sweep(h.job_first.back(), nodes);
    run_jobs(jobs, threads, [&](std::uint32_t job, unsigned) {
        sweep(h.job_first[jobs - 1 - job], h.job_first[jobs - job]);
    });
}

}  // namespace waybourne::routing
