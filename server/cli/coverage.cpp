#include "server/json/coverage.hpp"

#include <fmt/format.h>

#include <ostream>

#include "journal/open_journal.hpp"
#include "server/cli/coverage_shared.hpp"
#include "server/cli/page.hpp"
#include "server/coverage_report.hpp"
#include "server/json/coverage_csv.hpp"
#include "server/json/coverage_request.hpp"

namespace waybourne::server {

namespace {

void print_gaps(const CoverageAnswer& answer, const Words& words, std::ostream& out) {
    constexpr std::size_t most = 20;
    const std::vector<std::size_t> gaps = gaps_of(answer);
    if (gaps.empty()) {
        out << words.text(Message{"server.coverage.no_gaps"}) << '\n';
        return;
    }
    out << words.text(Message{"server.coverage.gaps", {{"count", std::to_string(gaps.size())}}})
        << '\n';
    for (std::size_t i = 0; i < std::min(most, gaps.size()); ++i) {
        const coverage::SettlementAccess& access = answer.accesses[gaps[i]];
        const std::string id =
            access.care ? "server.coverage.gap_late"
                        : "server.coverage.gap." + std::string(coverage::to_name(access.access));
        out << "  "
            << words.text(Message{id,
                                  {{"name", answer.settlements[gaps[i]].name},
                                   {"births", number(answer.settlements[gaps[i]].births_per_year)},
                                   {"span", access.care ? words.span(access.care->allow) : ""}}})
            << '\n';
    }
}

std::string road_words(const LinkFailure& link, const Words& words) {
    const char* const kind = link.is_ferry    ? "ferry"
                             : link.is_ford   ? "ford"
                             : link.is_bridge ? "bridge"
                                              : "road";
    const std::string name = link.road.empty() ? link.road_class : link.road;
    return words.text(Message{std::string("server.coverage.link.") + kind,
                              {{"name", name}, {"id", std::to_string(link.road_id.value)}}});
}

void print_links(const CoverageRequest& request, const LinksAnswer& answer, const Words& words,
                 std::ostream& out) {
    constexpr std::size_t most = 20;
    print_heading(request, answer.leave_at, words, out);
    out << "  "
        << words.text(Message{"server.coverage.now",
                              {{"births", number(answer.births_in_time)},
                               {"share", percent(answer.births_in_time / answer.births)}}})
        << '\n';
    const auto failure_line = [&](const std::string& what, const coverage::Failure& failure) {
        out << "  "
            << words.text(Message{"server.coverage.failure",
                                  {{"what", what},
                                   {"births", number(failure.births_lost)},
                                   {"cut_off", number(failure.births_cut_off)}}})
            << '\n';
    };
    out << words.text(Message{"server.coverage.links"}) << '\n';
    for (std::size_t i = 0; i < std::min(most, answer.links.size()); ++i) {
        failure_line(fmt::format("{} ({})", road_words(answer.links[i], words),
                                 distance_words(answer.links[i].length)),
                     answer.links[i].failure);
    }
    for (const LinkPairFailure& pair : answer.pairs) {
        failure_line(road_words(answer.links[pair.first], words) + " + " +
                         road_words(answer.links[pair.second], words),
                     pair.failure);
    }
    out << words.text(Message{"server.coverage.links.places"}) << '\n';
    for (const PlaceFailure& place : answer.places) {
        failure_line(place.facility.value(), place.failure);
    }
    if (!answer.vehicles.empty()) {
        out << words.text(Message{"server.coverage.links.vehicles"}) << '\n';
    }
    for (const VehicleFailure& vehicle : answer.vehicles) {
        failure_line(vehicle.vehicle.value(), {vehicle.births_lost, 0, 0});
    }
    if (answer.has_timetables) {
        out << words.text(Message{"server.coverage.links.no_waiting"}) << '\n';
    }
}

void print_trust(const TrustAnswer& answer, const Words& words, std::ostream& out) {
    constexpr std::size_t most = 10;
    const auto line = [&](const std::string& id,
                          const std::vector<std::pair<std::string, std::string>>& values) {
        out << words.text(Message{id, values}) << '\n';
    };
    line("server.coverage.trust.births", {{"births", number(answer.births)},
                                          {"settlements", std::to_string(answer.settlements)},
                                          {"estimated", number(answer.births_estimated)}});
    for (const coverage::AreaTotal& area : answer.areas) {
        line(area.official_births_per_year ? "server.coverage.trust.area_official"
                                           : "server.coverage.trust.area",
             {{"area", area.area.value().empty() ? "-" : area.area.value()},
              {"births", number(area.births_per_year)},
              {"official", number(area.official_births_per_year.value_or(0))}});
    }
    line("server.coverage.trust.far", {});
    for (std::size_t i = 0; i < std::min(most, answer.far_from_road.size()); ++i) {
        const TrustAnswer::FarFromRoad& far = answer.far_from_road[i];
        line(far.off_road ? "server.coverage.trust.far_one" : "server.coverage.trust.far_off",
             {{"name", far.name},
              {"births", number(far.births)},
              {"distance", far.off_road ? distance_words(*far.off_road) : ""}});
    }
    line("server.coverage.trust.never", {{"count", std::to_string(answer.never_confirmed.size())}});
    for (const TrustAnswer::NeverConfirmed& place : answer.never_confirmed) {
        line(place.hours ? "server.coverage.trust.never_hours" : "server.coverage.trust.never_care",
             {{"name", place.name}, {"count", std::to_string(place.care.size())}});
    }
    const bool is_any_observed = answer.observed() > Metres{0};
    line(is_any_observed ? "server.coverage.trust.speeds_observed" : "server.coverage.trust.speeds",
         {{"observed", distance_words(answer.observed())}});
    for (const TrustAnswer::Speeds& speeds : answer.speeds) {
        line("server.coverage.trust.speed", {{"road", speeds.road_class},
                                             {"assumed", distance_words(speeds.assumed)},
                                             {"measured", distance_words(speeds.measured)}});
    }
}

void print_losses(const CoverageRequest& request, const LossesAnswer& answer, const Words& words,
                  std::ostream& out) {
    print_heading(request, answer.dry_noon.leave_at, words, out);
    for (const SeasonLoss& one : answer.losses) {
        out << words.text(Message{"server.coverage.losses." + to_name(one.then.conditions),
                                  {{"births", number(one.loss.births_lost)},
                                   {"doubt", number(one.loss.births_in_doubt)}}})
            << '\n';
        print_names(answer.settlements, one.loss.lost, "server.coverage.loses", words, out);
    }
}

void print_overview(const CoverageRequest& request, const OverviewAnswer& answer,
                    const Words& words, std::ostream& out) {
    out << words.text(Message{"server.coverage.overview",
                              {{"span", words.span(request.question.standard)}}})
        << '\n';
    for (std::size_t row = 0; row < answer.care.size(); ++row) {
        out << fmt::format("  {:40}", answer.care[row].name);
        for (std::size_t column = 0; column < answer.times.size(); ++column) {
            out << fmt::format("{:>10}", percent(answer.at(row, column).at_least()));
        }
        out << '\n';
    }
}

ReportRequest report_request_of(const CoverageOptions& options, Terminal& terminal) {
    ReportRequest request;
    request.upgrades = upgrade_request_of(options, terminal);
    if (!options.scenarios.empty()) {
        JsonWriter body;
        body.begin_object();
        write_question(body, options, options.needs);
        body.key("scenarios").raw(to_json(parse_json(text_of(options.scenarios, terminal))));
        request.scenarios = parse_what_if_request(body.end_object().take()).scenarios;
    }
    if (!options.last_month.empty()) {
        request.indicators = indicator_request_of(options, terminal);
    } else if (!options.months.empty()) {
        throw InputError("--months goes with --last-month");
    }
    return request;
}

}  // namespace

int run_coverage_access(const CoverageOptions& options, Terminal& terminal) {
    check_format(options);
    const CoverageRequest request = request_of(options, options.needs, terminal);
    const Asked from = asked(options, terminal);
    const CoverageAnswer answer = answer_coverage(*from.snapshot, request, from.now, from.work);
    if (options.csv) {
        terminal.out << settlements_csv(answer);
    } else if (options.geojson) {
        terminal.out << settlements_geojson(answer) << '\n';
    } else if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) {
            write_coverage_answer(json, *from.snapshot, request, answer);
        });
    } else {
        print_total(request, answer, from.words(), terminal.out);
        print_gaps(answer, from.words(), terminal.out);
    }
    return 0;
}

int run_coverage_links(const CoverageOptions& options, Terminal& terminal) {
    check_format(options);
    const CoverageRequest request = request_of(options, options.needs, terminal);
    const Asked from = asked(options, terminal);
    const LinksAnswer answer = answer_links(*from.snapshot, request, from.now, from.work);
    if (options.csv) {
        terminal.out << links_csv(answer);
    } else if (options.geojson) {
        terminal.out << links_geojson(answer) << '\n';
    } else if (options.common.json) {
        terminal.out << json_of(
            [&](JsonWriter& json) { write_links_answer(json, *from.snapshot, request, answer); });
    } else {
        print_links(request, answer, from.words(), terminal.out);
    }
    return 0;
}

int run_coverage_trust(const CoverageOptions& options, Terminal& terminal) {
    const CoverageRequest request = request_of_any(options, terminal);
    const Asked from = asked(options, terminal);
    const TrustAnswer answer = answer_trust(*from.snapshot, request, from.now);
    if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) { write_trust_answer(json, answer); });
    } else {
        print_trust(answer, from.words(), terminal.out);
    }
    return 0;
}

int run_coverage_overview(const CoverageOptions& options, Terminal& terminal) {
    const CoverageRequest request = request_of_any(options, terminal);
    const Asked from = asked(options, terminal);
    const OverviewAnswer answer =
        answer_overview(*from.snapshot, request, default_indicator_profile(), from.now, from.work);
    if (options.csv) {
        terminal.out << overview_csv(answer);
    } else if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) {
            write_overview_answer(json, *from.snapshot, request, answer);
        });
    } else {
        print_overview(request, answer, from.words(), terminal.out);
    }
    return 0;
}

int run_coverage_losses(const CoverageOptions& options, Terminal& terminal) {
    check_format(options);
    const CoverageRequest request = request_of(options, options.needs, terminal);
    const Asked from = asked(options, terminal);
    const LossesAnswer answer = answer_losses(*from.snapshot, request, from.now, from.work);
    if (options.csv) {
        terminal.out << losses_csv(answer);
    } else if (options.geojson) {
        terminal.out << losses_geojson(answer) << '\n';
    } else if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) { write_losses_answer(json, answer); });
    } else {
        print_losses(request, answer, from.words(), terminal.out);
    }
    return 0;
}

int run_coverage_sensitivity(const CoverageOptions& options, Terminal& terminal) {
    const CoverageRequest request = request_of(options, options.needs, terminal);
    const Asked from = asked(options, terminal);
    const auto points = answer_sensitivity(*from.snapshot, request, from.now, from.work);
    if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) {
            json.begin_object().key("points");
            write_sensitivity(json, points);
            json.end_object();
        });
        return 0;
    }
    const Words words = from.words();
    print_heading(request, request.leave_at.value_or(from.now), words, terminal.out);
    for (const SensitivityPoint& point : points) {
        constexpr double fifth = 0.2;
        terminal.out << "  "
                     << words.text(Message{"server.coverage.sensitivity",
                                           {{"factor", fmt::format("{:.2f}", point.time_factor)},
                                            {"births", number(point.total.in_time)},
                                            {"share", percent(point.total.at_least())},
                                            {"less", number(point.total.in_time * (1 - fifth))},
                                            {"more", number(point.total.in_time * (1 + fifth))}}})
                     << '\n';
    }
    return 0;
}

int run_coverage_report(const CoverageOptions& options, Terminal& terminal) {
    const ReportRequest request = report_request_of(options, terminal);
    const Asked from = asked(options, terminal);
    const auto journal = options.journal.empty()
                             ? nullptr
                             : journal::open_journal(options.journal, journal::Access::read);
    const std::string page = render_coverage_report(
        *from.snapshot,
        make_coverage_report(*from.snapshot, request, from.now, journal.get(), from.work),
        from.snapshot->catalogue, from.now);
    write_new_file(options.output, page);
    if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) {
            json.begin_object().member("output", options.output);
            json.member("bytes", page.size()).end_object();
        });
    } else {
        terminal.out << "Written: " << options.output << '\n';
    }
    return 0;
}

}  // namespace waybourne::server
