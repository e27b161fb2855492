#include "server/cli/simulate.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>
#include <ostream>

#include "dispatch/vehicle_file.hpp"
#include "server/district_year.hpp"
#include "server/json/request.hpp"
#include "server/json/writer.hpp"
#include "server/words.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

using dispatch::Estimate95;

std::vector<dispatch::SendingPolicy> policies_of(const std::vector<std::string>& names) {
    std::vector<dispatch::SendingPolicy> policies;
    for (const std::string& name : names) {
        const auto policy = dispatch::find_sending_policy(name);
        if (!policy) {
            throw InputError("--policy is one of one_plan, each_by_itself, nearest_free");
        }
        policies.push_back(*policy);
    }
    return policies.empty() ? std::vector{dispatch::SendingPolicy::one_plan} : policies;
}

routing::Means means_of(const std::string& name) {
    for (const auto means : {routing::Means::on_foot, routing::Means::motorcycle,
                             routing::Means::car, routing::Means::four_wheel_drive}) {
        if (routing::to_name(means) == name) {
            return means;
        }
    }
    throw InputError("--own-means '" + name + "' is no means of transport on roads");
}

YearRequest request_of(const SimulateOptions& options, Terminal& terminal) {
    YearRequest request;
    request.settings.from = moment_of(options.common);
    request.settings.until = request.settings.from + options.days * 24h;
    request.settings.seed = options.seed;
    request.settings.phones_ahead = !options.nobody_phones;
    request.settings.places_can_fail = !options.places_never_fail;
    request.settings.own_transport_share = options.own_transport;
    request.settings.own_transport = means_of(options.own_means);
    request.settings.does_not_start_share = options.does_not_start;
    request.policies = policies_of(options.policies);
    request.births_per_year = options.births_per_year;
    request.complications_per_1000 = options.complications_per_1000;
    request.settlements = {options.settlements, "", options.births_per_1000};
    if (!options.vehicles.empty()) {
        request.vehicles = dispatch::read_vehicles(text_of(options.vehicles, terminal));
    }
    return request;
}

void write_estimate(JsonWriter& json, const char* name, const Estimate95& estimate) {
    constexpr int decimals = 4;
    json.key(name).begin_object().key("mean").value(estimate.mean, decimals);
    json.key("from").value(estimate.mean - estimate.half_width, decimals);
    json.key("until").value(estimate.mean + estimate.half_width, decimals).end_object();
}

void write_maybe(JsonWriter& json, const char* name, const std::optional<Estimate95>& estimate) {
    if (estimate) {
        write_estimate(json, name, *estimate);
    } else {
        json.key(name).null();
    }
}

void write_policy(JsonWriter& json, const YearAnswer& answer, const YearAnswer::OfPolicy& one) {
    constexpr int decimals = 4;
    json.begin_object().member("policy", dispatch::to_name(one.policy));
    json.member("births", one.year.births).member("women", one.year.women.size());
    write_estimate(json, "share_in_time", one.figures.share_in_time);
    write_estimate(json, "critical_in_time", one.figures.critical_in_time);
    write_estimate(json, "expected_share_in_time", one.figures.expected_share_in_time);
    write_estimate(json, "lateness", one.figures.lateness);
    write_maybe(json, "care_minutes", one.figures.care_minutes);
    write_maybe(json, "with_her_minutes", one.figures.with_her_minutes);
    json.member("never_carried", one.figures.never_carried);
    json.member("places_in_vain", one.figures.places_in_vain);
    json.key("vehicles").begin_list();
    for (std::size_t vehicle = 0; vehicle < answer.vehicles.size(); ++vehicle) {
        json.begin_object().member("id", answer.vehicles[vehicle].id);
        json.member("trips", one.year.trips[vehicle]);
        json.key("share_away").value(one.year.use[vehicle], decimals).end_object();
    }
    json.end_list();
    if (one.difference) {
        json.key("against_the_first").begin_object();
        write_estimate(json, "share_in_time", one.difference->share_in_time);
        write_estimate(json, "lateness", one.difference->lateness);
        json.end_object();
    }
    json.end_object();
}

std::string to_json_text(const YearAnswer& answer) {
    constexpr int decimals = 4;
    const dispatch::YearSettings& settings = answer.settings;
    JsonWriter json{2};
    json.begin_object().key("inputs").begin_object();
    json.member("from", settings.from).member("until", settings.until);
    json.member("seed", std::to_string(settings.seed));
    json.key("complications_per_birth").value(settings.complications_per_birth, decimals);
    json.member("phones_ahead", settings.phones_ahead);
    json.member("places_can_fail", settings.places_can_fail);
    json.key("own_transport_share").value(settings.own_transport_share, decimals);
    json.key("does_not_start_share").value(settings.does_not_start_share, decimals);
    json.key("sources").begin_object();
    for (const RateSource& source : answer.sources) {
        json.member(source.what.c_str(), source.source);
    }
    json.end_object().end_object().key("policies").begin_list();
    for (const YearAnswer::OfPolicy& one : answer.policies) {
        write_policy(json, answer, one);
    }
    return json.end_list().end_object().take();
}

Message between(const char* id, const Estimate95& estimate, double scale) {
    const auto figure = [&](double value) { return fmt::format("{:.1f}", value * scale); };
    return {id,
            {{"mean", figure(estimate.mean)},
             {"from", figure(estimate.mean - estimate.half_width)},
             {"until", figure(estimate.mean + estimate.half_width)}}};
}

void print_policy(const YearAnswer& answer, const YearAnswer::OfPolicy& one, const Words& words,
                  std::ostream& out) {
    constexpr double percent = 100;
    const auto line = [&](const Message& message) { out << "  " << words.text(message) << '\n'; };
    out << words.text(
               Message{"server.simulate.policy." + std::string(dispatch::to_name(one.policy)), {}})
        << '\n';
    line(between("server.simulate.in_time", one.figures.share_in_time, percent));
    line(between("server.simulate.critical", one.figures.critical_in_time, percent));
    line(between("server.simulate.expected", one.figures.expected_share_in_time, percent));
    if (one.figures.care_minutes) {
        line(between("server.simulate.care", *one.figures.care_minutes, 1));
    }
    if (one.figures.with_her_minutes) {
        line(between("server.simulate.with_her", *one.figures.with_her_minutes, 1));
    }
    line(between("server.simulate.lateness", one.figures.lateness, 1));
    line({"server.simulate.never_carried", {{"count", std::to_string(one.figures.never_carried)}}});
    line({"server.simulate.in_vain", {{"count", std::to_string(one.figures.places_in_vain)}}});
    for (std::size_t vehicle = 0; vehicle < answer.vehicles.size(); ++vehicle) {
        line({"server.simulate.vehicle",
              {{"name", answer.vehicles[vehicle].name},
               {"trips", std::to_string(one.year.trips[vehicle])},
               {"share", fmt::format("{:.1f}", one.year.use[vehicle] * percent)}}});
    }
    if (one.difference) {
        line(between("server.simulate.difference", one.difference->share_in_time, percent));
    }
}

void print(const YearAnswer& answer, const Words& words, std::ostream& out) {
    const dispatch::SimulatedYear& first = answer.policies.front().year;
    out << words.text(Message{"server.simulate.heading",
                              {{"births", std::to_string(first.births)},
                               {"women", std::to_string(first.women.size())},
                               {"seed", std::to_string(answer.settings.seed)}}})
        << '\n';
    for (const YearAnswer::OfPolicy& one : answer.policies) {
        print_policy(answer, one, words, out);
    }
    for (const RateSource& source : answer.sources) {
        out << words.text(
                   Message{"server.simulate.source." + source.what, {{"source", source.source}}})
            << '\n';
    }
}

}  // namespace

int run_simulate(const SimulateOptions& options, Terminal& terminal) {
    const YearRequest request = request_of(options, terminal);
    const auto snapshot = snapshot_of(options.common, request.settings.from);
    const YearAnswer answer = answer_year(*snapshot, request, progress_of(terminal));
    if (options.common.json) {
        terminal.out << to_json_text(answer) << '\n';
    } else {
        print(answer, Words{snapshot->catalogue, snapshot->zone, request.settings.from},
              terminal.out);
    }
    return 0;
}

}  // namespace waybourne::server
