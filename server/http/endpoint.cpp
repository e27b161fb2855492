#include "server/http/endpoint.hpp"

#include <algorithm>

namespace waybourne::server {

namespace {

std::vector<std::string_view> steps(std::string_view path) {
    std::vector<std::string_view> found;
    for (std::size_t at = 0; at < path.size();) {
        const std::size_t slash = path.find('/', at + 1);
        const std::size_t end = slash == std::string_view::npos ? path.size() : slash;
        found.push_back(path.substr(at + 1, end - at - 1));
        at = end;
    }
    return found;
}

std::optional<std::vector<std::string>> match(std::string_view pattern, std::string_view path) {
    const auto wanted = steps(pattern);
    const auto given = steps(path);
    if (wanted.size() != given.size()) {
        return std::nullopt;
    }
    std::vector<std::string> values;
    for (std::size_t i = 0; i < wanted.size(); ++i) {
        const bool is_value = wanted[i].starts_with('{');
        if (is_value && !given[i].empty()) {
            values.emplace_back(given[i]);
        } else if (wanted[i] != given[i]) {
            return std::nullopt;
        }
    }
    return values;
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
