#pragma once
/// Serving endpoints over HTTP/1.1, with a limit on everything a client can send.

#include <chrono>
#include <memory>
#include <optional>
#include <string>

#include "server/http/channel.hpp"
#include "server/http/endpoint.hpp"
#include "server/log.hpp"
#include "server/metrics.hpp"
#include "server/security/guard.hpp"

namespace waybourne::server {

/// Limits are ours, sized for phones on slow links and for one small machine (common practice, no
/// source).
struct HttpSettings {
    std::string host = "127.0.0.1";
    int port = 8080;  ///< 0: any free one
    std::size_t body_limit = 64UL * 1024;
    /// All header fields of one request together.
    std::size_t header_limit = 16UL * 1024;
    std::size_t path_limit = 256;
    /// From the first byte of a request to its last, however slowly it drips.
    std::chrono::milliseconds receive_limit{10'000};
    /// For an answer to be taken.
    std::chrono::milliseconds send_limit{10'000};
    /// How long a connection may idle between requests; less when others wait.
    std::chrono::milliseconds idle_limit{15'000};
    std::size_t requests_per_connection = 1'000;
    /// Connections served at once, one thread each.
    std::size_t connections = 64;
    /// Of one address at once, those that follow included, so that one machine does not take all
    /// places; none: no limit. Phones of one hospital share an address.
    std::optional<std::size_t> connections_of_one_address = {};
    /// Answers that do not end (`/v1/live`) at once, each with a thread besides those.
    std::size_t followers = 64;
    /// Connections that may wait for a thread; more are turned away with 503.
    std::size_t waiting = 256;
    /// Everybody practises here, whatever their key says.
    bool is_practice = false;
    /// Null: without TLS.
    std::shared_ptr<const TlsIdentity> tls = nullptr;
};

/// Whether the host is this machine only: `localhost`, `127.…`, `::1`.
bool is_loopback(const std::string& host);

/// One server on one port. `run` blocks; `stop` may come from any thread, at any time, and lets
/// every request that has begun finish.
class HttpServer {
public:
    /// @param guard null: nobody needs a key, and whoever comes may do everything
    HttpServer(HttpSettings settings, EndpointTable endpoints, Metrics& metrics, Log& log,
               Guard* guard = nullptr);
    ~HttpServer();
    HttpServer(const HttpServer&) = delete;
    HttpServer& operator=(const HttpServer&) = delete;

    /// Takes the port and returns it.
    /// @throws InputError when the port cannot be had
    int bind();
    /// Serves until stopped. Only after `bind`.
    void run();
    void stop();

private:
    class Engine;
    std::unique_ptr<Engine> engine_;
};

}  // namespace waybourne::server
