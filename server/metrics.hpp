#pragma once
/// What the server counts about itself, in the text format that Prometheus reads.

#include <array>
#include <atomic>
#include <chrono>
#include <cstdint>
#include <map>
#include <mutex>
#include <string>
#include <string_view>
#include <utility>

namespace waybourne::server {

/// Upper limits of the latency classes. Common practice, no source: from a tenth of the goal of
/// 5 ms to the point where a person notices, and on to the time limit.
inline constexpr std::array<std::chrono::microseconds, 9> latency_limits{
    std::chrono::microseconds{500},       std::chrono::microseconds{1'000},
    std::chrono::microseconds{2'500},     std::chrono::microseconds{5'000},
    std::chrono::microseconds{10'000},    std::chrono::microseconds{50'000},
    std::chrono::microseconds{100'000},   std::chrono::microseconds{1'000'000},
    std::chrono::microseconds{10'000'000}};

/// Safe to use from several threads. Labels are methods and patterns, never paths as sent, so that
/// nobody can fill the memory with invented ones.
class Metrics {
public:
    void count_request(std::string_view method, std::string_view pattern, int status,
                       std::chrono::microseconds took);
    void connection_opened() { ++connections_; }
    void connection_closed() { --connections_; }
    /// Turned away because too many were waiting.
    void connection_refused() { ++refused_; }

    /// Text format 0.0.4 (Prometheus documentation, "Exposition formats"). `more` is appended.
    std::string render(std::string_view more) const;

private:
    struct Latency {
        std::array<std::uint64_t, latency_limits.size() + 1> classes{};
        std::chrono::microseconds sum{};
    };
    using Route = std::pair<std::string, std::string>;  ///< method, pattern

    mutable std::mutex mutex_;
    std::map<Route, std::map<int, std::uint64_t>> requests_;
    std::map<Route, Latency> latencies_;
    std::atomic<std::int64_t> connections_{0};
    std::atomic<std::int64_t> refused_{0};
};

/// A label value with `\`, `"` and line ends escaped, as the format asks.
std::string to_label(std::string_view text);

}  // namespace waybourne::server
