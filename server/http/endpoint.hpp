#pragma once
/// What the server serves: methods, paths and the functions behind them, free of any HTTP library.

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "server/caller.hpp"

namespace waybourne::server {

/// A request that has passed the limits. Paths hold ids only, never anything about a woman.
struct HttpRequest {
    std::string id;  ///< ours, for the log
    std::string method;
    /// What stands where the pattern has `{…}`, percent-decoded.
    std::vector<std::string> path_values = {};
    std::string_view body = {};
    std::string if_none_match = {};
    /// Whoever sent it.
    Caller caller = {};
};

struct HttpResponse {
    int status = 200;
    std::string body = {};
    std::string content_type = "application/json";
    std::vector<std::pair<std::string, std::string>> headers = {};
};

/// Whether an answer may be kept by a cache: what concerns a woman never may.
enum class Privacy { open, personal };

struct Endpoint {
    std::string method;   ///< `GET` (serves `HEAD` too) or `POST` (takes a JSON body)
    std::string pattern;  ///< e.g. `/v1/facilities/{id}`
    Privacy privacy = Privacy::open;
    std::function<HttpResponse(const HttpRequest&)> handle;
};

/// Where a path leads.
struct PathMatch {
    std::string pattern;
    std::vector<std::string> path_values;
    /// Methods that the path takes, `HEAD` included.
    std::vector<std::string> methods;
};

/// The table of endpoints; immutable, share it freely between threads.
class EndpointTable {
public:
    explicit EndpointTable(std::vector<Endpoint> endpoints) : endpoints_(std::move(endpoints)) {}
    const std::vector<Endpoint>& endpoints() const { return endpoints_; }

    /// None for a path that nothing answers. Literal steps win over `{…}`. O(endpoints).
    std::optional<PathMatch> find_path(std::string_view path) const;
    /// Null when the path does not take the method. `HEAD` finds the endpoint of `GET`.
    const Endpoint* find(const PathMatch& path, std::string_view method) const;

private:
    std::vector<Endpoint> endpoints_;
};

}  // namespace waybourne::server
