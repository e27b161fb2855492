#include "server/coverage.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <ostream>
#include <sstream>

#include "journal/open_journal.hpp"
#include "journal/private_file.hpp"
#include "server/cli/commands.hpp"
#include "server/cli/page.hpp"
#include "server/coverage_report.hpp"
#include "server/json/coverage.hpp"
#include "server/json/coverage_request.hpp"
#include "server/words.hpp"

namespace waybourne::server {

namespace {

/// Whatever every question about access holds, as a request has it.
void write_question(JsonWriter& json, const CoverageOptions& options,
                    const std::vector<std::string>& needs) {
    json.member("needs", needs);
    json.member("within_minutes", options.within);
    json.member("readiness", options.readiness).member("transport", options.transport);
    write_travel_members(json, options.travel);
    if (options.births_per_1000) {
        json.key("births_per_1000").value(*options.births_per_1000, 6);
    }
}

/// Files that only a person at a terminal names.
void add_files(CoverageRequest& request, const CoverageOptions& options) {
    request.settlements = options.settlements;
    request.areas = options.areas;
}

CoverageRequest request_of(const CoverageOptions& options, const std::vector<std::string>& needs) {
    JsonWriter json;
    json.begin_object();
    write_question(json, options, needs);
    CoverageRequest request = parse_coverage_request(json.end_object().take());
    add_files(request, options);
    return request;
}

/// For what asks about every kind of care.
CoverageRequest request_of_any(const CoverageOptions& options) {
    return request_of(options, {std::string(triage::to_name(triage::Capability::skilled_birth))});
}

/// What a command answers from.
struct Asked {
    Instant now{};
    std::shared_ptr<const Snapshot> snapshot;
    coverage::Work work;
    Words words() const { return {snapshot->catalogue, snapshot->zone, now}; }
};

Asked asked(const CoverageOptions& options, Terminal& terminal) {
    Asked made;
    made.now = moment_of(options.common);
    made.snapshot = snapshot_of(options.common, made.now);
    made.work.progress = progress_of(terminal);
    return made;
}

/// `write(json)` as a person reads it.
template <typename Write>
std::string json_of(const Write& write) {
    JsonWriter json{2};
    write(json);
    return json.take() + '\n';
}

std::string percent(const std::optional<double>& share) {
    return share ? fmt::format("{:.1f} %", *share * 100) : "-";
}

std::string number(double births) {
    return fmt::format("{:.0f}", births);
}

std::string needs_words(triage::CapabilitySet needed, const Words& words) {
    std::string text;
    for (const triage::Capability one : needed.members()) {
        text += (text.empty() ? "" : ", ") + words.capability(one);
    }
    return text;
}

void print_heading(const CoverageRequest& request, Instant leave_at, const Words& words,
                   std::ostream& out) {
    const Message readiness{"server.coverage.readiness." +
                            std::string(coverage::to_name(request.readiness))};
    out << words.text(Message{"server.coverage.heading",
                              {{"needs", needs_words(request.question.needed, words)},
                               {"span", words.span(request.question.standard)},
                               {"time", to_rfc3339(leave_at)},
                               {"readiness", words.text(readiness)}}})
        << '\n';
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
    print_heading(request, answer.leave_at, words, out);
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
                   {{"median", words.span(Seconds{std::lround(answer.distribution->median)})},
                    {"worst", words.span(Seconds{std::lround(answer.distribution->worst_decile)})},
                    {"gini", fmt::format("{:.2f}", answer.distribution->gini.value_or(0))}}})
            << '\n';
    }
    out << words.text(Message{
               "server.coverage.assumed." + std::string(coverage::to_name(request.transport)),
               {{"handover", words.span(answer.assumptions.handover)},
                {"loading", words.span(answer.assumptions.loading)}}})
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
                                   {"span", access.care ? words.span(access.care->allow) : ""}}})
            << '\n';
    }
}

void check_format(const CoverageOptions& options) {
    if (options.csv && options.geojson) {
        throw InputError("--csv and --geojson exclude each other");
    }
}

// --- what-if

std::vector<std::string> split(const std::string& text, char at) {
    std::vector<std::string> parts;
    std::istringstream stream{text};
    for (std::string part; std::getline(stream, part, at);) {
        parts.push_back(part);
    }
    return parts;
}

/// A number as it was typed: what it may be, the request's reader says.
double number_of(const std::string& text, const std::string& option) {
    char* end = nullptr;
    const double value = std::strtod(text.c_str(), &end);
    if (text.empty() || end != text.c_str() + text.size()) {
        throw InputError(option + " takes a number, not \"" + text + "\"");
    }
    return value;
}

void write_point(JsonWriter& json, const std::string& text, const std::string& option) {
    const auto parts = split(text, ',');
    if (parts.size() != 2) {
        throw InputError(option + " takes LAT,LON, not \"" + text + "\"");
    }
    json.key("latitude").value(number_of(parts[0], option), 9);
    json.key("longitude").value(number_of(parts[1], option), 9);
}

/// Writes the changes that one scenario's options ask for.
class ChangeWriter {
public:
    explicit ChangeWriter(JsonWriter& json) : json_(json) {}

    /// Calls `write(what, value)` for each `what=value`.
    template <typename Write>
    void each(const std::vector<std::string>& given, const char* kind, const std::string& option,
              const Write& write) {
        for (const std::string& text : given) {
            const auto [what, value] = name_and_value(text, option);
            json_.begin_object().member("kind", kind);
            write(what, value);
            json_.end_object();
        }
    }
    void roads(const std::vector<std::string>& given, const char* kind) {
        for (const std::string& road : given) {
            json_.begin_object().member("kind", kind).key("where");
            write_where(json_, road);
            json_.end_object();
        }
    }

private:
    JsonWriter& json_;
};

void write_changes(JsonWriter& json, const CoverageOptions& options) {
    ChangeWriter changes{json};
    const auto facility = [&](const std::string& id) { json.member("facility", id); };
    changes.each(options.services, "service", "--service", [&](const auto& id, const auto& care) {
        facility(id);
        json.member("capabilities", split(care, '+'));
    });
    changes.each(options.hours, "hours", "--hours", [&](const auto& id, const auto& hours) {
        facility(id);
        json.member("hours", hours);
    });
    changes.each(options.facilities, "facility", "--facility",
                 [&](const auto& point, const auto& care) {
                     write_point(json, point, "--facility");
                     json.member("capabilities", split(care, '+'));
                 });
    changes.each(options.waiting_homes, "waiting_home", "--waiting-home",
                 [&](const auto& id, const auto& births) {
                     facility(id);
                     json.key("births_per_year").value(number_of(births, "--waiting-home"), 6);
                 });
    changes.each(
        options.vehicle_posts, "vehicle_post", "--vehicle-post",
        [&](const auto& point, const auto& minutes) {
            write_point(json, point, "--vehicle-post");
            json.key("mobilisation_minutes").value(number_of(minutes, "--vehicle-post"), 6);
        });
    changes.each(options.new_bridges, "new_bridge", "--new-bridge",
                 [&](const auto& ends, const auto& speed) {
                     const auto both = split(ends, ':');
                     if (both.size() != 2) {
                         throw InputError("--new-bridge takes LAT,LON:LAT,LON=KM/H");
                     }
                     json.key("from").begin_object();
                     write_point(json, both[0], "--new-bridge");
                     json.end_object().key("to").begin_object();
                     write_point(json, both[1], "--new-bridge");
                     json.end_object();
                     json.key("speed_kmh").value(number_of(speed, "--new-bridge"), 6);
                 });
    changes.roads(options.bridged, "bridged");
    changes.roads(options.paved, "paved");
    changes.roads(options.closed, "closed");
}

bool has_changes(const CoverageOptions& options) {
    for (const auto* const given :
         {&options.services, &options.hours, &options.facilities, &options.waiting_homes,
          &options.vehicle_posts, &options.new_bridges, &options.bridged, &options.paved,
          &options.closed}) {
        if (!given->empty()) {
            return true;
        }
    }
    return false;
}

/// The request as the API takes it: kept with what is saved.
std::string what_if_json(const CoverageOptions& options, Terminal& terminal) {
    if (options.scenarios.empty() == !has_changes(options)) {
        throw InputError(
            "say what is added or lost: either with options such as --service, or with "
            "--scenarios FILE");
    }
    JsonWriter json;
    json.begin_object();
    write_question(json, options, options.needs);
    json.key("scenarios");
    if (options.scenarios.empty()) {
        json.begin_list().begin_object().member("name", options.name).key("changes").begin_list();
        write_changes(json, options);
        json.end_list().end_object().end_list();
    } else {
        json.raw(to_json(parse_json(text_of(options.scenarios, terminal))));
    }
    return json.end_object().take();
}

void print_names(const std::vector<coverage::Settlement>& all,
                 const std::vector<std::size_t>& settlements, const char* id, const Words& words,
                 std::ostream& out) {
    constexpr std::size_t most = 10;
    for (std::size_t i = 0; i < std::min(most, settlements.size()); ++i) {
        const auto& settlement = all[settlements[i]];
        out << "    "
            << words.text(Message{
                   id, {{"name", settlement.name}, {"births", number(settlement.births_per_year)}}})
            << '\n';
    }
    if (settlements.size() > most) {
        out << "    "
            << words.text(Message{"server.coverage.and_more",
                                  {{"count", std::to_string(settlements.size() - most)}}})
            << '\n';
    }
}

std::string what_if_text(const WhatIfRequest& request, const WhatIfAnswer& answer,
                         const Words& words) {
    std::ostringstream out;
    const coverage::AccessTotal& before = answer.before.total;
    print_heading(request.coverage, answer.before.leave_at, words, out);
    out << "  "
        << words.text(
               Message{"server.coverage.now",
                       {{"births", number(before.in_time)}, {"share", percent(before.at_least())}}})
        << '\n';
    for (const ScenarioAnswer& scenario : answer.scenarios) {
        const coverage::AccessTotal& after = scenario.after.total;
        out << "  "
            << words.text(
                   Message{"server.coverage.scenario",
                           {{"name", scenario.name},
                            {"births", number(after.in_time)},
                            {"share", percent(after.at_least())},
                            {"more", fmt::format("{:+.0f}", after.in_time - before.in_time)}}})
            << '\n';
        print_names(answer.before.settlements, scenario.gained.lost, "server.coverage.gains", words,
                    out);
        print_names(answer.before.settlements, scenario.lost.lost, "server.coverage.loses", words,
                    out);
    }
    out << words.text(Message{"server.coverage.assumed." +
                                  std::string(coverage::to_name(request.coverage.transport)),
                              {{"handover", words.span(answer.before.assumptions.handover)},
                               {"loading", words.span(answer.before.assumptions.loading)}}})
        << '\n';
    return out.str();
}

/// What `--show` prints again.
struct Saved {
    std::string name;
    std::string request;
    std::string answer;
    std::string text;
};

void write_new_file(const std::string& path, const std::string& content) {
    journal::PrivateFile file{path};
    std::ofstream out{file.part(), std::ios::binary};
    out << content;
    out.close();
    if (!out) {
        throw Unavailable(path + ": could not be written to its end");
    }
    file.finish();
}

void save(const std::string& path, const Saved& saved, Instant now) {
    JsonWriter json;
    json.begin_object().member("name", saved.name).member("saved_at", now);
    json.key("request").raw(saved.request).key("answer").raw(saved.answer);
    json.member("text", saved.text).end_object();
    write_new_file(path, json.take() + '\n');
}

int show(const CoverageOptions& options, Terminal& terminal) {
    const std::string whole = text_of(options.show, terminal);
    const JsonValue saved = parse_json(whole);
    const JsonValue* const text = saved.find("text");
    if (text == nullptr || text->kind() != JsonKind::text) {
        throw InputError(options.show + " was not saved by what-if --save");
    }
    terminal.out << (options.common.json ? whole : text->text());
    return 0;
}

// --- links, indicators, trust, overview

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

std::string level_words(const coverage::Acceptable& level) {
    const auto as_text = [](double value) { return fmt::format("{:.10g}", value); };
    std::string text;
    if (level.at_least) {
        text += ">= " + as_text(*level.at_least);
    }
    if (level.at_most) {
        text += (text.empty() ? "" : ", ") + ("<= " + as_text(*level.at_most));
    }
    if (level.below) {
        text += "< " + as_text(*level.below);
    }
    return text;
}

std::string joined(const std::vector<std::string>& texts) {
    std::string all;
    for (const std::string& text : texts) {
        all += (all.empty() ? "" : ", ") + text;
    }
    return all;
}

void print_indicators(const IndicatorAnswer& answer, const Words& words, std::ostream& out) {
    out << words.text(Message{"server.coverage.indicators",
                              {{"first", coverage::to_text(answer.first)},
                               {"last", coverage::to_text(answer.last)},
                               {"source", answer.profile.source}}})
        << '\n';
    for (const coverage::Indicator& one : answer.indicators) {
        const auto& level = answer.profile.acceptable.at(static_cast<std::size_t>(one.kind));
        const std::string name = words.text(
            Message{"server.coverage.indicator." + std::string(coverage::to_name(one.kind))});
        const char* const id = !one.value           ? "server.coverage.indicator_unknown"
                               : !one.is_acceptable ? "server.coverage.indicator_alone"
                               : *one.is_acceptable ? "server.coverage.indicator_met"
                                                    : "server.coverage.indicator_not_met";
        out << "  "
            << words.text(Message{
                   id,
                   {{"name", name},
                    {"value", one.value ? fmt::format("{:.2f} %", *one.value * 100) : ""},
                    {"numerator", one.numerator ? fmt::format("{:.10g}", *one.numerator) : ""},
                    {"denominator",
                     one.denominator ? fmt::format("{:.10g}", *one.denominator) : ""},
                    {"level", level_words(level)},
                    {"missing", joined(one.missing)}}})
            << '\n';
    }
    if (!answer.missing.empty()) {
        out << words.text(Message{"server.coverage.months_missing",
                                  {{"count", std::to_string(answer.missing.size())},
                                   {"first", answer.missing.front()}}})
            << '\n';
    }
    if (!answer.maybe_basic.empty() || !answer.maybe_comprehensive.empty()) {
        out << words.text(
                   Message{"server.coverage.maybe_functioning",
                           {{"basic", std::to_string(answer.maybe_basic.size())},
                            {"comprehensive", std::to_string(answer.maybe_comprehensive.size())}}})
            << '\n';
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
    line("server.coverage.trust.speeds", {});
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

void print_journeys(const JourneysAnswer& answer, const Words& words, std::ostream& out) {
    const auto span_or_dash = [&](const std::optional<Seconds>& span) {
        return span ? words.span(*span) : "-";
    };
    for (const DelayGroup& group : answer.groups) {
        out << words.text(
                   Message{"server.coverage.journeys.group",
                           {{"group", group.name}, {"count", std::to_string(group.referrals)}}})
            << '\n';
        for (const auto& [name, spread] : group.delays) {
            out << "  "
                << words.text(
                       Message{"server.coverage.journeys.delay",
                               {{"delay", words.text(Message{"server.coverage.delay." + name})},
                                {"count", std::to_string(spread.count)},
                                {"median", span_or_dash(spread.median)},
                                {"ninetieth", span_or_dash(spread.ninetieth)}}})
                << '\n';
        }
    }
    for (const coverage::Calibration& one : answer.calibrations) {
        const char* const id = one.speed_factor   ? "server.coverage.journeys.factor"
                               : one.median_ratio ? "server.coverage.journeys.ratio"
                                                  : "server.coverage.journeys.few";
        const auto figure = [](const std::optional<double>& value) {
            return value ? fmt::format("{:.2f}", *value) : "";
        };
        out << words.text(Message{
                   id,
                   {{"when", words.text(Message{"server.report." + to_name(one.conditions)})},
                    {"count", std::to_string(one.journeys)},
                    {"ratio", figure(one.median_ratio)},
                    {"within", percent(one.share_within_allow)},
                    {"factor", figure(one.speed_factor)}}})
            << '\n';
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

UpgradeRequest upgrade_request_of(const CoverageOptions& options, Terminal& terminal) {
    JsonWriter body;
    body.begin_object();
    write_question(body, options, options.needs);
    if (options.count) {
        body.member("count", *options.count);
    }
    if (options.budget) {
        body.key("budget").value(*options.budget, 6);
    }
    body.member("years", options.years).member("robust", options.is_robust);
    body.key("phases").begin_list();
    for (const double budget : options.phases) {
        body.value(budget, 6);
    }
    UpgradeRequest request = parse_upgrade_request(body.end_list().end_object().take());
    add_files(request.coverage, options);
    if (!options.costs.empty()) {
        request.costs = coverage::read_upgrade_costs(text_of(options.costs, terminal));
    }
    return request;
}

}  // namespace

int run_coverage_access(const CoverageOptions& options, Terminal& terminal) {
    check_format(options);
    const CoverageRequest request = request_of(options, options.needs);
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

int run_coverage_upgrades(const CoverageOptions& options, Terminal& terminal) {
    const UpgradeRequest request = upgrade_request_of(options, terminal);
    const Asked from = asked(options, terminal);
    const UpgradeAnswer answer = answer_upgrades(*from.snapshot, request, from.now, from.work);
    if (options.csv) {
        terminal.out << upgrades_csv(*from.snapshot, answer);
        return 0;
    }
    if (options.common.json) {
        terminal.out << json_of(
            [&](JsonWriter& json) { write_upgrade_answer(json, *from.snapshot, request, answer); });
        return 0;
    }
    const Words words = from.words();
    const auto places = from.snapshot->facilities.facilities();
    print_total(request.coverage, answer.before, words, terminal.out);
    const std::string kind = request.is_robust         ? "server.coverage.plan_robust"
                             : answer.plan.is_proven() ? "server.coverage.plan_proven"
                                                       : "server.coverage.plan_within";
    terminal.out << words.text(Message{kind,
                                       {{"births", number(answer.plan.value)},
                                        {"cost", fmt::format("{:.10g}", answer.plan.cost)},
                                        {"bound", number(answer.plan.bound)},
                                        {"gap", percent(answer.plan.gap())}}})
                 << '\n';
    for (const Upgrade& upgrade : answer.upgrades) {
        terminal.out << "  "
                     << words.text(Message{upgrade.is_rank_sure()
                                               ? "server.coverage.upgrade"
                                               : "server.coverage.upgrade_unsure",
                                           {{"name", places[upgrade.facility].name},
                                            {"births", number(upgrade.births_only_by_it)}}})
                     << '\n';
    }
    for (std::size_t year = 0; year < answer.phases.size(); ++year) {
        const UpgradePhase& phase = answer.phases[year];
        std::vector<std::string> names;
        for (const std::size_t facility : phase.facilities) {
            names.push_back(places[facility].name);
        }
        terminal.out << "  "
                     << words.text(Message{"server.coverage.phase",
                                           {{"year", std::to_string(year + 1)},
                                            {"names", names.empty() ? "-" : joined(names)},
                                            {"births", number(phase.births_gained)}}})
                     << '\n';
    }
    for (const BudgetPoint& point : answer.curve) {
        terminal.out << "  "
                     << words.text(Message{"server.coverage.budget_point",
                                           {{"budget", fmt::format("{:.10g}", point.budget)},
                                            {"births", number(point.births_gained)}}})
                     << '\n';
    }
    return 0;
}

int run_coverage_what_if(const CoverageOptions& options, Terminal& terminal) {
    if (!options.show.empty()) {
        return show(options, terminal);
    }
    const std::string body = what_if_json(options, terminal);
    WhatIfRequest request = parse_what_if_request(body);
    add_files(request.coverage, options);
    const Asked from = asked(options, terminal);
    const WhatIfAnswer answer = answer_what_if(*from.snapshot, request, from.now, from.work);
    const std::string text = what_if_text(request, answer, from.words());
    if (options.csv) {
        terminal.out << what_if_csv(answer);
    } else if (options.common.json) {
        terminal.out << json_of(
            [&](JsonWriter& json) { write_what_if_answer(json, *from.snapshot, request, answer); });
    } else {
        terminal.out << text;
    }
    if (!options.save.empty()) {
        JsonWriter json;
        write_what_if_answer(json, *from.snapshot, request, answer);
        save(options.save, {options.name, body, json.take(), text}, from.now);
    }
    return 0;
}

int run_coverage_links(const CoverageOptions& options, Terminal& terminal) {
    check_format(options);
    const CoverageRequest request = request_of(options, options.needs);
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

int run_coverage_indicators(const CoverageOptions& options, Terminal& terminal) {
    IndicatorRequest request;
    const auto last = coverage::find_month(options.last_month);
    if (!last) {
        throw InputError("--last-month takes a month such as 2026-02");
    }
    request.last = *last;
    if (!options.months.empty()) {
        request.months = coverage::read_monthly_counts(text_of(options.months, terminal));
    }
    request.population = options.population;
    request.births_per_1000 = options.births_per_1000;
    request.functioning = options.functioning;
    request.functioning_comprehensive = options.functioning_comprehensive;
    request.settlements = options.settlements;
    const coverage::IndicatorProfile profile =
        options.profile.empty()
            ? default_indicator_profile()
            : coverage::parse_indicator_profile(text_of(options.profile, terminal));
    const Asked from = asked(options, terminal);
    const IndicatorAnswer answer = answer_indicators(*from.snapshot, request, profile, from.now);
    if (options.csv) {
        terminal.out << indicators_csv(answer);
    } else if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) { write_indicator_answer(json, answer); });
    } else {
        print_indicators(answer, from.words(), terminal.out);
    }
    return 0;
}

int run_coverage_trust(const CoverageOptions& options, Terminal& terminal) {
    const CoverageRequest request = request_of_any(options);
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
    const CoverageRequest request = request_of_any(options);
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
    const CoverageRequest request = request_of(options, options.needs);
    const Asked from = asked(options, terminal);
    const LossesAnswer answer = answer_losses(*from.snapshot, request, from.now, from.work);
    if (options.csv) {
        terminal.out << losses_csv(answer);
    } else if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) { write_losses_answer(json, answer); });
    } else {
        print_losses(request, answer, from.words(), terminal.out);
    }
    return 0;
}

int run_coverage_journeys(const CoverageOptions& options, Terminal& terminal) {
    const Asked from = asked(options, terminal);
    const auto journal = journal::open_journal(options.journal, journal::Access::read);
    const JourneysAnswer answer = answer_journeys(*from.snapshot, *journal);
    if (options.common.json) {
        terminal.out << json_of([&](JsonWriter& json) { write_journeys_answer(json, answer); });
    } else {
        print_journeys(answer, from.words(), terminal.out);
    }
    return 0;
}

int run_coverage_report(const CoverageOptions& options, Terminal& terminal) {
    const UpgradeRequest request = upgrade_request_of(options, terminal);
    const Asked from = asked(options, terminal);
    const std::string page = render_coverage_report(
        *from.snapshot, make_coverage_report(*from.snapshot, request, from.now, from.work),
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
