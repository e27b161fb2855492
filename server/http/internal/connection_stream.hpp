#pragma once
/// Our connections, as the HTTP library wants them.

#include <httplib.h>

#include <functional>
#include <string>
#include <string_view>
#include <utility>

#include "server/http/connection.hpp"
#include "server/http/endpoint.hpp"

namespace waybourne::server {

/// The HTTP library's view of a connection.
class ConnectionStream final : public httplib::Stream {
public:
    explicit ConnectionStream(Connection& connection) : connection_(connection) {}
    bool is_readable() const override { return connection_.is_readable(); }
    bool is_writable() const override { return connection_.is_open(); }
    ssize_t read(char* to, size_t size) override { return connection_.read(to, size); }
    ssize_t write(const char* from, size_t size) override {
        return connection_.write({from, size}) ? static_cast<ssize_t>(size) : -1;
    }
    // Addresses are personal data and nobody here needs them.
    void get_remote_ip_and_port(std::string& ip, int& port) const override {
        ip.clear();
        port = 0;
    }
    void get_local_ip_and_port(std::string& ip, int& port) const override {
        ip.clear();
        port = 0;
    }
    socket_t socket() const override { return connection_.socket(); }

private:
    Connection& connection_;
};

/// Whoever follows an answer that does not end.
class SinkFollower final : public Follower {
public:
    /// @param may_follow asked before each sending
    SinkFollower(httplib::DataSink& sink, Connection& connection, std::function<bool()> may_follow)
        : sink_(sink), connection_(connection), may_follow_(std::move(may_follow)) {}
    bool send(std::string_view bytes) override {
        return is_there() && sink_.write(bytes.data(), bytes.size()) && connection_.flush();
    }
    bool is_there() override { return may_follow_() && connection_.is_listening(); }

private:
    httplib::DataSink& sink_;
    Connection& connection_;
    std::function<bool()> may_follow_;
};

}  // namespace waybourne::server
