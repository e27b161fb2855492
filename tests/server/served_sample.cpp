#include "tests/server/served_sample.hpp"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <regex>
#include <stdexcept>

#include "server/load_district.hpp"
#include "server/page_files.hpp"
#include "server/program_files.hpp"

namespace waybourne::server::test {

namespace {

using std::chrono::milliseconds;
using std::chrono::steady_clock;

/// Whether `bytes` holds a whole answer, by its Content-Length.
bool is_whole(const std::string& bytes) {
    const std::size_t end = bytes.find("\r\n\r\n");
    if (end == std::string::npos) {
        return false;
    }
    const Reply reply = parse_reply(bytes);
    const std::string length = reply.field("Content-Length");
    return length.empty() || reply.body.size() >= std::stoul(length);
}

}  // namespace

HttpSettings on_free_port(HttpSettings settings) {
    settings.port = 0;
    return settings;
}

std::shared_ptr<const Snapshot> sample_snapshot() {
    static const auto snapshot = [] {
        LoadOptions options;
        options.folder = program_folder() / "maps-sample";
        options.now = parse_rfc3339(sample_now);
        return load_district(options);
    }();
    return snapshot;
}

std::shared_ptr<const PageFiles> sample_page() {
    static const auto page =
        std::make_shared<const PageFiles>(read_page_files(program_folder() / "page"));
    return page;
}

ServedSample::ServedSample(HttpSettings settings)
    : application_{Current<Snapshot>{sample_snapshot()},
                   clock_,
                   metrics_,
                   workers_,
                   "openapi: 3.1.0\n",
                   nullptr,
                   nullptr,
                   nullptr,
                   nullptr,
                   {},
                   nullptr,
                   {},
                   sample_page(),
                   nullptr,
                   unhurried},
      server_(on_free_port(std::move(settings)), all_endpoints(application_), metrics_, log_),
      port_(server_.bind()),
      thread_([this] { server_.run(); }) {}

ServedSample::~ServedSample() {
    stop();
}

std::string ServedSample::stop() {
    if (thread_.joinable()) {
        server_.stop();
        thread_.join();
    }
    return *log_text_;
}

RawClient::RawClient(int port, const std::string& from)
    : socket_(::socket(AF_INET, SOCK_STREAM, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    inet_pton(AF_INET, from.c_str(), &address.sin_addr);
    if (from != "127.0.0.1" &&
        ::bind(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
        ::close(socket_);
        throw std::runtime_error("cannot take that address");
    }
    address.sin_port = htons(static_cast<std::uint16_t>(port));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    if (::connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
        ::close(socket_);
        throw std::runtime_error("cannot connect");
    }
}

RawClient::~RawClient() {
    ::close(socket_);
}

bool RawClient::send(const std::string& bytes) {
    for (std::size_t sent = 0; sent < bytes.size();) {
        const ssize_t count =
            ::send(socket_, bytes.data() + sent, bytes.size() - sent, MSG_NOSIGNAL);
        if (count <= 0) {
            return false;
        }
        sent += static_cast<std::size_t>(count);
    }
    return true;
}

std::string RawClient::receive(milliseconds limit) {
    const auto until = steady_clock::now() + limit;
    std::string all;
    while (!is_whole(all)) {
        const auto left =
            std::chrono::duration_cast<milliseconds>(until - steady_clock::now()).count();
        pollfd one{socket_, POLLIN, 0};
        std::array<char, 16384> block{};
        if (left <= 0 || poll(&one, 1, static_cast<int>(left)) <= 0) {
            break;
        }
        const ssize_t count = recv(socket_, block.data(), block.size(), 0);
        if (count <= 0) {
            break;
        }
        all.append(block.data(), static_cast<std::size_t>(count));
    }
    return all;
}

bool RawClient::is_closed(milliseconds limit) {
    pollfd one{socket_, POLLIN, 0};
    char byte = 0;
    return poll(&one, 1, static_cast<int>(limit.count())) > 0 && recv(socket_, &byte, 1, 0) <= 0;
}

std::string Reply::field(const std::string& name) const {
    const std::size_t at = head.find("\r\n" + name + ": ");
    if (at == std::string::npos) {
        return "";
    }
    const std::size_t from = at + name.size() + 4;
    return head.substr(from, head.find("\r\n", from) - from);
}

std::string without_chance(const std::string& log) {
    static const std::regex drawn{" (id|ms)=[^ \n]*"};
    return std::regex_replace(log, drawn, "");
}

Reply parse_reply(const std::string& bytes) {
    const std::size_t end = bytes.find("\r\n\r\n");
    if (!bytes.starts_with("HTTP/1.1 ") || end == std::string::npos) {
        return {};
    }
    return {std::stoi(bytes.substr(9, 3)), bytes.substr(0, end + 2), bytes.substr(end + 4)};
}

std::string post_bytes(const std::string& path, const std::string& body,
                       const std::string& content_type) {
    return "POST " + path + " HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: " + content_type +
           "\r\nContent-Length: " + std::to_string(body.size()) + "\r\n\r\n" + body;
}

Reply get(int port, const std::string& path) {
    RawClient client{port};
    client.send("GET " + path + " HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n");
    return parse_reply(client.receive());
}

Reply post(int port, const std::string& path, const std::string& body,
           const std::string& content_type) {
    RawClient client{port};
    client.send(post_bytes(path, body, content_type));
    return parse_reply(client.receive());
}

}  // namespace waybourne::server::test

/// Read by the thread sanitizer, which does not see into libcpp-httplib: its end mark of a stream
/// is a constant made once, behind a guard, and then read by every thread that writes one.
// NOLINTNEXTLINE(bugprone-reserved-identifier,readability-identifier-naming): the sanitizer's name
extern "C" const char* __tsan_default_suppressions() {
    return "race:^httplib::detail::write_data\n";
}
