#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <iterator>
#include <ostream>

#include "server/cli/commands.hpp"
#include "server/json/writer.hpp"
#include "server/load_district.hpp"
#include "server/program_files.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

std::optional<double> as_number(const std::string& text) {
    if (text.empty()) {
        return std::nullopt;
    }
    char* end = nullptr;
    const double number = std::strtod(text.c_str(), &end);
    return end == text.c_str() + text.size() ? std::optional(number) : std::nullopt;
}

}  // namespace

std::string text_of(const std::string& file, Terminal& terminal) {
    if (file == "-") {
        return {std::istreambuf_iterator<char>{terminal.in}, {}};
    }
    try {
        return read_program_file(file);
    } catch (const DataError& error) {
        throw InputError(error.what());
    }
}

Progress progress_of(Terminal& terminal) {
    if (!terminal.is_interactive) {
        return {};
    }
    return [&terminal](std::string_view doing, double share) {
        constexpr double percent = 100;
        terminal.err << '\r' << doing
                     << (share < 0 ? std::string("     ")
                                   : fmt::format(" {:3.0f} %", share * percent))
                     << std::flush;
    };
}

Instant moment_of(const DistrictOptions& options) {
    return options.now.empty() ? SystemClock{}.now() : parse_rfc3339(options.now);
}

std::shared_ptr<const Snapshot> snapshot_of(const DistrictOptions& options, Instant now) {
    LoadOptions load;
    load.folder = options.district.empty() ? program_folder() / "maps-sample"
                                           : std::filesystem::path{options.district};
    load.now = now;
    load.engine = parse_engine_choice(options.engine);
    load.language = options.language;
    return load_district(load);
}

std::string place_json(const std::string& text) {
    constexpr int decimals = 9;
    JsonWriter json;
    json.begin_object();
    const std::size_t comma = text.find(',');
    const auto latitude = as_number(text.substr(0, comma));
    const auto longitude =
        comma == std::string::npos ? std::nullopt : as_number(text.substr(comma + 1));
    if (latitude && longitude) {
        json.key("latitude").value(*latitude, decimals);
        json.key("longitude").value(*longitude, decimals);
    } else {
        json.member("facility", text);
    }
    return json.end_object().take();
}

std::string conditions_json(const std::string& surface, const std::string& light) {
    if (surface.empty() && light.empty()) {
        return "";
    }
    if (surface.empty() || light.empty()) {
        throw InputError("--surface and --light go together");
    }
    JsonWriter json;
    json.begin_object().member("surface", surface).member("light", light);
    return json.end_object().take();
}

void write_travel_members(JsonWriter& json, const TravelOptions& options) {
    if (!options.means.empty()) {
        json.member("means", options.means);
    }
    if (!options.leave_at.empty()) {
        json.member("leave_at", options.leave_at);
    }
    const std::string conditions = conditions_json(options.surface, options.light);
    if (!conditions.empty()) {
        json.key("road_conditions").raw(conditions);
    }
}

void write_way_members(JsonWriter& json, const RouteOptions& options) {
    json.key("from").raw(place_json(options.from));
    json.key("to").raw(place_json(options.to));
    write_travel_members(json, {options.means, options.leave_at, options.surface, options.light});
}

void write_where(JsonWriter& json, const std::string& road) {
    const bool is_number = !road.empty() && road.size() <= 15 &&
                           road.find_first_not_of("0123456789") == std::string::npos;
    json.begin_object();
    if (is_number) {
        json.key("road_id").raw(std::to_string(std::stoll(road)));
    } else {
        json.member("road", road);
    }
    json.end_object();
}

std::pair<std::string, std::string> name_and_value(const std::string& text,
                                                   const std::string& option) {
    const std::size_t sign = text.find('=');
    if (sign == std::string::npos || sign == 0) {
        throw InputError(option + " takes name=value, not \"" + text + "\"");
    }
    return {text.substr(0, sign), text.substr(sign + 1)};
}

}  // namespace waybourne::server
