#include "server/http/endpoint.hpp"

#include <algorithm>

namespace waybourne::server {

namespace {

/// Cuts `/step` off the front of a path that is not empty.
std::string_view take_step(std::string_view& path) {
    const std::size_t end = std::min(path.find('/', 1), path.size());
    const std::string_view step = path.substr(1, end - 1);
    path.remove_prefix(end);
    return step;
}

std::optional<std::vector<std::string>> match(std::string_view pattern, std::string_view path) {
    std::vector<std::string> values;
    while (!pattern.empty() && !path.empty()) {
        const std::string_view wanted = take_step(pattern);
        const std::string_view given = take_step(path);
        const bool is_value = wanted.starts_with('{');
        if (is_value && !given.empty()) {
            values.emplace_back(given);
        } else if (wanted != given) {
            return std::nullopt;
        }
    }
    return pattern.empty() && path.empty() ? std::optional{std::move(values)} : std::nullopt;
}

}  // namespace

std::optional<PathMatch> EndpointTable::find_path(std::string_view path) const {
    std::optional<PathMatch> best;
    for (const Endpoint& endpoint : endpoints_) {
        auto values = path.starts_with('/') ? match(endpoint.pattern, path) : std::nullopt;
        if (!values) {
            continue;
        }
        if (!best || values->size() < best->path_values.size()) {
            best = PathMatch{endpoint.pattern, std::move(*values), {}};
        }
    }
    if (best) {
        for (const Endpoint& endpoint : endpoints_) {
            if (endpoint.pattern == best->pattern) {
                best->methods.push_back(endpoint.method);
                if (endpoint.method == "GET") {
                    best->methods.emplace_back("HEAD");
                }
            }
        }
    }
    return best;
}

const Endpoint* EndpointTable::find(const PathMatch& path, std::string_view method) const {
    const std::string_view wanted = method == "HEAD" ? "GET" : method;
    const auto found =
        std::find_if(endpoints_.begin(), endpoints_.end(), [&](const Endpoint& endpoint) {
            return endpoint.pattern == path.pattern && endpoint.method == wanted;
        });
    return found == endpoints_.end() ? nullptr : &*found;
}

}  // namespace waybourne::server
