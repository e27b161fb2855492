#include <arpa/inet.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include "tests/bench/figure.hpp"

// A whole recommendation on the sample over HTTP, eight clients at once, and what serving costs in
// memory. The program is measured as it is installed: its own process, its own clients.

namespace {

namespace fs = std::filesystem;
using namespace waybourne::bench;

const std::string request_body = R"({
  "readings": [{"taken_at": "2026-03-04T09:35:00Z", "systolic_mmhg": 165, "diastolic_mmhg": 112,
                "pulse_per_minute": 96}],
  "findings": {"status": "pregnant", "gestation_weeks": 34, "avpu": "A", "convulsions": "no",
               "bleeding": "none", "severe_headache": "yes", "urine_protein": 2, "temp_c": 37.2},
  "available_here": ["oral_antihypertensive"], "from": {"facility": "kezhiru-clinic"},
  "transport": {"means": "car", "ready_in_minutes": 10},
  "road_conditions": {"surface": "wet", "light": "day"}})";

/// `waybourne serve` as a child process.
class Served {
public:
    Served() {
        std::array<int, 2> ends{};
        if (pipe(ends.data()) != 0) {
            throw std::runtime_error("no pipe");
        }
        const fs::path program =
            fs::read_symlink("/proc/self/exe").parent_path() / ".." / ".." / "server" / "waybourne";
        child_ = fork();
        if (child_ == 0) {
            dup2(ends[1], STDOUT_FILENO);
            if (std::freopen("/dev/null", "w", stderr) == nullptr) {
                _exit(1);
            }
            execl(program.c_str(), "waybourne", "serve", "--port", "0", "--now",
                  "2026-03-04T09:40:00Z", nullptr);
            _exit(127);
        }
        close(ends[1]);
        std::string heard;
        char letter = 0;
        while (read(ends[0], &letter, 1) == 1 && letter != '\n') {
            heard += letter;
        }
        close(ends[0]);
        const std::string before = "127.0.0.1:";
        const std::size_t at = heard.find(before);
        if (at == std::string::npos) {
            throw std::runtime_error("waybourne serve did not start");
        }
        port_ = std::stoi(heard.substr(at + before.size()));
    }
    ~Served() {
        kill(child_, SIGTERM);
        waitpid(child_, nullptr, 0);
    }
    Served(const Served&) = delete;
    Served& operator=(const Served&) = delete;

    int port() const { return port_; }
    /// VmRSS, or VmHWM for the highest so far.
    double resident_megabytes(const std::string& name) const {
        std::ifstream status{"/proc/" + std::to_string(child_) + "/status"};
        for (std::string line; std::getline(status, line);) {
            if (line.starts_with(name + ":")) {
                return std::stod(line.substr(name.size() + 1)) / 1024;
            }
        }
        throw std::runtime_error("no " + name);
    }

private:
    pid_t child_ = 0;
    int port_ = 0;
};

/// Seconds from the first byte sent to the last byte received, for each request of one client.
std::vector<double> ask(int port, int times) {
    const int connection = socket(AF_INET, SOCK_STREAM, 0);
    const int on = 1;
    setsockopt(connection, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(port));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    if (connect(connection, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
        throw std::runtime_error("cannot connect");
    }
    const std::string request =
        "POST /v1/recommendations HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
        "Content-Length: " +
        std::to_string(request_body.size()) + "\r\n\r\n" + request_body;
    std::vector<double> took;
    took.reserve(static_cast<std::size_t>(times));
    for (int i = 0; i < times; ++i) {
        took.push_back(seconds([&] {
            send(connection, request.data(), request.size(), MSG_NOSIGNAL);
            std::string reply;
            std::size_t whole = std::string::npos;
            while (reply.size() < whole) {
                std::array<char, 65536> block{};
                const ssize_t count = recv(connection, block.data(), block.size(), 0);
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
        }));
    }
    close(connection);
    return took;
}

void measure(const Arguments& arguments) {
    constexpr int clients = 8;
    constexpr int requests = 250;
    const Served served;
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
    if (!arguments.wants("server_latency") && !arguments.wants("server_memory")) {
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
