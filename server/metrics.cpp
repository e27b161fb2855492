#include "server/metrics.hpp"

#include <fmt/format.h>

#include <iterator>

namespace waybourne::server {

namespace {

double to_seconds(std::chrono::microseconds span) {
    return std::chrono::duration<double>(span).count();
}

}  // namespace

std::string to_label(std::string_view text) {
    std::string label;
    for (const char letter : text) {
        if (letter == '\n') {
            label += "\\n";
            continue;
        }
        if (letter == '"' || letter == '\\') {
            label += '\\';
        }
        label += letter;
    }
    return label;
}

void Metrics::count_request(std::string_view method, std::string_view pattern, int status,
                            std::chrono::microseconds took) {
    const Route route{std::string(method), std::string(pattern)};
    std::size_t place = 0;
    while (place < latency_limits.size() && took > latency_limits.at(place)) {
        ++place;
    }
    const std::lock_guard lock{mutex_};
    ++requests_[route][status];
    Latency& latency = latencies_[route];
    ++latency.classes.at(place);
    latency.sum += took;
}

std::string Metrics::render(std::string_view more) const {
    std::string text;
    const auto line = std::back_inserter(text);
    const std::lock_guard lock{mutex_};
    text += "# HELP waybourne_requests_total Requests answered.\n";
    text += "# TYPE waybourne_requests_total counter\n";
    for (const auto& [route, statuses] : requests_) {
        for (const auto& [status, count] : statuses) {
            fmt::format_to(
                line, "waybourne_requests_total{{method=\"{}\",path=\"{}\",status=\"{}\"}} {}\n",
                to_label(route.first), to_label(route.second), status, count);
        }
    }
    text += "# HELP waybourne_request_seconds Time from the request read to the answer made.\n";
    text += "# TYPE waybourne_request_seconds histogram\n";
    for (const auto& [route, latency] : latencies_) {
        const std::string labels =
            fmt::format(R"(method="{}",path="{}")", to_label(route.first), to_label(route.second));
        std::uint64_t total = 0;
        for (std::size_t i = 0; i < latency_limits.size(); ++i) {
            total += latency.classes.at(i);
            fmt::format_to(line, "waybourne_request_seconds_bucket{{{},le=\"{}\"}} {}\n", labels,
                           to_seconds(latency_limits.at(i)), total);
        }
        total += latency.classes.back();
        fmt::format_to(line, "waybourne_request_seconds_bucket{{{},le=\"+Inf\"}} {}\n", labels,
                       total);
        fmt::format_to(line, "waybourne_request_seconds_sum{{{}}} {}\n", labels,
                       to_seconds(latency.sum));
        fmt::format_to(line, "waybourne_request_seconds_count{{{}}} {}\n", labels, total);
    }
    text += "# HELP waybourne_connections Connections open now.\n";
    text += "# TYPE waybourne_connections gauge\n";
    fmt::format_to(line, "waybourne_connections {}\n", connections_.load());
    text += "# HELP waybourne_connections_refused_total Connections turned away when full.\n";
    text += "# TYPE waybourne_connections_refused_total counter\n";
    fmt::format_to(line, "waybourne_connections_refused_total {}\n", refused_.load());
    text += more;
    return text;
}

}  // namespace waybourne::server
