#include "server/json/route.hpp"

#include <fmt/format.h>

#include <cmath>
#include <ostream>

#include "server/cli/commands.hpp"
#include "server/cli/page.hpp"
#include "server/json/request.hpp"

namespace waybourne::server {

namespace {

std::string request_json(const RouteOptions& options) {
    JsonWriter json;
    json.begin_object();
    write_way_members(json, options);
    return json.end_object().take();
}

}  // namespace

int run_route(const RouteOptions& options, Terminal& terminal) {
    const RouteRequest request = parse_route_request(request_json(options));
    const Instant now = moment_of(options.common);
    const auto snapshot = snapshot_of(options.common, now);
    const RouteAnswer answer = answer_route(*snapshot, request, now);
    if (options.common.json) {
        JsonWriter json{2};
        write_route_answer(json, answer);
        terminal.out << json.take() << '\n';
        return 0;
    }
    if (!answer.route) {
        terminal.out << "There is no way, for these means under these conditions.\n";
        return 0;
    }
    const Words words{snapshot->catalogue, snapshot->zone, now};
    terminal.out << fmt::format(
        "{}, usually {}, allow {}; leaving {}\n", distance_words(answer.route->distance),
        words.span(answer.route->travel_time.typical), words.span(answer.route->travel_time.allow),
        words.clock(answer.leave_at));
    for (const std::string& line : way_lines(*answer.route, words)) {
        terminal.out << "  " << line << '\n';
    }
    return 0;
}

}  // namespace waybourne::server
