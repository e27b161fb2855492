#include <fmt/format.h>

#include <sstream>

#include "server/cli/coverage_shared.hpp"
#include "server/cli/page.hpp"
#include "server/json/coverage.hpp"
#include "server/json/coverage_csv.hpp"
#include "server/json/coverage_request.hpp"
#include "server/scenario_replay.hpp"

namespace waybourne::server {

namespace {

std::vector<std::string> split(const std::string& text, char at) {
    std::vector<std::string> parts;
    std::istringstream stream{text};
    for (std::string part; std::getline(stream, part, at);) {
        parts.push_back(part);
    }
    return parts;
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

void save(const std::string& path, const Saved& saved, Instant now) {
    JsonWriter json;
    json.begin_object().member("name", saved.name).member("saved_at", now);
    json.key("request").raw(saved.request).key("answer").raw(saved.answer);
    json.member("text", saved.text).end_object();
    write_new_file(path, json.take() + '\n');
}

/// Births and share of one scenario, as the recorded and as today's answer have them.
std::string then_and_now(const std::string& name, const JsonValue& then, const JsonValue& now,
                         const Words& words) {
    const auto figure_of = [](const JsonValue& total, const char* which) {
        const JsonValue* const found = total.find(which);
        return found != nullptr && found->kind() == JsonKind::number
                   ? std::optional(found->number())
                   : std::nullopt;
    };
    const auto births = [&](const JsonValue& total) {
        const auto found = figure_of(total, "in_time");
        return found ? number(*found) : "-";
    };
    return "  " +
           words.text(Message{"server.scenario.then_and_now",
                              {{"name", name},
                               {"then", births(then)},
                               {"share_then", percent(figure_of(then, "share_at_least"))},
                               {"now", births(now)},
                               {"share_now", percent(figure_of(now, "share_at_least"))}}}) +
           '\n';
}

std::string replay_text(const JsonValue& saved, const ScenarioReplay& replay, const Words& words) {
    if (replay.inputs_are_the_same() && replay.figures_are_the_same) {
        return words.text(Message{"server.scenario.identical"}) + '\n';
    }
    std::string text =
        words.text(Message{replay.inputs_are_the_same() ? "server.scenario.otherwise"
                                                        : "server.scenario.inputs_changed"}) +
        '\n';
    constexpr std::size_t told = 12;  // digits enough to tell files apart
    for (const ChangedSource& one : replay.changed) {
        text += "  " +
                words.text(Message{
                    one.then.empty() ? "server.scenario.not_recorded" : "server.scenario.changed",
                    {{"what", words.text(Message{"server.scenario.input." + one.what})},
                     {"then", one.then.substr(0, told)},
                     {"now", one.now.substr(0, told)}}}) +
                '\n';
    }
    if (!replay.now) {
        return text + words.text(Message{"server.scenario.cannot", {{"why", replay.failure}}}) +
               '\n';
    }
    const JsonValue& then = *saved.find("answer");
    text += words.text(Message{replay.figures_are_the_same ? "server.scenario.still_the_same"
                                                           : "server.scenario.beside"}) +
            '\n';
    text += then_and_now(words.text(Message{"server.scenario.as_it_is"}), *then.find("before"),
                         *replay.now->find("before"), words);
    const auto& before = then.find("scenarios")->items();
    const auto& after = replay.now->find("scenarios")->items();
    for (std::size_t i = 0; i < std::min(before.size(), after.size()); ++i) {
        const JsonValue* const name = after[i].find("name");
        const JsonValue* const total = before[i].find("total");
        text += then_and_now(name->text(), total == nullptr ? JsonValue{} : *total,
                             *after[i].find("total"), words);
    }
    return text;
}

int show(const CoverageOptions& options, Terminal& terminal) {
    const std::string whole = text_of(options.show, terminal);
    const JsonValue saved = parse_json(whole);
    const JsonValue* const text = saved.find("text");
    if (text == nullptr || text->kind() != JsonKind::text) {
        throw InputError(options.show + " was not saved by what-if --save");
    }
    if (!options.is_again) {
        terminal.out << (options.common.json ? whole : text->text());
        return 0;
    }
    const Asked from = asked(options, terminal);
    const ScenarioReplay replay = replay_scenario(
        *from.snapshot, saved, {options.settlements, options.areas}, from.now, from.work);
    if (options.common.json) {
        terminal.out << to_json(saved, replay) << '\n';
    } else {
        terminal.out << text->text() << '\n' << replay_text(saved, replay, from.words());
    }
    return 0;
}

}  // namespace

int run_coverage_what_if(const CoverageOptions& options, Terminal& terminal) {
    if (!options.show.empty()) {
        return show(options, terminal);
    }
    if (options.is_again) {
        throw InputError("--again goes with --show FILE");
    }
    const std::string body = what_if_json(options, terminal);
    WhatIfRequest request = parse_what_if_request(body);
    add_files(request.coverage, options, terminal);
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

}  // namespace waybourne::server
