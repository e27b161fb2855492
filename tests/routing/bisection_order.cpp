#include "tests/routing/bisection_order.hpp"

#include <algorithm>
#include <numeric>
#include <span>

namespace waybourne::tests {

namespace {

class Bisection {
public:
    Bisection(routing::GraphView graph, const std::vector<double>& latitude,
              const std::vector<double>& longitude)
        : latitude_(latitude), longitude_(longitude), side_(graph.node_count(), 0) {
        neighbours_.resize(graph.node_count());
        for (std::uint32_t node = 0; node < graph.node_count(); ++node) {
            for (std::uint32_t a = graph.first_out[node]; a < graph.first_out[node + 1]; ++a) {
                neighbours_[node].push_back(graph.head[a]);
                neighbours_[graph.head[a]].push_back(node);
            }
        }
        order_.resize(graph.node_count());
        std::iota(order_.begin(), order_.end(), 0U);
    }

    std::vector<std::uint32_t> run() {
        std::vector<std::span<std::uint32_t>> parts{order_};
        while (!parts.empty()) {
            const std::span<std::uint32_t> part = parts.back();
            parts.pop_back();
            if (part.size() < 3) {
                continue;
            }
            const std::size_t half = part.size() / 2;
            halve(part, half);
            const auto second = part.subspan(half);
            const auto first = cut(part.first(half));
            // [inner first half][second half][border of the first half]
            std::rotate(part.begin() + static_cast<std::ptrdiff_t>(first),
                        part.begin() + static_cast<std::ptrdiff_t>(half), part.end());
            parts.push_back(part.first(first));
            parts.push_back(part.subspan(first, second.size()));
        }
        return std::move(order_);
    }

private:
    void halve(std::span<std::uint32_t> part, std::size_t half) {
        const auto extent = [&](const std::vector<double>& along) {
            const auto [least, most] = std::minmax_element(
                part.begin(), part.end(), [&](auto a, auto b) { return along[a] < along[b]; });
            return along[*most] - along[*least];
        };
        const auto& along = extent(latitude_) > extent(longitude_) ? latitude_ : longitude_;
        std::nth_element(
            part.begin(), part.begin() + static_cast<std::ptrdiff_t>(half), part.end(),
            [&](auto a, auto b) { return along[a] != along[b] ? along[a] < along[b] : a < b; });
        ++stamp_;
        for (const std::uint32_t node : part.subspan(half)) {
            side_[node] = stamp_;
        }
    }
    /// Puts those of the first half with a neighbour in the second at its end.
    /// @return how many have none
    std::size_t cut(std::span<std::uint32_t> first) {
        const auto border = std::partition(first.begin(), first.end(), [&](std::uint32_t node) {
            return std::none_of(neighbours_[node].begin(), neighbours_[node].end(),
                                [&](std::uint32_t other) { return side_[other] == stamp_; });
        });
        return static_cast<std::size_t>(border - first.begin());
    }

    const std::vector<double>& latitude_;
    const std::vector<double>& longitude_;
    std::vector<std::vector<std::uint32_t>> neighbours_;
    std::vector<std::uint32_t> order_;
    std::vector<std::uint32_t> side_;
    std::uint32_t stamp_ = 0;
};

}  // namespace

std::vector<std::uint32_t> bisection_order(routing::GraphView graph,
                                           const std::vector<double>& latitude,
                                           const std::vector<double>& longitude) {
    return Bisection{graph, latitude, longitude}.run();
}

}  // namespace waybourne::tests
