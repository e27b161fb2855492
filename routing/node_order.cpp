#include "routing/node_order.hpp"

#include <fmt/format.h>
#include <metis.h>
#include <poll.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <numeric>

#include "vocabulary/error.hpp"

namespace waybourne::routing {

namespace {

/// The graph as METIS wants it: every neighbour once, in both directions, no loops.
struct Neighbours {
    std::vector<idx_t> first;
    std::vector<idx_t> neighbour;
};

Neighbours undirected(GraphView graph) {
    const std::uint32_t nodes = graph.node_count();
    std::vector<idx_t> first(nodes + 1, 0);
    const auto for_each_arc = [&](const auto& visit) {
        for (std::uint32_t tail = 0; tail < nodes; ++tail) {
            for (std::uint32_t a = graph.first_out[tail]; a < graph.first_out[tail + 1]; ++a) {
                if (graph.head[a] != tail) {
                    visit(tail, graph.head[a]);
                }
            }
        }
    };
    for_each_arc([&](std::uint32_t tail, std::uint32_t head) {
        ++first[tail + 1];
        ++first[head + 1];
    });
    std::partial_sum(first.begin(), first.end(), first.begin());
    std::vector<idx_t> neighbour(static_cast<std::size_t>(first.back()));
    std::vector<idx_t> next(first.begin(), first.end() - 1);
    for_each_arc([&](std::uint32_t tail, std::uint32_t head) {
        neighbour[static_cast<std::size_t>(next[tail]++)] = static_cast<idx_t>(head);
        neighbour[static_cast<std::size_t>(next[head]++)] = static_cast<idx_t>(tail);
    });
    Neighbours result{{0}, {}};
    result.first.reserve(nodes + 1);
    result.neighbour.reserve(neighbour.size());
    for (std::uint32_t v = 0; v < nodes; ++v) {
        const auto begin = neighbour.begin() + first[v];
        const auto end = neighbour.begin() + first[v + 1];
        std::sort(begin, end);
        std::unique_copy(begin, end, std::back_inserter(result.neighbour));
        result.first.push_back(static_cast<idx_t>(result.neighbour.size()));
    }
    return result;
}

void write_all(int file, const void* data, std::size_t bytes) {
    const char* at = static_cast<const char*>(data);
    while (bytes > 0) {
        const ssize_t written = ::write(file, at, bytes);
        if (written < 0 && errno == EINTR) {
            continue;
        }
        if (written <= 0) {
            ::_exit(2);
        }
        at += written;
        bytes -= static_cast<std::size_t>(written);
    }
}

/// How long the work has taken, once a second: METIS does not say how far it is.
class Waiting {
public:
    explicit Waiting(const Progress& progress)
        : progress_(progress), begin_(std::chrono::steady_clock::now()) {}

    /// Until there is something to read.
    void for_input(int file) const {
        constexpr int one_second_ms = 1000;
        pollfd wanted{file, POLLIN, 0};
        while (::poll(&wanted, 1, one_second_ms) == 0) {
            const auto passed = std::chrono::duration_cast<std::chrono::seconds>(
                std::chrono::steady_clock::now() - begin_);
            report(progress_, fmt::format("ordering the network, {} s", passed.count()), -1);
        }
    }

private:
    const Progress& progress_;
    std::chrono::steady_clock::time_point begin_;
};

bool read_all(int file, void* data, std::size_t bytes, const Waiting& waiting) {
    char* at = static_cast<char*>(data);
    while (bytes > 0) {
        waiting.for_input(file);
        const ssize_t got = ::read(file, at, bytes);
        if (got < 0 && errno == EINTR) {
            continue;
        }
        if (got <= 0) {
            return false;
        }
        at += got;
        bytes -= static_cast<std::size_t>(got);
    }
    return true;
}

/// Runs in the child process and never returns.
[[noreturn]] void order_and_exit(Neighbours& graph, const OrderSettings& settings, int out) {
    auto nodes = static_cast<idx_t>(graph.first.size() - 1);
    std::array<idx_t, METIS_NOPTIONS> options{};
    METIS_SetDefaultOptions(options.data());
    options[METIS_OPTION_SEED] = settings.seed;
    options[METIS_OPTION_NSEPS] = settings.separators_per_level;
    std::vector<idx_t> order(graph.first.size() - 1);
    std::vector<idx_t> place(graph.first.size() - 1);
    const int status = METIS_NodeND(&nodes, graph.first.data(), graph.neighbour.data(), nullptr,
                                    options.data(), order.data(), place.data());
    if (status != METIS_OK) {
        ::_exit(1);
    }
    write_all(out, order.data(), order.size() * sizeof(idx_t));
    ::_exit(0);
}

}  // namespace

std::vector<std::uint32_t> nested_dissection_order(GraphView graph, const OrderSettings& settings,
                                                   const Progress& progress) {
    static_assert(sizeof(idx_t) == sizeof(std::uint32_t), "METIS with 32-bit indices");
    std::vector<std::uint32_t> order(graph.node_count());
    Neighbours neighbours = undirected(graph);
    if (neighbours.neighbour.empty()) {  // METIS refuses a graph without arcs
        std::iota(order.begin(), order.end(), 0U);
        return order;
    }
    report(progress, "ordering the network", -1);
    std::array<int, 2> pipe{};
    if (::pipe(pipe.data()) != 0) {
        throw Unavailable("cannot open a pipe to order the network");
    }
    const pid_t child = ::fork();
    if (child < 0) {
        ::close(pipe[0]);
        ::close(pipe[1]);
        throw Unavailable("cannot start a process to order the network");
    }
    if (child == 0) {
        ::close(pipe[0]);
        order_and_exit(neighbours, settings, pipe[1]);
    }
    ::close(pipe[1]);
    const bool is_complete =
        read_all(pipe[0], order.data(), order.size() * sizeof(idx_t), Waiting{progress});
    ::close(pipe[0]);
    int status = 0;
    while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
    }
    if (!is_complete || !WIFEXITED(status) || WEXITSTATUS(status) != 0) {
        throw Unavailable("the process that orders the network failed");
    }
    report(progress, "ordering the network", 1);
    return order;
}

}  // namespace waybourne::routing
