#include <cmath>
#include <ostream>

#include "server/cli/commands.hpp"
#include "server/cli/page.hpp"
#include "server/json/request.hpp"
#include "server/json/route.hpp"
#include "server/ways.hpp"

namespace waybourne::server {

namespace {

std::string request_json(const AlternativesOptions& options) {
    JsonWriter json;
    json.begin_object();
    write_way_members(json, options.way);
    json.key("closed").begin_list();
    for (const std::string& road : options.closed) {
        write_where(json, road);
    }
    json.end_list();
    if (options.most_others) {
        json.member("most_others", *options.most_others);
    }
    return json.end_object().take();
}

std::string way_line(const routing::Alternative& way, std::size_t number, const Words& words) {
    const int in_common = static_cast<int>(std::lround(way.shared * 100));
    const char* const id = number == 1      ? "server.alternatives.best"
                           : in_common == 0 ? "server.alternatives.apart"
                                            : "server.alternatives.other";
    return words.text(Message{id,
                              {{"number", std::to_string(number)},
                               {"distance", distance_words(way.route.distance)},
                               {"typical", words.span(way.route.travel_time.typical)},
                               {"allow", words.span(way.route.travel_time.allow)},
                               {"percent", std::to_string(in_common)}}});
}

}  // namespace

int run_alternatives(const AlternativesOptions& options, Terminal& terminal) {
    const AlternativesRequest request = parse_alternatives_request(request_json(options));
    const Instant now = moment_of(options.way.common);
    const auto snapshot = snapshot_of(options.way.common, now);
    const AlternativesAnswer answer = answer_alternatives(*snapshot, request, now);
    if (options.way.common.json) {
        JsonWriter json{2};
        write_alternatives_answer(json, answer);
        terminal.out << json.take() << '\n';
        return 0;
    }
    const Words words{snapshot->catalogue, snapshot->zone, now};
    if (answer.ways.empty()) {
        terminal.out << words.text(Message{"server.alternatives.none"}) << '\n';
        return 0;
    }
    terminal.out << words.text(Message{"server.alternatives.leaving",
                                       {{"time", to_rfc3339(answer.leave_at)}}})
                 << '\n';
    for (std::size_t i = 0; i < answer.ways.size(); ++i) {
        terminal.out << way_line(answer.ways[i], i + 1, words) << '\n';
        for (const std::string& line : way_lines(answer.ways[i].route, words)) {
            terminal.out << "     " << line << '\n';
        }
    }
    if (answer.ways.size() == 1) {
        terminal.out << words.text(Message{"server.alternatives.only"}) << '\n';
    }
    return 0;
}

}  // namespace waybourne::server
