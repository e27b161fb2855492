#include "server/workers.hpp"

#include <doctest/doctest.h>

#include <atomic>
#include <latch>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

namespace waybourne::server::test {

TEST_CASE("An answer comes back to the request that asked for it") {
    Workers workers{2};
    std::atomic<int> mistaken{0};
    std::vector<std::thread> clients;
    for (int client = 0; client < 8; ++client) {
        clients.emplace_back([&, client] {
            for (int i = 0; i < 100; ++i) {
                const std::string asked = std::to_string(client) + "/" + std::to_string(i);
                if (workers.run([&] { return HttpResponse{200, asked}; }).body != asked) {
                    ++mistaken;
                }
            }
        });
    }
    for (std::thread& client : clients) {
        client.join();
    }
    CHECK(mistaken == 0);
}

TEST_CASE("No more is computed at once than there are workers") {
    constexpr int count = 2;
    Workers workers{count};
    std::atomic<int> busy{0};
    std::atomic<int> most{0};
    std::vector<std::thread> clients;
    for (int client = 0; client < 6; ++client) {
        clients.emplace_back([&] {
            workers.run([&] {
                const int now = ++busy;
                for (int seen = most; now > seen && !most.compare_exchange_weak(seen, now);) {
                }
                std::this_thread::yield();
                --busy;
                return HttpResponse{};
            });
        });
    }
    for (std::thread& client : clients) {
        client.join();
    }
    CHECK(most <= count);
}

TEST_CASE("What goes wrong in the work goes wrong for the one who asked, and for nobody else") {
    Workers workers{1};
    CHECK_THROWS_WITH_AS(
        workers.run([]() -> HttpResponse { throw std::runtime_error("no such clinic"); }),
        "no such clinic", std::runtime_error);
    CHECK(workers.run([] { return HttpResponse{204}; }).status == 204);
}

TEST_CASE("Who came first is answered first") {
    Workers workers{1};
    std::vector<int> order;
    std::vector<std::thread> clients;
    std::latch first_began{1};
    std::latch all_wait{1};
    clients.emplace_back([&] {
        workers.run([&] {
            first_began.count_down();
            all_wait.wait();
            order.push_back(0);
            return HttpResponse{};
        });
    });
    first_began.wait();
    for (int client = 1; client <= 4; ++client) {
        clients.emplace_back([&, client] {
            workers.run([&, client] {
                order.push_back(client);
                return HttpResponse{};
            });
        });
        while (workers.waiting() < static_cast<std::size_t>(client)) {
            std::this_thread::yield();
        }
    }
    all_wait.count_down();
    for (std::thread& client : clients) {
        client.join();
    }
    CHECK(order == std::vector<int>{0, 1, 2, 3, 4});
}

}  // namespace waybourne::server::test
