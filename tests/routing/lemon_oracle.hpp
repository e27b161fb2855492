#pragma once
/// Shortest paths by a second library: LEMON, Library for Efficient Modeling and Optimization in
/// Networks (Dezső, Jüttner, Kovács, Electronic Notes in Theoretical Computer Science 264, 2011,
/// 23-45). Its headers compile as C++17 only, so this header keeps to that.

#include <cstdint>
#include <memory>
#include <vector>

namespace waybourne::tests {

struct OracleArc {
    std::uint32_t tail = 0;
    std::uint32_t head = 0;
    std::uint32_t weight = 0;
};

class LemonOracle {
public:
    static constexpr std::uint32_t unreachable = 0xFFFFFFFF;

    LemonOracle(std::uint32_t nodes, const std::vector<OracleArc>& arcs);
    ~LemonOracle();
    LemonOracle(const LemonOracle&) = delete;
    LemonOracle& operator=(const LemonOracle&) = delete;

    /// To every node.
    std::vector<std::uint32_t> distances(std::uint32_t source) const;

private:
    struct Graph;
    std::unique_ptr<Graph> graph_;
};

}  // namespace waybourne::tests
