#include "server/cli/coverage_shared.hpp"

#include <fmt/format.h>

#include <cmath>
#include <fstream>
#include <ostream>

#include "journal/private_file.hpp"
#include "server/json/coverage_request.hpp"

namespace waybourne::server {

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

void add_files(CoverageRequest& request, const CoverageOptions& options, Terminal& terminal) {
    request.settlements = options.settlements;
    request.areas = options.areas;
    if (!options.capacities.empty()) {
        request.capacities = coverage::read_capacities(text_of(options.capacities, terminal));
    }
}

CoverageRequest request_of(const CoverageOptions& options, const std::vector<std::string>& needs,
                           Terminal& terminal) {
    JsonWriter json;
    json.begin_object();
    write_question(json, options, needs);
    CoverageRequest request = parse_coverage_request(json.end_object().take());
    add_files(request, options, terminal);
    return request;
}

CoverageRequest request_of_any(const CoverageOptions& options, Terminal& terminal) {
    return request_of(options, {std::string(triage::to_name(triage::Capability::skilled_birth))},
                      terminal);
}

Asked asked(const CoverageOptions& options, Terminal& terminal) {
    Asked made;
    made.interruptible = std::make_unique<Interruptible>();
    made.work.stop = made.interruptible->token();
    made.now = moment_of(options.common);
    made.snapshot = snapshot_of(options.common, made.now);
    made.work.progress = progress_of(terminal);
    return made;
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
    if (answer.concentration) {
        out << "  "
            << words.text(Message{"server.coverage.concentration",
                                  {{"index", fmt::format("{:+.2f}", *answer.concentration)}}})
            << '\n';
    }
    out << words.text(Message{
               "server.coverage.assumed." + std::string(coverage::to_name(request.transport)),
               {{"handover", words.span(answer.assumptions.handover)},
                {"loading", words.span(answer.assumptions.loading)}}})
        << '\n';
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

std::string joined(const std::vector<std::string>& texts) {
    std::string all;
    for (const std::string& text : texts) {
        all += (all.empty() ? "" : ", ") + text;
    }
    return all;
}

void check_format(const CoverageOptions& options) {
    if (options.csv && options.geojson) {
        throw InputError("--csv and --geojson exclude each other");
    }
}

UpgradeRequest upgrade_request_of(const CoverageOptions& options, Terminal& terminal) {
    JsonWriter body;
    body.begin_object();
    write_question(body, options, options.needs);
    body.member("objective", options.objective);
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
    add_files(request.coverage, options, terminal);
    if (!options.costs.empty()) {
        request.costs = coverage::read_upgrade_costs(text_of(options.costs, terminal));
    }
    return request;
}

IndicatorRequest indicator_request_of(const CoverageOptions& options, Terminal& terminal) {
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
    request.areas = options.areas;
    request.from_journal = !options.journal.empty();
    return request;
}

double number_of(const std::string& text, const std::string& option) {
    char* end = nullptr;
    const double value = std::strtod(text.c_str(), &end);
    if (text.empty() || end != text.c_str() + text.size()) {
        throw InputError(option + " takes a number, not \"" + text + "\"");
    }
    return value;
}

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

}  // namespace waybourne::server
