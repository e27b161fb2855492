#include <ostream>

#include "server/cli/commands.hpp"
#include "server/cli/page.hpp"
#include "server/json/request.hpp"
#include "server/json/route.hpp"
#include "server/ways.hpp"

namespace waybourne::server {

namespace {

std::string request_json(const ReachOptions& options) {
    JsonWriter json;
    json.begin_object();
    json.key(options.is_to ? "to" : "from").raw(place_json(options.place));
    json.member("within_minutes", options.within_minutes);
    if (!options.judged_by.empty()) {
        json.member("judged_by", options.judged_by);
    }
    write_travel_members(json, {options.means, options.leave_at, options.surface, options.light});
    return json.end_object().take();
}

std::string heading(const ReachOptions& options, const ReachRequest& request,
                    const ReachAnswer& answer, const Words& words) {
    const char* const id = options.is_to ? "server.reach.heading_to" : "server.reach.heading_from";
    return words.text(
        Message{id,
                {{"place", options.place},
                 {"span", words.span(request.within)},
                 {"judged_by", words.text(Message{request.judged_by == routing::JudgedBy::typical
                                                      ? "server.reach.judged_by_typical"
                                                      : "server.reach.judged_by_allow"})},
                 {"means", words.text(Message{"server.means." + to_name(request.means)})},
                 {"time", to_rfc3339(answer.leave_at)},
                 {"length", distance_words(answer.road_length)}}});
}

}  // namespace

int run_reach(const ReachOptions& options, Terminal& terminal) {
    const ReachRequest request = parse_reach_request(request_json(options));
    const Instant now = moment_of(options.common);
    const auto snapshot = snapshot_of(options.common, now);
    const ReachAnswer answer = answer_reach(*snapshot, request, now);
    if (options.common.json) {
        JsonWriter json{2};
        write_reach_answer(json, answer, *snapshot);
        terminal.out << json.take() << '\n';
        return 0;
    }
    const Words words{snapshot->catalogue, snapshot->zone, now};
    terminal.out << heading(options, request, answer, words) << '\n';
    if (answer.waiting != Waiting::none) {
        terminal.out << words.text(Message{"server.reach.waiting_" + to_name(answer.waiting)})
                     << '\n';
    }
    for (const ReachAnswer::Facility& inside : answer.facilities) {
        const facilities::Facility& facility = snapshot->facilities.facility(inside.facility);
        terminal.out << "  "
                     << words.text(Message{"server.reach.facility",
                                           {{"name", facility.name},
                                            {"id", facility.id.value()},
                                            {"typical", words.span(inside.travel_time.typical)},
                                            {"allow", words.span(inside.travel_time.allow)}}})
                     << '\n';
    }
    if (answer.facilities.empty()) {
        terminal.out << words.text(Message{"server.reach.no_facility"}) << '\n';
    }
    return 0;
}

}  // namespace waybourne::server
