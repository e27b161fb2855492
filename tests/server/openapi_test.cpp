#include <doctest/doctest.h>

#include <set>
#include <string>

#include "tests/server/guarded_sample.hpp"

// The other direction, that each described operation is served and answers as described, is in
// api_test.mjs.

namespace waybourne::server::test {

TEST_CASE("The server serves exactly what the API reference describes") {
    const ClockFrom clock{parse_rfc3339(sample_now)};
    Metrics metrics;
    Workers workers{1};
    const Application application{Current<Snapshot>{sample_snapshot()}, clock, metrics, workers,
                                  ""};
    const EndpointTable table = all_endpoints(application);
    std::set<std::string> served;
    for (const Endpoint& endpoint : table.endpoints()) {
        served.insert(endpoint.method + " " + endpoint.pattern);
    }
    std::set<std::string> described;
    for (const Described& operation : described_operations()) {
        described.insert(operation.method + " " + operation.pattern);
    }
    CHECK(served == described);
    CHECK(served.size() == table.endpoints().size());
}

}  // namespace waybourne::server::test
