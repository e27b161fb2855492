#include "server/json/district.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "server/json/object_reader.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;

/// Two numbers of two digits with a sign between them, e.g. `06:00` or `11-01`.
std::optional<std::pair<int, int>> two_numbers(const std::string& text, char sign) {
    const auto is_digit = [&](std::size_t i) { return text[i] >= '0' && text[i] <= '9'; };
    if (text.size() != 5 || text[2] != sign || !is_digit(0) || !is_digit(1) || !is_digit(3) ||
        !is_digit(4)) {
        return std::nullopt;
    }
    return std::pair{(text[0] - '0') * 10 + text[1] - '0', (text[3] - '0') * 10 + text[4] - '0'};
}

const std::vector<std::string>& languages() {
    static const std::vector<std::string> all{catalogue_languages.begin(),
                                              catalogue_languages.end()};
    return all;
}

std::optional<DayOfYear> day_of_year(ObjectReader& reader, const std::string& name) {
    const auto text = reader.text(name);
    if (!text) {
        return std::nullopt;
    }
    const auto parts = two_numbers(*text, '-');
    constexpr int leap_year = 2024;
    if (!parts ||
        !std::chrono::year_month_day{std::chrono::year{leap_year},
                                     std::chrono::month{static_cast<unsigned>(parts->first)},
                                     std::chrono::day{static_cast<unsigned>(parts->second)}}
             .ok()) {
        reader.refuse(name, "\"" + *text + R"(" is not a month and a day like "11-01")");
        return std::nullopt;
    }
    return DayOfYear{parts->first * 32 + parts->second};
}

std::optional<std::chrono::minutes> clock_time(ObjectReader& reader, const std::string& name) {
    const auto text = reader.text(name);
    if (!text) {
        return std::nullopt;
    }
    const auto parts = two_numbers(*text, ':');
    if (!parts || parts->first > 23 || parts->second > 59) {
        reader.refuse(name, "\"" + *text + R"(" is not a time like "06:00")");
        return std::nullopt;
    }
    return std::chrono::hours{parts->first} + std::chrono::minutes{parts->second};
}

void read_season(ObjectReader& body, District& district, Errors& errors) {
    if (const JsonValue* value = body.take("wet_season")) {
        ObjectReader reader{*value, body.pointer_to("wet_season"), errors};
        reader.require("from");
        reader.require("until");
        const auto from = day_of_year(reader, "from");
        const auto until = day_of_year(reader, "until");
        reader.finish();
        if (from && until) {
            district.wet_season = WetSeason{*from, *until};
        }
    }
    if (const JsonValue* value = body.take("daylight")) {
        ObjectReader reader{*value, body.pointer_to("daylight"), errors};
        district.daylight.from = clock_time(reader, "from").value_or(district.daylight.from);
        district.daylight.until = clock_time(reader, "until").value_or(district.daylight.until);
        reader.finish();
    }
}

/// An https address with the places of a tile. Nothing in it may end the list of origins in which
/// it is written for browsers.
std::optional<std::string> map_tiles(ObjectReader& body) {
    auto text = body.text("map_tiles");
    if (!text) {
        return std::nullopt;
    }
    const bool is_plain = text->find_first_of(" ;,'\"\\<>") == std::string::npos;
    if (!text->starts_with("https://") || !is_plain || text->find("{z}") == std::string::npos ||
        text->find("{x}") == std::string::npos || text->find("{y}") == std::string::npos) {
        body.refuse("map_tiles", "is not an https address with {z}, {x} and {y}");
        return std::nullopt;
    }
    return text;
}

bool is_plain_file_name(const std::string& name) {
    return !name.empty() && name.front() != '.' &&
           std::all_of(name.begin(), name.end(), [](char c) {
               return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                      c == '.' || c == '-' || c == '_';
           });
}

void read_files(ObjectReader& body, District& district, Errors& errors) {
    body.require("files");
    const JsonValue* value = body.take("files");
    if (value == nullptr) {
        return;
    }
    ObjectReader reader{*value, body.pointer_to("files"), errors};
    reader.require("roads");
    reader.require("facilities");
    std::vector<std::string> names{"roads",    "facilities", "reports",        "settlements",
                                   "vehicles", "protocol",   "protocol_texts", "rivers",
                                   "areas",    "speeds",     "boat_ways"};
    for (const std::string& language : languages()) {
        names.push_back("protocol_texts_" + language);
    }
    for (const std::string& name : names) {
        const auto file = reader.text(name);
        if (file && !is_plain_file_name(*file)) {
            reader.refuse(name, "is not the plain name of a file in this folder");
        } else if (file) {
            district.files.emplace(name, *file);
        }
    }
    reader.finish();
}

void throw_if_any(const Errors& errors, const std::string& file) {
    if (!errors.empty()) {
        throw InputError(file + " has wrong entries", errors);
    }
}

}  // namespace

District parse_district(std::string_view json) {
    const JsonValue value = parse_json(json);
    Errors errors;
    District district;
    ObjectReader body{value, "#", errors};
    body.require("name");
    district.name = body.text("name").value_or("");
    district.about = body.text("about").value_or("");
    body.require("time_zone");
    district.time_zone = body.text("time_zone").value_or("Etc/UTC");
    if (const auto language = body.choice("language", languages())) {
        district.language = languages().at(*language);
    }
    district.now = body.instant("now");
    district.times_move_with_the_clock = body.boolean("times_move_with_the_clock").value_or(false);
    if (district.times_move_with_the_clock && !district.now) {
        body.require("now");
    }
    read_season(body, district, errors);
    district.map_tiles = map_tiles(body).value_or("");
    read_files(body, district, errors);
    body.finish();
    throw_if_any(errors, "district.json");
    return district;
}

Manifest parse_manifest(std::string_view json) {
    const JsonValue value = parse_json(json);
    Errors errors;
    Manifest manifest;
    ObjectReader body{value, "#", errors};
    body.require("files");
    const JsonValue* files = body.take("files");
    body.finish();
    constexpr double most_bytes = 9e15;
    if (files != nullptr && files->kind() == JsonKind::object) {
        for (const JsonMember& file : files->members()) {
            ObjectReader reader{file.value, "#/files/" + pointer_step(file.name), errors};
            reader.require("bytes");
            reader.require("sha256");
            const auto bytes = reader.number("bytes", {0, most_bytes});
            const auto sha256 = reader.text("sha256");
            reader.finish();
            manifest.emplace(file.name, ManifestEntry{static_cast<std::uint64_t>(bytes.value_or(0)),
                                                      sha256.value_or("")});
        }
    } else if (files != nullptr) {
        errors.push_back({"#/files", "is not an object"});
    }
    throw_if_any(errors, "manifest.json");
    return manifest;
}

}  // namespace waybourne::server
