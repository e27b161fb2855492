#include <arpa/inet.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <iostream>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include "tests/bench/figure.hpp"
#include "tests/bench/served.hpp"

// A whole recommendation on the sample over HTTP, eight clients at once, and what serving costs in
// memory. The program is measured as it is installed: its own process, its own clients.

namespace {

using namespace waybourne::bench;

const std::string request_body = R"({
  "readings": [{"taken_at": "2026-03-04T09:35:00Z", "systolic_mmhg": 165, "diastolic_mmhg": 112,
                "pulse_per_minute": 96}],
  "findings": {"status": "pregnant", "gestation_weeks": 34, "avpu": "A", "convulsions": "no",
               "bleeding": "none", "severe_headache": "yes", "urine_protein": 2, "temp_c": 37.2},
  "available_here": ["oral_antihypertensive"], "from": {"facility": "kezhiru-clinic"},
  "transport": {"means": "car", "ready_in_minutes": 10},
  "road_conditions": {"surface": "wet", "light": "day"}})";

/// One connection that is kept.
class Client {
public:
    explicit Client(int port) : socket_(socket(AF_INET, SOCK_STREAM, 0)) {
        const int on = 1;
        setsockopt(socket_, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
        sockaddr_in address{};
        address.sin_family = AF_INET;
        address.sin_port = htons(static_cast<std::uint16_t>(port));
        address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        if (connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
            throw std::runtime_error("cannot connect");
        }
    }
    ~Client() { close(socket_); }
    Client(const Client&) = delete;
    Client& operator=(const Client&) = delete;

    /// The whole answer, from the first byte sent to the last byte received.
    std::string post(const std::string& path, const std::string& body) const {
        const std::string request = "POST " + path +
                                    " HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: "
                                    "application/json\r\nContent-Length: " +
                                    std::to_string(body.size()) + "\r\n\r\n" + body;
        send(socket_, request.data(), request.size(), MSG_NOSIGNAL);
        std::string reply;
        std::size_t whole = std::string::npos;
        std::array<char, 65536> block;  // left as it is: only what is received is read
        while (reply.size() < whole) {
            const ssize_t count = recv(socket_, block.data(), block.size(), 0);
            if (count <= 0) {
                throw std::runtime_error("the server hung up");
            }
            reply.append(block.data(), static_cast<std::size_t>(count));
            const std::size_t end = reply.find("\r\n\r\n");
            const std::size_t length = reply.find("Content-Length: ");
            if (end != std::string::npos && length != std::string::npos) {
                whole = end + 4 + std::stoul(reply.substr(length + 16));
            }
        }
        if (!reply.starts_with("HTTP/1.1 200")) {
            throw std::runtime_error("not answered: " + reply.substr(0, 400));
        }
        return reply;
    }

private:
    int socket_;
};

/// Seconds for each recommendation of one client.
std::vector<double> ask(int port, int times) {
    const Client client{port};
    std::vector<double> took;
    took.reserve(static_cast<std::size_t>(times));
    for (int i = 0; i < times; ++i) {
        took.push_back(seconds([&] { client.post("/v1/recommendations", request_body); }));
    }
    return took;
}

/// The place that the recommendation leads to first.
std::string chosen_place(const std::string& reply) {
    const std::string before = R"("stages":[{"facility":")";
    const std::size_t at = reply.find(before);
    if (at == std::string::npos) {
        throw std::runtime_error("no place is recommended");
    }
    return reply.substr(at + before.size(),
                        reply.find('"', at + before.size()) - at - before.size());
}

/// From sending a report, until a recommendation that counts it has arrived.
void measure_report(int port) {
    constexpr int reports = 40;
    constexpr double milliseconds = 1000;
    const Client client{port};
    const std::string usual = chosen_place(client.post("/v1/recommendations", request_body));
    std::vector<double> took;
    for (int i = 0; i < reports; ++i) {
        const bool is_closing = i % 2 == 0;
        const std::string body =
            std::string(R"({"reports": [{"about": "whole_facility", "state": ")") +
            (is_closing ? "not_ready" : "ready") + "\"}]}";
        std::string now;
        took.push_back(seconds([&] {
            client.post("/v1/facilities/" + usual + "/readiness", body);
            now = chosen_place(client.post("/v1/recommendations", request_body));
        }));
        if ((now == usual) == is_closing) {
            throw std::runtime_error("a report does not count at once");
        }
    }
    const std::string what = "a report and the recommendation that counts it, ";
    print({"report_visible", what + "median", percentile(took, 0.50) * milliseconds, "ms", "",
           "< 50", "sample"});
    print({"report_visible", what + "slowest of 40", percentile(took, 1.0) * milliseconds, "ms", "",
           "< 50", "sample"});
}

void measure(const Arguments& arguments) {
    constexpr int clients = 8;
    constexpr int requests = 250;
    const JournalFolder folder;
    const Served served{folder.file()};
    ask(served.port(), 50);  // warm
    std::vector<std::vector<double>> took(clients);
    std::vector<std::thread> threads;
    threads.reserve(took.size());
    for (auto& one : took) {
        threads.emplace_back([&] { one = ask(served.port(), requests); });
    }
    for (std::thread& thread : threads) {
        thread.join();
    }
    std::vector<double> all;
    for (const auto& one : took) {
        all.insert(all.end(), one.begin(), one.end());
    }
    constexpr double milliseconds = 1000;
    const std::string what = "POST /v1/recommendations, 8 clients, ";
    if (arguments.wants("server_latency")) {
        print({"server_latency", what + "median", percentile(all, 0.50) * milliseconds, "ms", "",
               "", "sample"});
        print({"server_latency", what + "99th percentile", percentile(all, 0.99) * milliseconds,
               "ms", "", "< 5", "sample"});
        const auto alone = ask(served.port(), requests);
        print({"server_latency", "POST /v1/recommendations, 1 client, 99th percentile",
               percentile(alone, 0.99) * milliseconds, "ms", "", "", "sample"});
    }
    if (arguments.wants("report_visible")) {
        measure_report(served.port());
    }
    if (arguments.wants("server_memory")) {
        print({"server_memory", "resident memory of serve after 2,000 recommendations",
               served.resident_megabytes("VmRSS"), "MB", "", "< 64", "sample"});
        print({"server_memory", "highest resident memory of serve, loading included",
               served.resident_megabytes("VmHWM"), "MB", "", "", "sample"});
    }
}

}  // namespace

int main(int argc, char** argv) {
    const Arguments arguments = parse_arguments(argc, argv);
    if (!arguments.wants("server_latency") && !arguments.wants("server_memory") &&
        !arguments.wants("report_visible")) {
        return 0;
    }
    try {
        measure(arguments);  // the server it started ends with it, whatever happens
    } catch (const std::exception& error) {
        std::cerr << "server_bench: " << error.what() << '\n';
        return 1;
    }
    return 0;
}
