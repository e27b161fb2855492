#include <fmt/format.h>

#include <algorithm>
#include <ostream>

#include "server/cli/coverage_shared.hpp"
#include "server/json/competition.hpp"
#include "server/json/coverage_request.hpp"

namespace waybourne::server {

namespace {

CompetitionRequest competition_request_of(const CoverageOptions& options, Terminal& terminal) {
    JsonWriter json;
    json.begin_object();
    write_question(json, options, options.needs);
    json.member("catchment", options.catchment);
    if (!options.zones.empty()) {
        json.key("zones").begin_list();
        for (const std::string& zone : options.zones) {
            const auto [minutes, weight] = name_and_value(zone, "--zones");
            json.begin_object().key("until_minutes").value(number_of(minutes, "--zones"), 6);
            json.key("weight").value(number_of(weight, "--zones"), 6).end_object();
        }
        json.end_list();
    }
    CompetitionRequest request = parse_competition_request(json.end_object().take());
    add_files(request.coverage, options, terminal);
    return request;
}

void print_loads(const CompetitionAnswer& answer, const Words& words, std::ostream& out) {
    out << words.text(Message{"server.coverage.loads"}) << '\n';
    const auto places = answer.access.facilities.facilities();
    for (std::size_t place = 0; place < places.size(); ++place) {
        const coverage::PlaceLoad& load = answer.access.loads[place];
        const auto& capacity = answer.access.capacities[place];
        if (!(load.births > 0) && !capacity) {
            continue;
        }
        const char* const id = !capacity          ? "server.coverage.load_unknown"
                               : load.of_capacity ? "server.coverage.load"
                                                  : "server.coverage.load_no_room";
        out << "  "
            << words.text(Message{id,
                                  {{"name", places[place].name},
                                   {"births", number(load.births)},
                                   {"capacity", capacity ? number(*capacity) : ""},
                                   {"share", percent(load.of_capacity)}}})
            << '\n';
    }
}

void print_names_of(const CompetitionAnswer& answer, const std::vector<std::size_t>& places,
                    const char* id, const Words& words, std::ostream& out) {
    std::vector<std::string> names;
    names.reserve(places.size());
    for (const std::size_t place : places) {
        names.push_back(answer.access.facilities.facilities()[place].name);
    }
    if (!names.empty()) {
        out << words.text(Message{id, {{"names", joined(names)}}}) << '\n';
    }
}

void print_scores(const CompetitionAnswer& answer, const Words& words, std::ostream& out) {
    constexpr std::size_t most = 20;
    out << words.text(Message{"server.coverage.scores"}) << '\n';
    const auto& settlements = answer.access.settlements;
    for (const std::size_t i : least_scores(answer, most)) {
        out << "  "
            << words.text(Message{"server.coverage.score",
                                  {{"name", settlements[i].name},
                                   {"births", number(settlements[i].births_per_year)},
                                   {"score", fmt::format("{:.2f}", *answer.of_settlement[i])}}})
            << '\n';
    }
    if (answer.distribution) {
        out << words.text(Message{"server.coverage.score_spread",
                                  {{"median", fmt::format("{:.2f}", answer.distribution->median)},
                                   {"gini", answer.distribution->gini
                                                ? fmt::format("{:.2f}", *answer.distribution->gini)
                                                : "-"}}})
            << '\n';
    }
    out << words.text(Message{"server.coverage.score_caution"}) << '\n';
}

}  // namespace

int run_coverage_competition(const CoverageOptions& options, Terminal& terminal) {
    check_format(options);
    const CompetitionRequest request = competition_request_of(options, terminal);
    const Asked from = asked(options, terminal);
    const CompetitionAnswer answer =
        answer_competition(*from.snapshot, request, from.now, from.work);
    if (options.csv) {
        terminal.out << competition_csv(answer);
    } else if (options.geojson) {
        terminal.out << competition_geojson(answer) << '\n';
    } else if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) {
            write_competition_answer(json, *from.snapshot, request, answer);
        });
    } else {
        const Words words = from.words();
        print_heading(request.coverage, answer.access.leave_at, words, terminal.out);
        print_loads(answer, words, terminal.out);
        print_scores(answer, words, terminal.out);
        print_names_of(answer, answer.without_capacity, "server.coverage.without_capacity", words,
                       terminal.out);
        print_names_of(answer, answer.without_readiness, "server.coverage.without_readiness", words,
                       terminal.out);
    }
    return 0;
}

}  // namespace waybourne::server
