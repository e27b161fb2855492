#include "server/http/coverage.hpp"

#include "server/coverage_report.hpp"
#include "server/http/changes.hpp"
#include "server/http/resources.hpp"
#include "server/json/competition.hpp"
#include "server/json/coverage.hpp"
#include "server/json/coverage_request.hpp"
#include "server/languages.hpp"
#include "server/planning_desk.hpp"
#include "server/saved_scenarios.hpp"
#include "server/scenario_replay.hpp"

namespace waybourne::server {

namespace {

/// Of the integer programme, when somebody waits at a screen.
constexpr Seconds most_at_a_screen = 3s;

/// Everything that one answer is made from.
struct Asked {
    const Snapshot& snapshot;
    std::string_view body;
    Instant now;
    const coverage::Work& work;
};

/// An endpoint that writes its answer with `write(json, asked)`, on the planning desk.
template <typename Write>
Endpoint planned(const Application& application, const std::shared_ptr<PlanningDesk>& desk,
                 std::string path, const Write& write) {
    const auto handle = [&application, desk, write](const HttpRequest& request) {
        return desk->run([&](const coverage::Work& work) {
            const auto snapshot = application.snapshot.get();
            JsonWriter json;
            write(json, Asked{*snapshot, request.body, application.clock.now(), work});
            return HttpResponse{200, json.take()};
        });
    };
    return {"POST", std::move(path), Privacy::open, handle};
}

void write_access(JsonWriter& json, const Asked& asked) {
    const CoverageRequest request = parse_coverage_request(asked.body);
    write_coverage_answer(json, asked.snapshot, request,
                          answer_coverage(asked.snapshot, request, asked.now, asked.work));
}

void write_competition(JsonWriter& json, const Asked& asked) {
    const CompetitionRequest request = parse_competition_request(asked.body);
    write_competition_answer(json, asked.snapshot, request,
                             answer_competition(asked.snapshot, request, asked.now, asked.work));
}

void write_overview(JsonWriter& json, const Asked& asked) {
    const CoverageRequest request = parse_coverage_request(asked.body);
    write_overview_answer(json, asked.snapshot, request,
                          answer_overview(asked.snapshot, request, default_indicator_profile(),
                                          asked.now, asked.work));
}

void write_links(JsonWriter& json, const Asked& asked) {
    const CoverageRequest request = parse_coverage_request(asked.body);
    write_links_answer(json, asked.snapshot, request,
                       answer_links(asked.snapshot, request, asked.now, asked.work));
}

void write_trust(JsonWriter& json, const Asked& asked) {
    write_trust_answer(json,
                       answer_trust(asked.snapshot, parse_coverage_request(asked.body), asked.now));
}

void write_losses(JsonWriter& json, const Asked& asked) {
    write_losses_answer(json, answer_losses(asked.snapshot, parse_coverage_request(asked.body),
                                            asked.now, asked.work));
}

void write_sensitivity_of(JsonWriter& json, const Asked& asked) {
    const CoverageRequest request = parse_coverage_request(asked.body);
    json.begin_object().key("points");
    write_sensitivity(json, answer_sensitivity(asked.snapshot, request, asked.now, asked.work));
    json.end_object();
}

void write_upgrades(JsonWriter& json, const Asked& asked) {
    UpgradeRequest request = parse_upgrade_request(asked.body);
    request.time = most_at_a_screen;
    write_upgrade_answer(json, asked.snapshot, request,
                         answer_upgrades(asked.snapshot, request, asked.now, asked.work));
}

void write_what_if(JsonWriter& json, const Asked& asked) {
    const WhatIfRequest request = parse_what_if_request(asked.body);
    write_what_if_answer(json, asked.snapshot, request,
                         answer_what_if(asked.snapshot, request, asked.now, asked.work));
}

/// A file to keep and print: a browser that shows it in place would leave out its styles.
HttpResponse report_page(const Asked& asked, const Catalogue& catalogue,
                         const journal::Journal* journal) {
    ReportRequest request = parse_report_request(asked.body);
    request.upgrades.time = most_at_a_screen;
    const CoverageReport report =
        make_coverage_report(asked.snapshot, request, asked.now, journal, asked.work);
    HttpResponse response{200,
                          render_coverage_report(asked.snapshot, report, catalogue, asked.now)};
    response.content_type = "text/html; charset=utf-8";
    response.headers.emplace_back("Content-Disposition", "attachment; filename=\"coverage.html\"");
    return in_language(std::move(response), catalogue);
}

}  // namespace

std::vector<Endpoint> coverage_endpoints(const Application& application) {
    const auto desk = std::make_shared<PlanningDesk>(application.planning_limit);
    const auto endpoint = [&](const char* path, const auto& write) {
        return planned(application, desk, path, write);
    };
    const auto report = [&application, desk](const HttpRequest& request) {
        return desk->run([&](const coverage::Work& work) {
            const auto snapshot = application.snapshot.get();
            return report_page(
                {*snapshot, request.body, application.clock.now(), work},
                catalogue_for(*snapshot, request.caller.languages),
                application.records == nullptr ? nullptr : &application.records->journal());
        });
    };
    const auto indicators = [&application](JsonWriter& json, const Asked& asked) {
        const IndicatorRequest request = parse_indicator_request(asked.body);
        const journal::Journal* const journal =
            request.from_journal ? &records_of(application).journal() : nullptr;
        write_indicator_answer(
            json, answer_indicators(asked.snapshot, request, default_indicator_profile(), asked.now,
                                    journal));
    };
    const auto journeys = [&application, desk](const HttpRequest& /*request*/) {
        const Records& records = records_of(application);
        return desk->run([&](const coverage::Work& /*work*/) {
            JsonWriter json;
            const auto snapshot = application.snapshot.get();
            write_journeys_answer(json, *snapshot, answer_journeys(*snapshot, records.journal()),
                                  application.clock.now());
            return HttpResponse{200, json.take()};
        });
    };
    return {endpoint("/v1/coverage/access", write_access),
            endpoint("/v1/coverage/competition", write_competition),
            endpoint("/v1/coverage/overview", write_overview),
            endpoint("/v1/coverage/losses", write_losses),
            endpoint("/v1/coverage/sensitivity", write_sensitivity_of),
            endpoint("/v1/coverage/trust", write_trust),
            endpoint("/v1/coverage/links", write_links),
            endpoint("/v1/coverage/upgrades", write_upgrades),
            endpoint("/v1/coverage/indicators", indicators),
            endpoint("/v1/coverage/what-ifs", write_what_if),
            {"POST", "/v1/coverage/report", Privacy::open, report},
            {"GET", "/v1/coverage/journeys", Privacy::open, journeys}};
}

std::vector<Endpoint> scenario_endpoints(const Application& application) {
    const auto desk = std::make_shared<PlanningDesk>(application.planning_limit);
    const auto list = [&application](const HttpRequest& /*request*/) {
        return HttpResponse{200, saved_scenarios_json(records_of(application).journal())};
    };
    const auto show = [&application](const HttpRequest& request) {
        return HttpResponse{
            200, saved_scenario_json(records_of(application).journal(), request.path_values.at(0))};
    };
    const auto again = [&application, desk](const HttpRequest& request) {
        const JsonValue saved = parse_json(
            saved_scenario_json(records_of(application).journal(), request.path_values.at(0)));
        return desk->run([&](const coverage::Work& work) {
            const auto snapshot = application.snapshot.get();
            const Instant now = application.clock.now();
            return HttpResponse{200,
                                to_json(saved, replay_scenario(*snapshot, saved, {}, now, work))};
        });
    };
    const auto put = [&application, desk](const HttpRequest& request) {
        Records& records = records_of(application);
        return desk->run([&](const coverage::Work& work) {
            const auto snapshot = application.snapshot.get();
            const Instant now = application.clock.now();
            JsonWriter answer;
            write_what_if(answer, Asked{*snapshot, request.body, now, work});
            save_scenario(records, {request.path_values.at(0), std::string{request.body},
                                    answer.take(), request.caller.who, now});
            return HttpResponse{200,
                                saved_scenario_json(records.journal(), request.path_values.at(0))};
        });
    };
    return {{"GET", "/v1/scenarios", Privacy::open, list},
            {"GET", "/v1/scenarios/{name}", Privacy::open, show},
            {"GET", "/v1/scenarios/{name}/replay", Privacy::open, again},
            {"PUT", "/v1/scenarios/{name}", Privacy::open, put}};
}

}  // namespace waybourne::server
