#pragma once
/// The sample district served on a free port of this machine, and a client that can misbehave.

#include <chrono>
#include <memory>
#include <string>
#include <thread>

#include "server/application.hpp"
#include "server/clock.hpp"
#include "server/http/server.hpp"
#include "server/log.hpp"

namespace waybourne::server::test {

/// The moment the sample was written for.
inline constexpr const char* sample_now = "2026-03-04T09:40:00Z";

/// For a planner's question: sanitizers on a busy machine take ten times as long.
inline constexpr std::chrono::minutes unhurried{5};

/// Loaded once for all tests.
std::shared_ptr<const Snapshot> sample_snapshot();

/// The page as it lies in the source tree, read once for all tests.
std::shared_ptr<const PageFiles> sample_page();

/// The same settings, on whatever port is free.
HttpSettings on_free_port(HttpSettings settings);

class ServedSample {
public:
    explicit ServedSample(HttpSettings settings = {});
    ~ServedSample();
    ServedSample(const ServedSample&) = delete;
    ServedSample& operator=(const ServedSample&) = delete;

    int port() const { return port_; }
    /// Lets what has begun finish, then everything logged so far.
    std::string stop();

private:
    std::shared_ptr<std::string> log_text_ = std::make_shared<std::string>();
    Log log_{log_text_};
    ClockFrom clock_{parse_rfc3339(sample_now)};
    Metrics metrics_;
    Workers workers_{2};
    Application application_;
    HttpServer server_;
    int port_;
    std::thread thread_;
};

/// One connection, bytes as they are.
class RawClient {
public:
    /// @param from our own address, any of 127.0.0.0/8
    explicit RawClient(int port, const std::string& from = "127.0.0.1");
    ~RawClient();
    RawClient(const RawClient&) = delete;
    RawClient& operator=(const RawClient&) = delete;

    /// False when the other side has closed.
    bool send(const std::string& bytes);
    /// Everything until one whole answer is there, or the other side closes, or `limit` passes.
    std::string receive(std::chrono::milliseconds limit = std::chrono::minutes{2});
    bool is_closed(std::chrono::milliseconds limit);
    int socket() const { return socket_; }

private:
    int socket_;
};

struct Reply {
    int status = 0;
    std::string head;
    std::string body;
    std::string field(const std::string& name) const;
};

/// Without request ids and durations, whose digits may be anybody's.
std::string without_chance(const std::string& log);

Reply parse_reply(const std::string& bytes);
Reply get(int port, const std::string& path);
Reply post(int port, const std::string& path, const std::string& body,
           const std::string& content_type = "application/json");
/// A whole request as bytes.
std::string post_bytes(const std::string& path, const std::string& body,
                       const std::string& content_type = "application/json");

}  // namespace waybourne::server::test
