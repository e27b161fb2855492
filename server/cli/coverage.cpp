#include "server/coverage.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <ostream>

#include "server/cli/commands.hpp"
#include "server/json/request.hpp"
#include "server/words.hpp"

namespace waybourne::server {

namespace {

using coverage::AccessClass;

triage::CapabilitySet capabilities_of(const std::vector<std::string>& names) {
    triage::CapabilitySet needed;
    std::vector<FieldError> errors;
    for (const std::string& name : names) {
        if (const auto capability = triage::find_capability(name)) {
            needed.insert(*capability);
        } else {
            errors.push_back({"--needs", "'" + name + "' is not a capability"});
        }
    }
    if (!errors.empty()) {
        throw InputError("the question is wrong", errors);
    }
    return needed;
}

CoverageRequest request_of(const CoverageOptions& options) {
    CoverageRequest request;
    request.question = {capabilities_of(options.needs), std::chrono::minutes(options.within)};
    const auto readiness = coverage::find_readiness_assumption(options.readiness);
    if (!readiness) {
        throw InputError("--readiness is one of as_registered, by_hour, as_reported");
    }
    request.readiness = *readiness;
    // means, moment and road conditions as every question about ways takes them
    JsonWriter json;
    json.begin_object();
    json.key("from").raw(R"({"latitude": 0, "longitude": 0})");
    json.key("to").raw(R"({"latitude": 0, "longitude": 0})");
    write_travel_members(json, options.travel);
    const RouteRequest way = parse_route_request(json.end_object().take());
    request.means = way.means;
    request.leave_at = way.leave_at;
    request.road_conditions = way.road_conditions;
    request.settlements = options.settlements;
    request.areas = options.areas;
    request.births_per_1000 = options.births_per_1000;
    return request;
}

coverage::Work work_of(Terminal& terminal) {
    coverage::Work work;
    work.progress = progress_of(terminal);
    return work;
}

std::string percent(const std::optional<double>& share) {
    return share ? fmt::format("{:.1f} %", *share * 100) : "-";
}

std::string number(double births) {
    return fmt::format("{:.0f}", births);
}

std::string place_id(const Snapshot& snapshot, const std::optional<std::uint32_t>& place) {
    return place ? snapshot.facilities.facilities()[*place].id.value() : "";
}

/// What makes a figure traceable: every assumption and source behind it.
void write_inputs(JsonWriter& json, const Snapshot& snapshot, const CoverageRequest& request,
                  const CoverageAnswer& answer) {
    json.key("inputs").begin_object();
    json.key("needs").begin_list();
    for (const triage::Capability one : request.question.needed.members()) {
        json.value(triage::to_name(one));
    }
    json.end_list();
    json.member("standard_s", request.question.standard);
    json.member("readiness", coverage::to_name(request.readiness));
    json.member("leave_at", answer.leave_at);
    json.member("surface", answer.road_conditions.surface == routing::Surface::wet ? "wet" : "dry");
    json.member("light", answer.road_conditions.light == routing::Light::night ? "night" : "day");
    json.member("preparation_s", answer.assumptions.preparation);
    json.member("handover_s", answer.assumptions.handover);
    json.key("sha256").begin_object();
    for (const auto& [name, sha256] : snapshot.files) {
        json.member(name, sha256);
    }
    json.end_object().end_object();
}

void write_total(JsonWriter& json, const coverage::AccessTotal& total) {
    constexpr int decimals = 4;
    json.begin_object();
    json.member("settlements", total.settlements);
    for (const auto& [name, births] :
         {std::pair("births_per_year", total.births), std::pair("in_time", total.in_time),
          std::pair("beyond", total.beyond), std::pair("no_route", total.no_route),
          std::pair("unknown", total.unknown),
          std::pair("in_time_typically", total.in_time_typically),
          std::pair("way_in_time", total.way_in_time),
          std::pair("double_cover", total.double_cover)}) {
        json.key(name).value(births, decimals);
    }
    json.key("share_at_least").value(total.at_least().value_or(0), decimals);
    json.key("share_at_most").value(total.at_most().value_or(0), decimals);
    json.end_object();
}

void write_settlement(JsonWriter& json, const Snapshot& snapshot, const CoverageAnswer& answer,
                      std::size_t i) {
    const coverage::Settlement& settlement = answer.settlements[i];
    const coverage::SettlementAccess& access = answer.accesses[i];
    json.member("id", settlement.id).member("name", settlement.name);
    json.key("births_per_year").value(settlement.births_per_year, 2);
    json.member("births_are_estimated", settlement.births_are_estimated);
    json.member("access", coverage::to_name(access.access));
    json.key("facility");
    if (access.place) {
        json.value(place_id(snapshot, access.place));
    } else {
        json.null();
    }
    const auto time = [&](const char* name, const std::optional<routing::TravelTime>& given) {
        json.key(name);
        if (given) {
            json.begin_object().member("typical", given->typical).member("allow", given->allow);
            json.end_object();
        } else {
            json.null();
        }
    };
    time("care_s", access.care);
    time("way_s", access.way);
    json.member("places_in_time", static_cast<int>(access.places_in_time));
}

std::string to_json_text(const Snapshot& snapshot, const CoverageRequest& request,
                         const CoverageAnswer& answer) {
    JsonWriter json{2};
    json.begin_object();
    write_inputs(json, snapshot, request, answer);
    json.key("total");
    write_total(json, answer.total);
    json.key("areas").begin_list();
    for (const coverage::AreaAccess& area : answer.areas) {
        json.begin_object().member("area", area.area).key("total");
        write_total(json, area.total);
        json.end_object();
    }
    json.end_list().key("facilities").begin_list();
    for (std::size_t place = 0; place < answer.loads.size(); ++place) {
        json.begin_object().member("facility", snapshot.facilities.facilities()[place].id);
        json.key("births_per_year").value(answer.loads[place].births, 2);
        json.key("births_in_time").value(answer.loads[place].births_in_time, 2).end_object();
    }
    json.end_list().key("curve").begin_list();
    for (const coverage::CurvePoint& point : answer.curve) {
        json.begin_object().member("standard_s", point.standard);
        json.key("at_least").value(point.at_least, 4).key("at_most").value(point.at_most, 4);
        json.key("way_only").value(point.way_only, 4).end_object();
    }
    json.end_list().key("settlements").begin_list();
    for (std::size_t i = 0; i < answer.settlements.size(); ++i) {
        json.begin_object();
        write_settlement(json, snapshot, answer, i);
        json.end_object();
    }
    return json.end_list().end_object().take();
}

std::string to_geojson_text(const Snapshot& snapshot, const CoverageAnswer& answer) {
    JsonWriter json;
    json.begin_object().member("type", "FeatureCollection").key("features").begin_list();
    for (std::size_t i = 0; i < answer.settlements.size(); ++i) {
        json.begin_object().member("type", "Feature");
        json.key("geometry").begin_object().member("type", "Point");
        json.key("coordinates").value(answer.settlements[i].point).end_object();
        json.key("properties").begin_object();
        write_settlement(json, snapshot, answer, i);
        json.end_object().end_object();
    }
    return json.end_list().end_object().take();
}

std::string quoted(const std::string& text) {
    std::string all = "\"";
    for (const char c : text) {
        all += c == '"' ? "\"\"" : std::string(1, c);
    }
    return all + '"';
}

void print_csv(const Snapshot& snapshot, const CoverageAnswer& answer, std::ostream& out) {
    out << "id,name,births_per_year,access,facility,care_allow_s,way_typical_s,way_allow_s\n";
    for (std::size_t i = 0; i < answer.settlements.size(); ++i) {
        const auto& settlement = answer.settlements[i];
        const auto& access = answer.accesses[i];
        const auto seconds = [](const std::optional<routing::TravelTime>& time, bool is_allow) {
            return time ? std::to_string((is_allow ? time->allow : time->typical).count())
                        : std::string();
        };
        out << settlement.id.value() << ',' << quoted(settlement.name) << ','
            << fmt::format("{:.10g}", settlement.births_per_year) << ','
            << coverage::to_name(access.access) << ',' << place_id(snapshot, access.place) << ','
            << seconds(access.care, true) << ',' << seconds(access.way, false) << ','
            << seconds(access.way, true) << '\n';
    }
}

/// Those not in time, most births first.
std::vector<std::size_t> gaps_of(const CoverageAnswer& answer) {
    std::vector<std::size_t> gaps;
    for (std::size_t i = 0; i < answer.accesses.size(); ++i) {
        if (answer.accesses[i].access != AccessClass::in_time) {
            gaps.push_back(i);
        }
    }
    std::stable_sort(gaps.begin(), gaps.end(), [&](std::size_t a, std::size_t b) {
        return answer.settlements[a].births_per_year > answer.settlements[b].births_per_year;
    });
    return gaps;
}

void print_total(const CoverageRequest& request, const CoverageAnswer& answer, const Words& words,
                 std::ostream& out) {
    const coverage::AccessTotal& total = answer.total;
    const auto line = [&](const char* id, double births) {
        out << "  "
            << words.text(Message{
                   id, {{"births", number(births)}, {"share", percent(total.share(births))}}})
            << '\n';
    };
    std::string needed;
    for (const triage::Capability one : request.question.needed.members()) {
        needed += (needed.empty() ? "" : ", ") + words.capability(one);
    }
    out << words.text(
               Message{"server.coverage.heading",
                       {{"needs", needed},
                        {"span", span_words(request.question.standard)},
                        {"time", to_rfc3339(answer.leave_at)},
                        {"readiness",
                         words.text(Message{"server.coverage.readiness." +
                                            std::string(coverage::to_name(request.readiness))})}}})
        << '\n';
    line("server.coverage.in_time", total.in_time);
    line("server.coverage.beyond", total.beyond);
    line("server.coverage.no_route", total.no_route);
    line("server.coverage.unknown", total.unknown);
    line("server.coverage.way_only", total.way_in_time);
    line("server.coverage.double_cover", total.double_cover);
    if (answer.distribution) {
        out << "  "
            << words.text(Message{
                   "server.coverage.spread",
                   {{"median", span_words(Seconds{std::lround(answer.distribution->median)})},
                    {"worst", span_words(Seconds{std::lround(answer.distribution->worst_decile)})},
                    {"gini", fmt::format("{:.2f}", answer.distribution->gini.value_or(0))}}})
            << '\n';
    }
    out << words.text(Message{"server.coverage.assumed",
                              {{"handover", span_words(answer.assumptions.handover)}}})
        << '\n';
}

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
                                   {"span", access.care ? span_words(access.care->allow) : ""}}})
            << '\n';
    }
}

void check_format(const CoverageOptions& options) {
    if (options.csv && options.geojson) {
        throw InputError("--csv and --geojson exclude each other");
    }
}

}  // namespace

int run_coverage_access(const CoverageOptions& options, Terminal& terminal) {
    check_format(options);
    const CoverageRequest request = request_of(options);
    const Instant now = moment_of(options.common);
    const auto snapshot = snapshot_of(options.common, now);
    const CoverageAnswer answer = answer_coverage(*snapshot, request, now, work_of(terminal));
    if (options.csv) {
        print_csv(*snapshot, answer, terminal.out);
    } else if (options.geojson) {
        terminal.out << to_geojson_text(*snapshot, answer) << '\n';
    } else if (options.common.json) {
        terminal.out << to_json_text(*snapshot, request, answer) << '\n';
    } else {
        const Words words{snapshot->catalogue, snapshot->zone, now};
        print_total(request, answer, words, terminal.out);
        print_gaps(answer, words, terminal.out);
    }
    return 0;
}

int run_coverage_upgrades(const CoverageOptions& options, Terminal& terminal) {
    UpgradeRequest request;
    request.coverage = request_of(options);
    if (options.count) {
        request.limit.count = static_cast<std::size_t>(std::max(0, *options.count));
    }
    request.limit.budget = options.budget;
    request.costs = options.costs;
    const Instant now = moment_of(options.common);
    const auto snapshot = snapshot_of(options.common, now);
    const UpgradeAnswer answer = answer_upgrades(*snapshot, request, now, work_of(terminal));
    const auto places = snapshot->facilities.facilities();
    if (options.common.json) {
        JsonWriter json{2};
        json.begin_object();
        write_inputs(json, *snapshot, request.coverage, answer.before);
        json.key("before");
        write_total(json, answer.before.total);
        json.key("upgrades").begin_list();
        for (std::size_t i = 0; i < answer.facilities.size(); ++i) {
            json.begin_object().member("facility", places[answer.facilities[i]].id);
            json.key("births_lost_without_it").value(answer.births_of_each[i], 2).end_object();
        }
        json.end_list().key("births_gained").value(answer.plan.value, 2);
        json.key("no_plan_gains_more_than").value(answer.plan.bound, 2);
        json.member("is_proven", answer.plan.is_proven());
        json.key("cost").value(answer.plan.cost, 2);
        terminal.out << json.end_object().take() << '\n';
        return 0;
    }
    const Words words{snapshot->catalogue, snapshot->zone, now};
    print_total(request.coverage, answer.before, words, terminal.out);
    terminal.out << words.text(Message{answer.plan.is_proven() ? "server.coverage.plan_proven"
                                                               : "server.coverage.plan_within",
                                       {{"births", number(answer.plan.value)},
                                        {"cost", fmt::format("{:.10g}", answer.plan.cost)},
                                        {"bound", number(answer.plan.bound)},
                                        {"gap", percent(answer.plan.gap())}}})
                 << '\n';
    for (std::size_t i = 0; i < answer.facilities.size(); ++i) {
        terminal.out << "  "
                     << words.text(Message{"server.coverage.upgrade",
                                           {{"name", places[answer.facilities[i]].name},
                                            {"births", number(answer.births_of_each[i])}}})
                     << '\n';
    }
    return 0;
}

}  // namespace waybourne::server
