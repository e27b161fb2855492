#include <algorithm>
#include <istream>
#include <iterator>
#include <ostream>
#include <string_view>

#include "server/answer.hpp"
#include "server/answer_json.hpp"
#include "server/cli/commands.hpp"
#include "server/cli/dialogue.hpp"
#include "server/cli/page.hpp"
#include "server/json/recommendation.hpp"
#include "server/json/request.hpp"
#include "server/practice.hpp"
#include "server/program_files.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// As JSON writes one: `034` is none (RFC 8259, section 6).
bool is_number(std::string_view text) {
    const auto take_digits = [&text] {
        const std::size_t count = std::min(text.find_first_not_of("0123456789"), text.size());
        const std::string_view digits = text.substr(0, count);
        text.remove_prefix(count);
        return digits;
    };
    if (text.starts_with('-')) {
        text.remove_prefix(1);
    }
    const std::string_view whole = take_digits();
    if (whole.empty() || (whole.size() > 1 && whole.front() == '0')) {
        return false;
    }
    if (!text.starts_with('.')) {
        return text.empty();
    }
    text.remove_prefix(1);
    return !take_digits().empty() && text.empty();
}

void write_reading(JsonWriter& json, const AskOptions& options, Instant now) {
    if (options.pressure.empty() && !options.pulse) {
        return;
    }
    json.key("readings").begin_list().begin_object();
    json.member("taken_at", options.taken_at.empty() ? to_rfc3339(now) : options.taken_at);
    if (!options.pressure.empty()) {
        const std::size_t slash = options.pressure.find('/');
        const std::string upper = options.pressure.substr(0, slash);
        const std::string lower =
            slash == std::string::npos ? "" : options.pressure.substr(slash + 1);
        if (!is_number(upper) || !is_number(lower)) {
            throw InputError("--pressure takes systolic/diastolic in mmHg, e.g. 165/112, not \"" +
                             options.pressure + "\"");
        }
        json.key("systolic_mmhg").raw(upper).key("diastolic_mmhg").raw(lower);
    }
    json.member("pulse_per_minute", options.pulse).end_object().end_list();
}

void write_findings(JsonWriter& json, const AskOptions& options) {
    json.key("findings").begin_object();
    for (const std::string& finding : options.findings) {
        const auto [name, value] = name_and_value(finding, "--set");
        json.key(name);
        if (is_number(value)) {
            json.raw(value);
        } else {
            json.value(value);
        }
    }
    json.end_object();
}

void write_transport(JsonWriter& json, const AskOptions& options) {
    if (options.means.empty() && !options.ready_in) {
        return;
    }
    json.key("transport").begin_object();
    if (!options.means.empty()) {
        json.member("means", options.means);
    }
    json.member("ready_in_minutes", options.ready_in).end_object();
}

/// The flags as the request that a client would send: one parser, one set of errors.
std::string request_json(const AskOptions& options, Instant now) {
    JsonWriter json;
    json.begin_object();
    if (!options.at.empty()) {
        json.member("at", options.at);
    }
    write_reading(json, options, now);
    write_findings(json, options);
    json.member("available_here", options.available_here);
    if (!options.from.empty()) {
        json.key("from").raw(place_json(options.from));
    }
    write_transport(json, options);
    const std::string conditions = conditions_json(options.surface, options.light);
    if (!conditions.empty()) {
        json.key("road_conditions").raw(conditions);
    }
    json.member("can_phone", !options.cannot_phone).key("calls").begin_list();
    for (const std::string& call : options.calls) {
        const auto [facility, answer] = name_and_value(call, "--call");
        json.begin_object().member("facility", facility).member("answer", answer).end_object();
    }
    return json.end_list().end_object().take();
}

std::string read_request(const AskOptions& options, Instant now, Terminal& terminal) {
    if (options.file.empty()) {
        return request_json(options, now);
    }
    if (options.file == "-") {
        return {std::istreambuf_iterator<char>{terminal.in}, {}};
    }
    try {
        return read_program_file(options.file);
    } catch (const DataError& error) {
        throw InputError(error.what());
    }
}

RecommendationRequest interactive_request(const AskOptions& options, const Snapshot& snapshot,
                                          Instant now, Terminal& terminal) {
    AskOptions given = options;
    const bool knows_place = !options.from.empty();
    if (!knows_place) {
        given.from = "to-be-asked";
    }
    RecommendationRequest request = parse_recommendation_request(request_json(given, now));
    return ask_questions(snapshot, std::move(request), knows_place, now, terminal);
}

}  // namespace

int run_ask(const AskOptions& options, Terminal& terminal) {
    const Instant now = moment_of(options.common);
    const bool asks = options.is_interactive || (options.is_empty() && terminal.is_interactive);
    if (!asks && options.is_empty()) {
        throw InputError(
            "nothing is known about her: give findings, a JSON request, or "
            "--interactive");
    }
    RecommendationRequest request;
    if (!asks) {
        request = parse_recommendation_request(read_request(options, now, terminal));
    }
    const auto snapshot = snapshot_of(options.common, now);
    if (asks) {
        request = interactive_request(options, *snapshot, now, terminal);
    }
    Answer answer = answer_recommendation(*snapshot, request, now, snapshot->catalogue);
    if (options.is_practice) {
        mark_as_practice(answer, snapshot->catalogue);
    }
    if (options.common.json) {
        const Words words{snapshot->catalogue, snapshot->zone, now};
        JsonWriter json{2};
        write_recommendation(json, {answer.assessment, answer.recommendation, snapshot->facilities,
                                    answer.referral_note, stamp_of(*snapshot), words});
        terminal.out << json.take() << '\n';
    } else {
        if (options.is_practice) {
            terminal.out << snapshot->catalogue.text(std::string_view{"server.practice.caution"})
                         << "\n\n";
        }
        terminal.out << answer_page(*snapshot, answer, now);
    }
    return 0;
}

}  // namespace waybourne::server
