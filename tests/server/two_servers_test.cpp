#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <mutex>
#include <thread>

#include "tests/journal/cluster.hpp"
#include "tests/server/recorded_sample.hpp"
#include "tests/server/served_program.hpp"

// Two servers of one district on one PostgreSQL, each a process of its own, under load from both
// sides. What they promise: docs/journal.md and docs/decisions/0006.

namespace waybourne::server::test {

namespace {

Reply send(int port, const std::string& method, const std::string& path,
           const std::string& body = "", const std::string& fields = "") {
    RawClient client{port};
    std::string bytes = method + " " + path + " HTTP/1.1\r\nHost: localhost\r\n" + fields;
    if (method == "POST") {
        bytes +=
            "Content-Type: application/json\r\nContent-Length: " + std::to_string(body.size()) +
            "\r\n";
    }
    client.send(bytes + "\r\n" + body);
    return parse_reply(client.receive());
}

std::string open_at(int port) {
    const Reply reply = send(port, "POST", "/v1/referrals", opening_body());
    return reply.status == 201 ? text_at(parse_json(reply.body), "code") : "";
}

/// Everything that a follower from the beginning hears, until `last` has been told.
std::vector<std::string> steps_heard(int port, const std::string& last) {
    RawClient client{port};
    client.send("GET /v1/live HTTP/1.1\r\nHost: localhost\r\nLast-Event-ID: 0\r\n\r\n");
    std::string heard;
    for (int i = 0; i < 100 && heard.find(last) == std::string::npos; ++i) {
        heard += client.receive(std::chrono::milliseconds{100});
    }
    std::vector<std::string> steps;
    std::string id;
    for (std::size_t at = 0; at < heard.size();) {
        const std::size_t end = std::min(heard.find('\n', at), heard.size());
        const std::string line = heard.substr(at, end - at);
        if (line.starts_with("id: ")) {
            id = line;
        } else if (line.starts_with("data: ")) {
            // the state is that of the moment of telling, so it may differ; what happened may not
            steps.push_back(id + " " + line.substr(0, line.find(",\"state\"")));
        }
        at = end + 1;
    }
    return steps;
}

/// What was acknowledged, by which entity tag.
struct Acknowledged {
    std::mutex mutex;
    std::map<std::string, std::string> vehicle_by_tag;
    int overtaken = 0;
    int twice = 0;
    int others = 0;
};

/// Assigns vehicles to one referral, each time on what it has just seen; tries again when somebody
/// was quicker.
void assign_vehicles(int port, const std::string& code, const std::string& name, int times,
                     Acknowledged& all) {
    for (int i = 0; i < times; ++i) {
        const std::string vehicle = name + "-" + std::to_string(i);
        for (bool is_done = false; !is_done;) {
            const std::string tag = send(port, "GET", "/v1/referrals/" + code).field("ETag");
            const Reply reply =
                send(port, "POST", "/v1/referrals/" + code + "/events",
                     R"({"step": "vehicle_assigned", "vehicle": ")" + vehicle + "\"}",
                     "If-Match: " + tag + "\r\n");
            const std::lock_guard lock{all.mutex};
            if (reply.status == 200) {
                all.twice += all.vehicle_by_tag.emplace(tag, vehicle).second ? 0 : 1;
                is_done = true;
            } else if (reply.status == 412 || reply.status == 503) {
                ++all.overtaken;  // 503: too busy to store it now; nothing was, it is asked again
            } else {
                ++all.others;
                is_done = true;
            }
        }
    }
}

}  // namespace

TEST_CASE(
    "Two servers on one PostgreSQL: what one takes the other shows, in one order, and no "
    "update is lost") {
    const std::string address = journal::test::new_postgres_address();
    const ServedProgram one{{"--journal", address}};
    const ServedProgram other{{"--journal", address}};

    // under load: two clients at each server open referrals, two more race for one and the same
    const std::string contested = open_at(one.port());
    REQUIRE_FALSE(contested.empty());
    constexpr int each = 8;
    Acknowledged acknowledged;
    std::mutex mutex;
    std::vector<std::string> opened;
    std::vector<std::thread> clients;
    for (const int port : {one.port(), other.port()}) {
        clients.emplace_back([&, port] {
            for (int i = 0; i < each; ++i) {
                std::string code = open_at(port);
                const std::lock_guard lock{mutex};
                opened.push_back(std::move(code));
            }
        });
        clients.emplace_back([&, port] {
            assign_vehicles(port, contested, "vehicle-" + std::to_string(port), each, acknowledged);
        });
    }
    // meanwhile: opened at one, seen at the other
    std::vector<std::chrono::milliseconds> seen_after;
    for (int i = 0; i < 9; ++i) {
        const std::string code = open_at(one.port());
        const auto began = std::chrono::steady_clock::now();
        while (send(other.port(), "GET", "/v1/referrals/" + code).status != 200 &&
               std::chrono::steady_clock::now() - began < std::chrono::seconds{10}) {
        }
        seen_after.push_back(std::chrono::duration_cast<std::chrono::milliseconds>(
            std::chrono::steady_clock::now() - began));
    }
    for (std::thread& client : clients) {
        client.join();
    }
    std::sort(seen_after.begin(), seen_after.end());
    const auto median = seen_after[seen_after.size() / 2].count();
    MESSAGE("seen at the other server after " << median << " ms (median of 9), "
                                              << acknowledged.overtaken << " races lost and "
                                              << "repeated");
    CHECK(median < 1000);
    CHECK(std::count(opened.begin(), opened.end(), "") == 0);

    // each acknowledged assignment stands once, on a state that nobody else had changed
    CHECK(acknowledged.twice == 0);
    CHECK(acknowledged.others == 0);
    CHECK(acknowledged.vehicle_by_tag.size() == 2 * each);
    const auto assigned_at = [&](int port) {
        std::vector<std::string> vehicles;
        const JsonValue shown = parse_json(send(port, "GET", "/v1/referrals/" + contested).body);
        for (const JsonValue& event : at(shown, "history").items()) {
            if (text_at(event, "step") == "vehicle_assigned") {
                vehicles.push_back(text_at(event, "vehicle"));
            }
        }
        return vehicles;
    };
    const auto at_one = assigned_at(one.port());
    CHECK(at_one == assigned_at(other.port()));
    std::vector<std::string> expected;
    for (const auto& [tag, vehicle] : acknowledged.vehicle_by_tag) {
        expected.push_back(vehicle);
    }
    auto sorted = at_one;
    std::sort(sorted.begin(), sorted.end());
    std::sort(expected.begin(), expected.end());
    CHECK(sorted == expected);

    // and both tell the same story from the first event to the last
    const std::string last = open_at(other.port());
    const auto story = steps_heard(one.port(), last);
    CHECK(story.size() == 1 + 2 * each + 2 * each + 9 + 1);
    CHECK(story == steps_heard(other.port(), last));
}

}  // namespace waybourne::server::test
