#include "coverage/internal/rows.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <fstream>
#include <set>
#include <sstream>

#include "vocabulary/csv.hpp"
#include "vocabulary/nearest_name.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::coverage {

namespace {

std::string trimmed(const std::string& text) {
    const auto first = text.find_first_not_of(" \t\r\n");
    const auto last = text.find_last_not_of(" \t\r\n");
    return first == std::string::npos ? "" : text.substr(first, last - first + 1);
}

std::optional<double> find_number(const std::string& text) {
    double value = 0;
    const char* const end = text.data() + text.size();
    const auto [stopped, error] = std::from_chars(text.data(), end, value);
    return error == std::errc{} && stopped == end && std::isfinite(value) ? std::optional(value)
                                                                          : std::nullopt;
}

/// What a file calls each of our columns, and ours by theirs.
std::vector<std::string> our_names(const std::vector<std::string>& given, const Columns& columns) {
    std::map<std::string, std::string> ours;
    for (const std::string& name : columns.known) {
        const auto theirs = columns.theirs.find(name);
        ours.emplace(theirs == columns.theirs.end() ? name : theirs->second, name);
    }
    for (const std::string& name : columns.ignored) {
        ours.emplace(name, "");
    }
    std::vector<FieldError> errors;
    std::vector<std::string> names;
    std::set<std::string> seen;
    for (const std::string& name : given) {
        if (!seen.insert(name).second) {
            errors.push_back({"line 1", "column '" + shortened(name) + "' stands twice"});
        }
        const auto found = ours.find(name);
        if (found == ours.end()) {
            const auto nearest = nearest_name(name, columns.known);
            errors.push_back({"line 1", "column '" + shortened(name) + "' is not known" +
                                            (nearest ? "; did you mean '" + *nearest + "'?" : "")});
        }
        names.push_back(found == ours.end() ? "" : found->second);
    }
    for (const auto& [theirs, name] : ours) {
        const bool is_needed =
            std::find(columns.needed.begin(), columns.needed.end(), name) != columns.needed.end();
        if (is_needed && !seen.contains(theirs)) {
            errors.push_back({"line 1", "column '" + theirs + "' is missing"});
        }
    }
    if (!errors.empty()) {
        throw InputError("nothing was imported: the headings are wrong", errors);
    }
    return names;
}

}  // namespace

void Row::note(std::string_view column, std::string detail) {
    problems_.push_back(
        {column.empty() ? place_ : place_ + separator_ + std::string(column), std::move(detail)});
}

std::string Row::text(std::string_view column) const {
    const auto found = values.find(column);
    return found == values.end() ? "" : found->second;
}

std::string Row::needed_text(const std::string& column) {
    std::string value = text(column);
    if (value.empty()) {
        note(column, "is needed");
    }
    return value;
}

std::optional<double> Row::number(const std::string& column, double least, double most) {
    const std::string value = text(column);
    if (value.empty()) {
        return std::nullopt;
    }
    const auto number = find_number(value);
    if (!number) {
        note(column, "'" + shortened(value) + "' is not a number");
    } else if (*number < least || *number > most) {
        note(column,
             shortened(value) + " is outside " + to_figure(least) + " to " + to_figure(most));
        return std::nullopt;
    }
    return number;
}

std::string Row::id(const std::string& column) {
    std::string value = needed_text(column);
    const bool is_good =
        value.size() <= 100 &&
        value.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789_-") == std::string::npos;
    if (!is_good) {
        note(column, "'" + shortened(value) + "' is not made of a to z, 0 to 9, _ and -");
        return {};
    }
    return value;
}

std::optional<GeoPoint> Row::point() {
    const bool is_noted =
        std::any_of(problems_.begin(), problems_.end(), [this](const FieldError& problem) {
            return problem.pointer.starts_with(place_ + separator_ + "geometry");
        });
    if (is_noted) {
        return std::nullopt;
    }
    const std::size_t before = problems_.size();
    for (const char* const name : {"latitude", "longitude"}) {
        needed_text(name);
    }
    const auto latitude = number("latitude", -90, 90);
    const auto longitude = number("longitude", -180, 180);
    if (problems_.size() != before || !latitude || !longitude) {
        return std::nullopt;
    }
    return GeoPoint{Latitude{*latitude}, Longitude{*longitude}};
}

std::vector<Row> rows_of_csv(std::string_view text, const Columns& columns) {
    if (!is_utf8(text)) {
        throw InputError("nothing was imported: the file is not UTF-8 text");
    }
    const std::vector<CsvRow> lines = read_csv(text);
    if (lines.empty() || !lines[0].problem.empty()) {
        throw InputError("nothing was imported: the headings are wrong",
                         {{"line 1", lines.empty() ? "the file is empty" : lines[0].problem}});
    }
    std::vector<std::string> given;
    for (const std::string& name : lines[0].values) {
        given.push_back(trimmed(name));
    }
    const std::vector<std::string> names = our_names(given, columns);
    std::vector<Row> rows;
    for (std::size_t i = 1; i < lines.size(); ++i) {
        Row& row = rows.emplace_back("line " + std::to_string(lines[i].line), ", column ");
        if (!lines[i].problem.empty()) {
            row.note("", lines[i].problem);
        } else if (lines[i].values.size() != names.size()) {
            row.note("", fmt::format("has {} values, the headings {}", lines[i].values.size(),
                                     names.size()));
        } else {
            for (std::size_t column = 0; column < names.size(); ++column) {
                std::string value = trimmed(lines[i].values[column]);
                if (!value.empty() && !names[column].empty()) {
                    row.values.emplace(names[column], std::move(value));
                }
            }
        }
    }
    return rows;
}

void refuse_bad(std::span<const Row> rows) {
    std::vector<FieldError> errors;
    std::size_t bad = 0;
    for (const Row& row : rows) {
        bad += row.problems().empty() ? 0 : 1;
        errors.insert(errors.end(), row.problems().begin(), row.problems().end());
    }
    if (bad > 0) {
        throw InputError(
            fmt::format("nothing was imported: {} {} bad", bad, bad == 1 ? "row is" : "rows are"),
            errors);
    }
}

void refuse_twice(std::span<Row> rows, const std::string& column) {
    std::map<std::string, std::string> first;
    for (Row& row : rows) {
        const std::string id = row.text(column);
        const auto [found, is_new] = first.emplace(id, row.place());
        if (!is_new && !id.empty()) {
            row.note(column, "'" + shortened(id, 100) + "' is already the id of " + found->second);
        }
    }
}

std::string read_whole_file(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    std::ostringstream text;
    if (!file || !(text << file.rdbuf())) {
        throw InputError("cannot read '" + path + "'");
    }
    return std::move(text).str();
}

bool is_csv(const std::string& path) {
    return path.ends_with(".csv");
}

bool is_geojson(const std::string& path) {
    return path.ends_with(".geojson") || path.ends_with(".json");
}

std::string to_figure(double value) {
    return fmt::format("{:.10g}", value);
}

}  // namespace waybourne::coverage
