#include "server/http/server.hpp"

#include <fmt/format.h>
#include <httplib.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <thread>

#include "server/http/connection.hpp"
#include "server/http/internal/connection_queue.hpp"
#include "server/http/internal/connection_stream.hpp"
#include "server/http/request_checks.hpp"
#include "server/practice.hpp"
#include "server/problem.hpp"

namespace waybourne::server {

namespace {

using std::chrono::steady_clock;

/// What is known of the request that this thread is serving. The HTTP library hands neither the
/// connection nor a place of our own to its error handler, so it waits here.
struct Exchange {
    Connection* connection = nullptr;
    steady_clock::time_point began;
    std::string id;
    std::string pattern = "-";
    std::string method = "-";
    std::map<std::string, std::string> query;
    int status = 0;
    std::string address;  ///< empty where nobody needs a key
    Admission admission;
    bool has_answer = false;  ///< one of our endpoints or refusals, not the library's own
    bool must_close = false;  ///< a part of the request may be unread
};
thread_local Exchange exchange;

/// The library would share the port (SO_REUSEPORT) with whoever else serves on it. A port that has
/// just been left can be taken again.
void take_port_alone(socket_t socket) {
    const int on = 1;
    setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
}

}  // namespace

class HttpServer::Engine final : public httplib::Server {
public:
    Engine(HttpSettings settings, EndpointTable endpoints, Metrics& metrics, Log& log, Guard* guard)
        : settings_(std::move(settings)),
          endpoints_(std::move(endpoints)),
          metrics_(metrics),
          log_(log),
          guard_(guard),
          of_address_(settings_.connections_of_one_address.value_or(0)),
          run_id_(static_cast<std::uint64_t>(
              std::chrono::system_clock::now().time_since_epoch().count())) {
        new_task_queue = [this] {
            return new ConnectionQueue(settings_.connections + settings_.followers, waiting_);
        };
        set_payload_max_length(settings_.body_limit);
        set_socket_options(take_port_alone);
        set_pre_routing_handler(
            [this](const httplib::Request& request, httplib::Response& response) {
                return before_body(request, response);
            });
        const auto with_body = [this](const httplib::Request& request,
                                      httplib::Response& response) { answer(request, response); };
        Post(".*", with_body);
        Put(".*", with_body);
        set_error_handler(
            Handler{[this](const httplib::Request& /*request*/, httplib::Response& response) {
                replace_library_error(response);
            }});
    }

    int bind() {
        const int port = settings_.port == 0 ? bind_to_any_port(settings_.host)
                         : bind_to_port(settings_.host, settings_.port) ? settings_.port
                                                                        : -1;
        if (port < 0) {
            throw InputError(fmt::format("cannot listen on {} port {}: in use, or not ours",
                                         settings_.host, settings_.port));
        }
        return port;
    }

    void run() {
        if (!is_stopping_) {
            listen_after_bind();
        }
        is_finished_ = true;
    }

    void stop_all() {
        is_stopping_ = true;
        // The library ignores a stop that comes before its loop has begun.
        while (!is_finished_) {
            if (is_running()) {
                stop();
                return;
            }
            std::this_thread::sleep_for(std::chrono::milliseconds{1});
        }
    }

private:
    bool process_and_close_socket(socket_t socket) override {
        metrics_.connection_opened();
        // TCP_NODELAY: without it the last packet of an answer waits for the client's delayed
        // acknowledgement, 40 ms.
        const int on = 1;
        setsockopt(socket, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
        Connection connection{socket, settings_.tls == nullptr ? plain_channel(socket)
                                                               : settings_.tls->channel(socket)};
        const bool is_limited = settings_.connections_of_one_address.has_value();
        const auto place = is_limited ? of_address_.enter(network_of(socket)) : nullptr;
        if (is_limited && place == nullptr) {
            refuse_connection(connection, "too many connections from there");
        } else {
            serve(connection);
        }
        connection.finish();
        ::shutdown(socket, SHUT_RDWR);
        ::close(socket);
        metrics_.connection_closed();
        return true;
    }

    void serve(Connection& connection) {
        const auto somebody_waits = [this] { return is_stopping_ || waiting_ > 0; };
        const auto nobody_waits = [this] { return is_stopping_.load(); };
        if (waiting_ > settings_.waiting) {
            refuse_connection(connection, "too many connections");
            return;
        }
        for (std::size_t served = 0; served < settings_.requests_per_connection; ++served) {
            const bool is_first = served == 0;
            if (!(is_first ? connection.wait_for_request(settings_.receive_limit, nobody_waits)
                           : connection.wait_for_request(settings_.idle_limit, somebody_waits))) {
                return;
            }
            if (!serve_one(connection, served + 1 == settings_.requests_per_connection)) {
                return;
            }
        }
    }

    /// False when the connection must close.
    bool serve_one(Connection& connection, bool is_last) {
        connection.begin_request(settings_.header_limit + settings_.body_limit,
                                 settings_.receive_limit, settings_.send_limit);
        exchange = Exchange{};
        exchange.connection = &connection;
        exchange.began = steady_clock::now();
        exchange.id = next_id();
        bool is_closed = false;
        const bool close = is_last || is_stopping_ || waiting_ > 0;
        ConnectionStream stream{connection};
        const bool is_whole =
            process_request(stream, close, is_closed, [](httplib::Request& request) {
                // Every answer goes whole (RFC 9110, section 14.2, allows it): the library would
                // send overlapping parts as often as they are named.
                request.ranges.clear();
                request.headers.erase("Range");
                // Brotli at its default setting costs more than the answer itself.
                const bool takes_gzip =
                    request.get_header_value("Accept-Encoding").find("gzip") != std::string::npos;
                request.headers.erase("Accept-Encoding");
                if (takes_gzip) {
                    request.headers.emplace("Accept-Encoding", "gzip");
                }
            });
        if (exchange.has_answer || connection.cut_off() == CutOff::too_slow ||
            connection.cut_off() == CutOff::too_large) {
            note_request();
        }
        exchange.admission = {};                  // another request with this key may come in now
        const bool is_sent = connection.flush();  // counted before: who has the answer can see it
        return is_whole && is_sent && !is_closed && !close && !exchange.must_close &&
               connection.cut_off() == CutOff::none;
    }

    /// Everything that can be judged by the request line and the header fields. `GET` is answered
    /// here; a body is read only when this says `Unhandled`.
    HandlerResponse before_body(const httplib::Request& request, httplib::Response& response) {
        try {
            const RequestHead head{request.method, request.target, request.headers};
            check_head(head, settings_);
            const PathMatch path = check_path(head, request.path, endpoints_);
            exchange.pattern = path.pattern;
            exchange.method = request.method;
            check_method(head, path, endpoints_);
            if (guard_ != nullptr) {
                exchange.address = network_of(exchange.connection->socket());
                exchange.admission = guard_->admit(
                    {request.method, path.pattern, head.field("Authorization"), exchange.address});
            }
            exchange.query = check_query(head, *endpoints_.find(path, request.method));
            check_body(head, settings_);
        } catch (const HttpRefusal&) {
            exchange.must_close = true;  // a body may follow that nobody reads
            put_problem(to_problem(std::current_exception()), response);
            return HandlerResponse::Handled;
        }
        if (takes_body(request.method)) {
            return HandlerResponse::Unhandled;
        }
        answer(request, response);
        return HandlerResponse::Handled;
    }

    void answer(const httplib::Request& request, httplib::Response& response) {
        const auto path = endpoints_.find_path(request.path);
        const Endpoint* endpoint = path ? endpoints_.find(*path, request.method) : nullptr;
        if (endpoint == nullptr) {
            put_problem(http_refusal(404, "nothing is served under this path"), response);
            return;
        }
        try {
            HttpResponse made = endpoint->handle(asked(request, *path));
            response.status = made.status;
            for (const auto& [name, value] : made.headers) {
                response.set_header(name, value);
            }
            if (made.stream) {
                put_stream(std::move(made.stream), made.content_type, response);
            } else if (made.status != 304 && made.status != 204) {
                put_body(std::move(made), request.has_header("Accept-Encoding"), response);
            }
            put_common_headers(endpoint->privacy, response);
        } catch (...) {
            const Problem problem = to_problem(std::current_exception());
            if (problem.type == "internal" || problem.type == "damaged-data") {
                log_.event(Level::error, problem.type, {{"request", exchange.id}});
            }
            put_problem(problem, response);
        }
    }

    /// As `set_content`, without a copy of the body. What the library would not compress by itself
    /// goes as it was compressed beforehand.
    static void put_body(HttpResponse made, bool takes_gzip, httplib::Response& response) {
        const bool has_both = !made.gzip_body.empty();
        if (has_both) {
            response.set_header("Vary", "Accept-Encoding");
        }
        if (has_both && takes_gzip) {
            response.body = std::move(made.gzip_body);
            response.set_header("Content-Encoding", "gzip");
        } else {
            response.body = std::move(made.body);
        }
        response.set_header("Content-Type", made.content_type);
    }

    /// Whether whoever asks practises.
    bool is_practice() const { return settings_.is_practice || exchange.admission.caller.practice; }

    HttpRequest asked(const httplib::Request& request, const PathMatch& path) const {
        HttpRequest made{exchange.id, request.method, path.path_values, request.body};
        made.query = exchange.query;
        made.if_none_match = request.get_header_value("If-None-Match");
        made.if_match = request.get_header_value("If-Match");
        made.idempotency_key = request.get_header_value("Idempotency-Key");
        made.last_event_id = request.get_header_value("Last-Event-ID");
        made.caller = exchange.admission.caller;
        made.caller.languages = request.get_header_value("Accept-Language");
        made.caller.practice = is_practice();
        made.authorization = request.get_header_value("Authorization");
        made.address = exchange.address;
        return made;
    }

    /// Writes until the stream ends, nobody listens or the server stops; then the connection
    /// closes.
    void put_stream(std::function<void(Follower&)> stream, const std::string& content_type,
                    httplib::Response& response) {
        if (following_.fetch_add(1) >= settings_.followers) {
            --following_;
            throw HttpRefusal(http_refusal(503, "too many follow already; try again in a moment"));
        }
        exchange.must_close = true;
        const std::shared_ptr<void> place{nullptr, [this](void*) { --following_; }};
        response.set_chunked_content_provider(
            content_type, [this, stream = std::move(stream), place](std::size_t /*offset*/,
                                                                    httplib::DataSink& sink) {
                SinkFollower follower{
                    sink, *exchange.connection, [this] {
                        return !is_stopping_ &&
                               (guard_ == nullptr || guard_->is_in_force(exchange.admission));
                    }};
                stream(follower);
                sink.done();
                return true;
            });
    }

    void put_problem(const Problem& problem, httplib::Response& response) {
        response.status = problem.status;
        for (const auto& [name, value] : problem.headers) {
            response.set_header(name, value);
        }
        response.set_content(render_problem(problem), "application/problem+json");
        put_common_headers(Privacy::personal, response);
    }

    void put_common_headers(Privacy privacy, httplib::Response& response) {
        exchange.has_answer = true;
        exchange.status = response.status;
        response.set_header("Request-Id", exchange.id);
        response.set_header("X-Content-Type-Options", "nosniff");
        if (!response.has_header("Content-Security-Policy")) {  // the page brings its own
            response.set_header("Content-Security-Policy",
                                "default-src 'none'; frame-ancestors 'none'; base-uri 'none'");
        }
        response.set_header("Referrer-Policy", "no-referrer");
        if (is_practice()) {
            response.set_header(practice_field, "yes");
        }
        response.set_header("Cross-Origin-Resource-Policy", "same-origin");
        if (settings_.tls != nullptr) {  // a year (RFC 6797, section 6.1.1)
            response.set_header("Strict-Transport-Security", "max-age=31536000");
        }
        if (!response.has_header("Cache-Control")) {
            response.set_header("Cache-Control",
                                privacy == Privacy::personal ? "no-store" : "no-cache");
        }
        if (exchange.must_close) {
            response.headers.erase("Connection");
            response.set_header("Connection", "close");
        }
    }

    /// The library answers some requests itself (a malformed request line, a body cut short): those
    /// become problems too, and the connection closes, since what is left unread is unknown.
    void replace_library_error(httplib::Response& response) {
        if (exchange.has_answer) {
            return;
        }
        exchange.must_close = true;
        response.headers.clear();
        const CutOff cut_off =
            exchange.connection == nullptr ? CutOff::none : exchange.connection->cut_off();
        if (cut_off == CutOff::too_slow) {
            put_problem(http_refusal(408, "the request did not arrive in time"), response);
        } else if (cut_off == CutOff::too_large || response.status == 413) {
            put_problem(exchange.method == "-" ? http_refusal(431, "the header is too large")
                                               : body_too_large(settings_),
                        response);
        } else if (response.status == 414) {
            put_problem(http_refusal(414, "the path is too long"), response);
        } else {
            put_problem(http_refusal(400, "this is not a whole HTTP/1.1 request"), response);
        }
    }

    void refuse_connection(Connection& connection, const char* why) {
        metrics_.connection_refused();
        const std::string body =
            render_problem(http_refusal(503, std::string{why} + "; try again in a moment"));
        const std::string whole = fmt::format(
            "HTTP/1.1 503 Service Unavailable\r\nContent-Type: application/problem+json\r\n"
            "Content-Length: {}\r\nRetry-After: 1\r\nConnection: close\r\n\r\n{}",
            body.size(), body);
        connection.begin_request(0, settings_.receive_limit, std::chrono::milliseconds{200});
        connection.write(whole);
        connection.flush();
    }

    void note_request() {
        const auto took = std::chrono::duration_cast<std::chrono::microseconds>(
            steady_clock::now() - exchange.began);
        if (!is_practice()) {
            metrics_.count_request(exchange.method, exchange.pattern, exchange.status, took);
        }
        log_.event(exchange.status >= 500 ? Level::warning : Level::info, "request",
                   {{"id", exchange.id},
                    {"method", exchange.method},
                    {"path", exchange.pattern},
                    {"status", std::to_string(exchange.status)},
                    {"ms", fmt::format("{:.1f}", static_cast<double>(took.count()) / 1000.0)}});
    }

    std::string next_id() {
        return fmt::format("{:x}-{}", run_id_ & 0xFFFFFFFFU, ++request_count_);
    }

    HttpSettings settings_;
    EndpointTable endpoints_;
    Metrics& metrics_;
    Log& log_;
    Guard* guard_;
    Concurrency of_address_;
    std::uint64_t run_id_;
    std::atomic<std::uint64_t> request_count_{0};
    std::atomic<std::size_t> waiting_{0};
    std::atomic<std::size_t> following_{0};
    std::atomic<bool> is_stopping_{false};
    std::atomic<bool> is_finished_{false};
};

HttpServer::HttpServer(HttpSettings settings, EndpointTable endpoints, Metrics& metrics, Log& log,
                       Guard* guard)
    : engine_(std::make_unique<Engine>(std::move(settings), std::move(endpoints), metrics, log,
                                       guard)) {}

HttpServer::~HttpServer() = default;

int HttpServer::bind() {
    return engine_->bind();
}
void HttpServer::run() {
    engine_->run();
}
void HttpServer::stop() {
    engine_->stop_all();
}

}  // namespace waybourne::server
