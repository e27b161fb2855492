#include <doctest/doctest.h>

#include <fstream>
#include <regex>
#include <set>
#include <string>

#include "tests/server/served_sample.hpp"

// The other direction, that each described operation is served and answers as described, is in
// api_test.mjs.

namespace waybourne::server::test {

namespace {

/// `GET /livez` and so on, from the lines of the document.
std::set<std::string> described_operations() {
    const std::regex path_line{R"(^  (/\S*):$)"};
    const std::regex method_line{R"(^    (get|post|put|patch|delete):$)"};
    std::ifstream document{std::string{WAYBOURNE_SOURCE_DIR} + "/docs/openapi.yaml"};
    std::set<std::string> operations;
    std::string path;
    for (std::string line; std::getline(document, line);) {
        std::smatch found;
        if (std::regex_match(line, found, path_line)) {
            path = found[1];
        } else if (std::regex_match(line, found, method_line)) {
            std::string method = found[1];
            for (char& letter : method) {
                letter = static_cast<char>(letter - 'a' + 'A');
            }
            operations.insert(method.append(" ").append(path));
        }
    }
    return operations;
}

}  // namespace

TEST_CASE("The server serves exactly what the API reference describes") {
    const ClockFrom clock{parse_rfc3339(sample_now)};
    Metrics metrics;
    Workers workers{1};
    const Application application{Current<Snapshot>{sample_snapshot()}, clock, metrics, workers, ""};
    const EndpointTable table = all_endpoints(application);
    std::set<std::string> served;
    for (const Endpoint& endpoint : table.endpoints()) {
        served.insert(endpoint.method + " " + endpoint.pattern);
    }
    CHECK(served == described_operations());
    CHECK(served.size() == table.endpoints().size());
}

}  // namespace waybourne::server::test
