#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <set>

#include "facilities/internal/import_rows.hpp"
#include "vocabulary/csv.hpp"
#include "vocabulary/nearest_name.hpp"
#include "vocabulary/shortened.hpp"

namespace waybourne::facilities {

namespace {

constexpr std::size_t column_count = 10;
const std::array<std::string, column_count> our_columns{
    "id",     "name",      "latitude",     "longitude", "kind",
    "phones", "time_zone", "capabilities", "hours",     "hours_confirmed_at"};
const std::array<std::string, 5> needed_columns{"id", "name", "latitude", "longitude", "time_zone"};

bool is_ours(const std::string& name) {
    return std::find(our_columns.begin(), our_columns.end(), name) != our_columns.end();
}

std::string suggestion(const std::string& name, std::span<const std::string> known) {
    const auto nearest = nearest_name(name, known);
    return nearest ? "; did you mean '" + *nearest + "'?" : "";
}

[[noreturn]] void refuse_headings(const std::vector<FieldError>& errors) {
    throw InputError("nothing was imported: the headings are wrong", errors);
}

/// Where each of our columns is in the file.
class Headings {
public:
    Headings(const CsvRow& row, const ImportOptions& options) : options_(options) {
        for (std::string name : row.values) {
            trim(name);
            given_.push_back(std::move(name));
        }
        check_options();
        check_given();
        for (const std::string& needed : needed_columns) {
            const bool is_made = needed == "id" && options.make_ids;
            if (!place(needed) && !options.defaults.contains(needed) && !is_made) {
                errors_.push_back({"line 1", "column '" + theirs(needed) + "' is missing"});
            }
        }
        if (!errors_.empty()) {
            refuse_headings(errors_);
        }
    }

    std::size_t size() const { return given_.size(); }

    /// The value of one of our columns, or its default, or empty.
    std::string value(const CsvRow& row, const std::string& ours) const {
        std::string text;
        if (const auto at = place(ours)) {
            text = row.values[*at];
            trim(text);
        }
        const auto standard = options_.defaults.find(ours);
        return text.empty() && standard != options_.defaults.end() ? standard->second : text;
    }

    static void trim(std::string& text) {
        const auto first = text.find_first_not_of(" \t\r\n");
        const auto last = text.find_last_not_of(" \t\r\n");
        text = first == std::string::npos ? "" : text.substr(first, last - first + 1);
    }

private:
    std::string theirs(const std::string& ours) const {
        const auto named = options_.columns.find(ours);
        return named == options_.columns.end() ? ours : named->second;
    }

    std::optional<std::size_t> place(const std::string& ours) const {
        const auto found = std::find(given_.begin(), given_.end(), theirs(ours));
        if (found == given_.end()) {
            return std::nullopt;
        }
        return static_cast<std::size_t>(found - given_.begin());
    }

    void check_options() {
        const auto check = [&](const std::string& ours) {
            if (!is_ours(ours)) {
                errors_.push_back({"options", "'" + ours + "' is not a column of ours" +
                                                  suggestion(ours, our_columns)});
            }
        };
        for (const auto& [ours, named] : options_.columns) {
            check(ours);
            if (std::find(given_.begin(), given_.end(), named) == given_.end()) {
                errors_.push_back(
                    {"line 1", "column '" + named + "' is missing" + suggestion(named, given_)});
            }
        }
        for (const auto& [ours, standard] : options_.defaults) {
            check(ours);
        }
    }

    void check_given() {
        std::set<std::string> known(options_.ignored_columns.begin(),
                                    options_.ignored_columns.end());
        for (const std::string& ours : our_columns) {
            known.insert(theirs(ours));
        }
        std::set<std::string> seen;
        const std::vector<std::string> names(known.begin(), known.end());
        for (const std::string& name : given_) {
            if (!seen.insert(name).second) {
                errors_.push_back({"line 1", "column '" + name + "' stands twice"});
            }
            if (!known.contains(name)) {
                errors_.push_back({"line 1", "column '" + shortened(name) + "' is not known" +
                                                 suggestion(name, names)});
            }
        }
    }

    const ImportOptions& options_;
    std::vector<std::string> given_;
    std::vector<FieldError> errors_;
};

std::vector<std::string> list_of(const std::string& text) {
    std::vector<std::string> values;
    for (std::size_t at = 0; at <= text.size();) {
        const std::size_t end = std::min(text.find(';', at), text.size());
        std::string value = text.substr(at, end - at);
        Headings::trim(value);
        if (!value.empty()) {
            values.push_back(std::move(value));
        }
        at = end + 1;
    }
    return values;
}

/// Makes a facility of one row.
class RowReader {
public:
    RowReader(const CsvRow& row, const Headings& headings) : row_(row), headings_(headings) {
        made_.row = row.line;
    }

    ReadRow read() {
        if (!row_.problem.empty()) {
            note("", row_.problem);
            return made_;
        }
        if (row_.values.size() != headings_.size()) {
            note("", "has " + std::to_string(row_.values.size()) + " values, the headings are " +
                         std::to_string(headings_.size()));
            return made_;
        }
        Facility& facility = made_.facility;
        facility.name = value("name");
        facility.id = FacilityId(value("id"));
        facility.kind = value("kind");
        facility.phones = list_of(value("phones"));
        facility.time_zone = value("time_zone");
        point();
        opening();
        capabilities();
        return made_;
    }

private:
    std::string value(const std::string& column) const { return headings_.value(row_, column); }

    void note(std::string column, std::string detail) {
        made_.problems.push_back(
            {row_.line, made_.facility.name, std::move(column), std::move(detail)});
    }

    std::optional<double> degrees(const std::string& column) {
        const std::string text = value(column);
        if (text.empty()) {
            note(column, "is empty; degrees such as -13.75 are needed");
            return std::nullopt;
        }
        double number = 0;
        const char* const end = text.data() + text.size();
        const auto [stopped, error] = std::from_chars(text.data(), end, number);
        if (error != std::errc{} || stopped != end || !std::isfinite(number)) {
            note(column, "'" + shortened(text) + "' is not a number of degrees such as -13.75");
            return std::nullopt;
        }
        return number;
    }

    void point() {
        const auto latitude = degrees("latitude");
        const auto longitude = degrees("longitude");
        if (!latitude || !longitude) {
            return;
        }
        const auto north = problem_of_coordinate("latitude", *latitude, 90, *longitude);
        const auto east = problem_of_coordinate("longitude", *longitude, 180, *latitude);
        if (north) {
            note("latitude", *north);
        }
        if (east) {
            note("longitude", *east);
        }
        if (!north && !east) {
            made_.facility.point = GeoPoint{Latitude{*latitude}, Longitude{*longitude}};
        }
    }

    void opening() {
        try {
            if (const std::string hours = value("hours"); !hours.empty()) {
                made_.facility.hours = parse_opening_hours(hours);
            }
        } catch (const InputError& error) {
            note("hours", error.what());
        }
        try {
            if (const std::string at = value("hours_confirmed_at"); !at.empty()) {
                made_.facility.hours_confirmed_at = parse_rfc3339(at);
            }
        } catch (const InputError& error) {
            note("hours_confirmed_at", error.what());
        }
    }

    void capabilities() {
        for (const std::string& name : list_of(value("capabilities"))) {
            if (const auto capability = triage::find_capability(name)) {
                Service service;
                service.capability = *capability;
                made_.facility.services.push_back(std::move(service));
                continue;
            }
            std::vector<std::string> known;
            for (std::size_t i = 0; i < triage::capability_count; ++i) {
                known.emplace_back(triage::to_name(static_cast<triage::Capability>(i)));
            }
            note("capabilities",
                 "'" + shortened(name) + "' is not a capability" + suggestion(name, known));
        }
    }

    const CsvRow& row_;
    const Headings& headings_;
    ReadRow made_;
};

/// `Mbenje Health Centre` → `mbenje-health-centre`; what is no letter or digit of ASCII is a dash.
std::string id_from(const std::string& name) {
    std::string id;
    for (const char c : name) {
        const bool is_upper = c >= 'A' && c <= 'Z';
        const bool is_kept = is_upper || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
        if (is_kept) {
            id += is_upper ? static_cast<char>(c + ('a' - 'A')) : c;
        } else if (!id.empty() && id.back() != '-') {
            id += '-';
        }
    }
    id = id.substr(0, 90);
    while (!id.empty() && id.back() == '-') {
        id.pop_back();
    }
    return id.empty() ? "facility" : id;
}

void make_ids(std::vector<ReadRow>& rows) {
    std::set<std::string> taken;
    for (const ReadRow& row : rows) {
        taken.insert(row.facility.id.value());
    }
    for (ReadRow& row : rows) {
        if (!row.facility.id.value().empty() || row.facility.name.empty()) {
            continue;
        }
        const std::string base = id_from(row.facility.name);
        std::string id = base;
        for (int next = 2; !taken.insert(id).second; ++next) {
            id = base + "-" + std::to_string(next);
        }
        row.facility.id = FacilityId(id);
    }
}

/// `#/services/uterotonics` → `capabilities`: CSV has one column for all of them.
std::string column_of(const std::string& pointer) {
    if (pointer == "#/point") {
        return "latitude";
    }
    if (pointer.starts_with("#/services")) {
        return "capabilities";
    }
    return pointer.substr(2);
}

}  // namespace

Import read_facilities_csv(std::string_view text, const ImportOptions& options) {
    check_size(text);
    if (!is_utf8(text)) {
        throw InputError("nothing was imported: the file is not UTF-8 text");
    }
    const std::vector<CsvRow> lines = read_csv(text);
    if (lines.empty() || !lines[0].problem.empty()) {
        refuse_headings({{"line 1", lines.empty() ? "the file is empty" : lines[0].problem}});
    }
    const Headings headings(lines[0], options);
    std::vector<ReadRow> rows;
    for (std::size_t i = 1; i < lines.size(); ++i) {
        rows.push_back(RowReader(lines[i], headings).read());
    }
    if (options.make_ids) {
        make_ids(rows);
    }
    return to_import(std::move(rows), options.bad_rows, column_of, [](const RowRemark& remark) {
        return "line " + std::to_string(remark.row) +
               (remark.column.empty() ? "" : ", column " + remark.column);
    });
}

}  // namespace waybourne::facilities
