#include "tests/support/made_network.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "routing/metric.hpp"

namespace waybourne::tests {

namespace {

/// splitmix64: the same numbers everywhere.
class Random {
public:
    explicit Random(std::uint64_t seed) : state_(seed) {}
    std::uint64_t next() {
        state_ += 0x9E3779B97F4A7C15U;
        std::uint64_t z = state_;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9U;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBU;
        return z ^ (z >> 31);
    }
    std::uint32_t below(std::uint32_t bound) {
        return static_cast<std::uint32_t>((next() >> 32) * bound >> 32);
    }
    bool happens(double share) { return static_cast<double>(next() >> 11) * 0x1.0p-53 < share; }

private:
    std::uint64_t state_;
};

struct Arc {
    std::uint32_t tail;
    std::uint32_t head;
    std::uint32_t dry_ds;
    std::uint32_t wet_ds;
    std::uint32_t night_ds;
};

/// Which land a cell of the grid belongs to: rivers run down the grid, winding.
class Grid {
public:
    explicit Grid(const MadeNetworkSettings& settings)
        : columns_(std::max(
              1U, static_cast<std::uint32_t>(std::sqrt(static_cast<double>(settings.nodes))))),
          rivers_(settings.rivers) {}

    std::uint32_t columns() const { return columns_; }
    std::uint32_t land(std::uint32_t node) const {
        if (rivers_ == 0) {
            return 0;
        }
        const std::uint32_t row = node / columns_;
        const std::uint32_t column = node % columns_;
        const std::uint32_t bend = (row / 3) % 4 < 2 ? row % 3 : 2 - row % 3;
        return (column + bend) * (rivers_ + 1) / (columns_ + 3);
    }
    /// 0: a street; 1: a main road; 2: a trunk road. Both ends on the same line.
    static std::uint32_t road_class(std::uint32_t line) {
        return line % 64 == 32 ? 2 : line % 16 == 8 ? 1 : 0;
    }

private:
    std::uint32_t columns_;
    std::uint32_t rivers_;
};

class Maker {
public:
    explicit Maker(const MadeNetworkSettings& settings)
        : settings_(settings), grid_(settings), random_(settings.seed) {}

    std::vector<Arc> arcs() {
        const std::uint32_t islanders = settings_.islands * 3;
        const std::uint32_t mainland = settings_.nodes - std::min(settings_.nodes, islanders);
        for (std::uint32_t node = 0; node < mainland; ++node) {
            const std::uint32_t column = node % grid_.columns();
            if (column + 1 < grid_.columns() && node + 1 < mainland) {
                street(node, node + 1, node / grid_.columns());
            }
            if (node + grid_.columns() < mainland) {
                street(node, node + grid_.columns(), column);
            }
        }
        for (std::uint32_t node = mainland; node + 2 < settings_.nodes; node += 3) {
            both_ways(node, node + 1, 100 + random_.below(400));
            both_ways(node + 1, node + 2, 100 + random_.below(400));
        }
        add_nasty_ones();
        return std::move(arcs_);
    }

private:
    void street(std::uint32_t from, std::uint32_t to, std::uint32_t line) {
        const std::uint32_t road_class = Grid::road_class(line);
        const bool crosses_river = grid_.land(from) != grid_.land(to);
        // bridges only where a main road runs; a third of the streets is not built
        if (crosses_river ? road_class == 0 && !random_.happens(0.01)
                          : road_class == 0 && random_.happens(0.36)) {
            return;
        }
        const std::uint32_t metres = 250 + random_.below(500);
        const std::uint32_t speed = road_class == 0 ? 20 + random_.below(15) : 40 * road_class + 20;
        const std::uint32_t ds = metres * 36 / speed;
        if (road_class == 0 && random_.happens(settings_.one_way_share)) {
            const bool turns = random_.happens(0.5);
            one_way(turns ? to : from, turns ? from : to, ds, crosses_river);
            return;
        }
        both_ways(from, to, ds, crosses_river);
    }

    void both_ways(std::uint32_t from, std::uint32_t to, std::uint32_t ds,
                   bool crosses_river = false) {
        one_way(from, to, ds, crosses_river);
        one_way(to, from, ds + random_.below(3), crosses_river);
    }

    void one_way(std::uint32_t from, std::uint32_t to, std::uint32_t ds,
                 bool crosses_river = false) {
        if (random_.happens(settings_.zero_length_share)) {
            ds = 0;
        }
        if (random_.happens(settings_.huge_share)) {
            ds = routing::closed_ds - 1 - random_.below(1000);
        }
        if (random_.happens(settings_.closed_share)) {
            ds = routing::closed_ds;
        }
        const bool is_ford = crosses_river && random_.happens(0.2);
        arcs_.push_back(
            {from, to, ds, is_ford ? routing::closed_ds : slower(ds, 16), slower(ds, 8)});
    }

    /// By up to `sixteenths` of it; never beyond what a weight can be.
    std::uint32_t slower(std::uint32_t ds, std::uint32_t sixteenths) {
        if (ds >= routing::closed_ds) {
            return ds;
        }
        const std::uint64_t more = std::uint64_t{ds} * random_.below(sixteenths + 1) / 16;
        return static_cast<std::uint32_t>(
            std::min<std::uint64_t>(ds + more, routing::closed_ds - 1));
    }

    void add_nasty_ones() {
        const std::size_t count = arcs_.size();
        for (std::size_t i = 0; i < count; ++i) {
            if (random_.happens(settings_.parallel_share)) {
                one_way(arcs_[i].tail, arcs_[i].head, 50 + random_.below(2000));
            }
            if (random_.happens(settings_.loop_share)) {
                one_way(arcs_[i].tail, arcs_[i].tail, random_.below(100));
            }
        }
    }

    MadeNetworkSettings settings_;
    Grid grid_;
    Random random_;
    std::vector<Arc> arcs_;
};

}  // namespace

MadeNetwork make_network(const MadeNetworkSettings& settings) {
    std::vector<Arc> arcs = Maker{settings}.arcs();
    std::stable_sort(arcs.begin(), arcs.end(), [](const Arc& a, const Arc& b) {
        return a.tail != b.tail ? a.tail < b.tail : a.head < b.head;
    });
    MadeNetwork network;
    network.first_out.assign(settings.nodes + 1, 0);
    for (const Arc& arc : arcs) {
        ++network.first_out[arc.tail + 1];
        network.head.push_back(arc.head);
        network.dry_ds.push_back(arc.dry_ds);
        network.wet_ds.push_back(arc.wet_ds);
        network.night_ds.push_back(arc.night_ds);
        // spread in proportion to the time, as the speed table has it, differing by road
        const bool is_open = arc.dry_ds < routing::closed_ds;
        network.variance_ds2.push_back(
            is_open ? std::min(arc.dry_ds, 1'000'000U) * (10 + arc.tail % 7) : 0);
    }
    std::partial_sum(network.first_out.begin(), network.first_out.end(), network.first_out.begin());
    const std::uint32_t columns = Grid{settings}.columns();
    for (std::uint32_t node = 0; node < settings.nodes; ++node) {
        const std::uint32_t row = node / columns;
        network.latitude.push_back(0.0045 * row);
        network.longitude.push_back(0.0045 * (node % columns));
    }
    return network;
}

}  // namespace waybourne::tests
