#include "tests/bench/boost_yardstick.hpp"

#include <boost/graph/compressed_sparse_row_graph.hpp>
#include <boost/graph/dijkstra_shortest_paths.hpp>

#include "routing/metric.hpp"

namespace waybourne::bench {

namespace {

using Csr = boost::compressed_sparse_row_graph<boost::directedS, boost::no_property, std::uint32_t,
                                               boost::no_property, std::uint32_t, std::uint32_t>;

struct Done {};

}  // namespace

struct BoostYardstick::Graph {
    Csr csr;
    std::vector<std::uint32_t> ds;
    std::vector<std::uint32_t> nearest;
    std::vector<boost::default_color_type> colors;
    std::vector<std::uint32_t> lazy_ds;
    std::vector<std::uint32_t> touched;

    auto index() const { return get(boost::vertex_index, csr); }
    auto weights() const { return get(boost::edge_bundle, csr); }
};

BoostYardstick::BoostYardstick(const BenchNetwork& network) : graph_(std::make_unique<Graph>()) {
    std::vector<std::pair<std::uint32_t, std::uint32_t>> arcs;
    std::vector<std::uint32_t> weights;
    for (std::uint32_t node = 0; node < network.node_count(); ++node) {
        for (std::uint32_t a = network.first_out[node]; a < network.first_out[node + 1]; ++a) {
            if (network.dry_ds[a] < routing::closed_ds) {
                arcs.emplace_back(node, network.head[a]);
                weights.push_back(network.dry_ds[a]);
            }
        }
    }
    graph_->csr = Csr(boost::edges_are_sorted, arcs.begin(), arcs.end(), weights.begin(),
                      network.node_count());
    graph_->ds.resize(network.node_count());
    graph_->nearest.resize(network.node_count());
    graph_->colors.assign(network.node_count(), boost::white_color);
    graph_->lazy_ds.assign(network.node_count(), routing::closed_ds);
}

BoostYardstick::~BoostYardstick() = default;

std::span<const std::uint32_t> BoostYardstick::one_to_all(std::uint32_t source) {
    Graph& g = *graph_;
    boost::dijkstra_shortest_paths(
        g.csr, source,
        boost::distance_map(boost::make_iterator_property_map(g.ds.begin(), g.index()))
            .weight_map(g.weights())
            .distance_inf(routing::closed_ds));
    return g.ds;
}

namespace {

class NearestVisitor : public boost::default_dijkstra_visitor {
public:
    explicit NearestVisitor(std::vector<std::uint32_t>& nearest) : nearest_(&nearest) {}
    template <typename Edge>
    void edge_relaxed(const Edge& edge, const Csr& csr) {
        (*nearest_)[target(edge, csr)] = (*nearest_)[source(edge, csr)];
    }

private:
    std::vector<std::uint32_t>* nearest_;
};

class StopVisitor : public boost::default_dijkstra_visitor {
public:
    StopVisitor(const std::vector<std::uint32_t>& ds, std::vector<std::uint32_t>& touched,
                const std::function<bool(std::uint32_t, std::uint32_t)>& is_done)
        : ds_(&ds), touched_(&touched), is_done_(&is_done) {}
    void discover_vertex(std::uint32_t node, const Csr&) { touched_->push_back(node); }
    void examine_vertex(std::uint32_t node, const Csr&) {
        if ((*is_done_)(node, (*ds_)[node])) {
            throw Done{};
        }
    }

private:
    const std::vector<std::uint32_t>* ds_;
    std::vector<std::uint32_t>* touched_;
    const std::function<bool(std::uint32_t, std::uint32_t)>* is_done_;
};

}  // namespace

BoostYardstick::Nearest BoostYardstick::several_to_all(std::span<const std::uint32_t> sources) {
    Graph& g = *graph_;
    for (std::uint32_t i = 0; i < sources.size(); ++i) {
        g.nearest[sources[i]] = i;
    }
    const auto ds = boost::make_iterator_property_map(g.ds.begin(), g.index());
    const auto colors = boost::make_iterator_property_map(g.colors.begin(), g.index());
    boost::dijkstra_shortest_paths(
        g.csr, sources.begin(), sources.end(), boost::dummy_property_map{}, ds, g.weights(),
        g.index(), std::less<>{}, boost::closed_plus<std::uint32_t>{routing::closed_ds},
        routing::closed_ds, 0U, NearestVisitor{g.nearest}, colors);
    std::fill(g.colors.begin(), g.colors.end(), boost::white_color);
    return {g.ds, g.nearest};
}

void BoostYardstick::until(std::uint32_t source,
                           const std::function<bool(std::uint32_t, std::uint32_t)>& is_done) {
    Graph& g = *graph_;
    g.lazy_ds[source] = 0;
    const auto ds = boost::make_iterator_property_map(g.lazy_ds.begin(), g.index());
    const auto colors = boost::make_iterator_property_map(g.colors.begin(), g.index());
    try {
        boost::dijkstra_shortest_paths_no_init(
            g.csr, source, boost::dummy_property_map{}, ds, g.weights(), g.index(), std::less<>{},
            boost::closed_plus<std::uint32_t>{routing::closed_ds}, 0U,
            StopVisitor{g.lazy_ds, g.touched, is_done}, colors);
    } catch (const Done&) {
        // found
    }
    for (const std::uint32_t node : g.touched) {
        g.lazy_ds[node] = routing::closed_ds;
        g.colors[node] = boost::white_color;
    }
    g.touched.clear();
}

}  // namespace waybourne::bench
