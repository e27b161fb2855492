#pragma once
/// What the server serves: methods, paths and the functions behind them, free of any HTTP library.

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "server/caller.hpp"

namespace waybourne::server {

/// The other side of an answer that does not end, e.g. server-sent events.
class Follower {
public:
    Follower() = default;
    virtual ~Follower() = default;
    Follower(const Follower&) = delete;
    Follower& operator=(const Follower&) = delete;
    /// Sends at once; false when nobody listens any more or the server stops.
    virtual bool send(std::string_view bytes) = 0;
    /// Whether somebody still listens and the server still runs.
    virtual bool is_there() = 0;
};

/// A request that has passed the limits. Paths and queries hold ids and choices only, never
/// anything about a woman.
struct HttpRequest {
    std::string id;  ///< ours, for the log
    std::string method;
    /// What stands where the pattern has `{…}`, percent-decoded.
    std::vector<std::string> path_values = {};
    std::string_view body = {};
    /// What the endpoint's `query` names, as far as it was given.
    std::map<std::string, std::string> query = {};
    std::string if_none_match = {};
    std::string if_match = {};
    std::string idempotency_key = {};
    std::string last_event_id = {};
    /// Whoever sent it.
    Caller caller = {};
    /// Credentials as they were sent, for the one endpoint that exchanges them. Never for the log.
    std::string authorization = {};
    /// Where it comes from, only to be compared; empty where nobody needs a key. Never for the log.
    std::string address = {};
};

struct HttpResponse {
    int status = 200;
    std::string body = {};
    std::string content_type = "application/json";
    std::vector<std::pair<std::string, std::string>> headers = {};
    /// Codes of the cases that it shows and that do not stand in the path, for the audit trail; of
    /// a refusal: of those that it tells of.
    std::vector<std::string> shown = {};
    /// Instead of a body: writes as long as it likes, on the connection's own thread.
    std::function<void(Follower&)> stream = {};
    /// The same body in gzip's form (RFC 1952), sent instead to whoever takes it; empty for none.
    std::string gzip_body = {};
};

/// Whether an answer may be kept by a cache: what concerns a woman never may.
enum class Privacy { open, personal };

struct Endpoint {
    std::string method;  ///< `GET` (serves `HEAD` too), `POST` (takes a JSON body) `PUT` (the same)
                         ///< or `DELETE`
    std::string pattern;  ///< e.g. `/v1/facilities/{id}`
    Privacy privacy = Privacy::open;
    std::function<HttpResponse(const HttpRequest&)> handle;
    /// The names it takes in a query; every other is refused.
    std::vector<std::string> query = {};
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
