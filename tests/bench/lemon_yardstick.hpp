#pragma once
/// Dijkstra's algorithm of LEMON on its StaticDigraph. Its headers compile as C++17 only, so this
/// header keeps to that.

#include <cstdint>
#include <memory>
#include <vector>

namespace waybourne::bench {

class LemonYardstick {
public:
    LemonYardstick(const std::vector<std::uint32_t>& first_out,
                   const std::vector<std::uint32_t>& head, const std::vector<std::uint32_t>& ds);
    ~LemonYardstick();
    LemonYardstick(const LemonYardstick&) = delete;
    LemonYardstick& operator=(const LemonYardstick&) = delete;

    /// From one node to all.
    /// @return the sum of all distances, wrapping
    std::uint64_t one_to_all(std::uint32_t source);

private:
    struct Graph;
    std::unique_ptr<Graph> graph_;
};

}  // namespace waybourne::bench
