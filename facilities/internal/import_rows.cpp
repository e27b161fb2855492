#include "facilities/internal/import_rows.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "vocabulary/shortened.hpp"

namespace waybourne::facilities {

namespace {

constexpr std::size_t longest_text = 64 * std::size_t{1024} * 1024;

/// A district is at most this wide; what lies farther from its middle looks like a slip.
constexpr Metres far{300'000};
constexpr Metres near{100'000};
/// Fewer facilities have no middle worth the name.
constexpr std::size_t fewest_for_middle = 3;

double median(std::vector<double> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

/// Facilities that lie far from the others, and would lie among them with the coordinates swapped.
void warn_of_swapped(const std::vector<ReadRow>& rows, const ColumnName& column, Import& made) {
    if (rows.size() < fewest_for_middle) {
        return;
    }
    std::vector<double> latitudes;
    std::vector<double> longitudes;
    for (const ReadRow& row : rows) {
        latitudes.push_back(row.facility.point.latitude().degrees);
        longitudes.push_back(row.facility.point.longitude().degrees);
    }
    const GeoPoint middle{Latitude{median(latitudes)}, Longitude{median(longitudes)}};
    for (const ReadRow& row : rows) {
        const GeoPoint& point = row.facility.point;
        if (std::abs(point.longitude().degrees) > 90 ||
            great_circle_distance(point, middle) < far) {
            continue;
        }
        const GeoPoint swapped{Latitude{point.longitude().degrees},
                               Longitude{point.latitude().degrees}};
        if (great_circle_distance(swapped, middle) < near) {
            made.warnings.push_back({row.row, row.facility.name, column("#/point"),
                                     "latitude and longitude look swapped: the other way round it "
                                     "lies among the other facilities"});
        }
    }
}

void check_facility(ReadRow& row, std::map<FacilityId, std::size_t>& first,
                    const ColumnName& column) {
    const Facility& facility = row.facility;
    const bool is_unreadable =
        std::any_of(row.problems.begin(), row.problems.end(),
                    [](const RowRemark& remark) { return remark.column.empty(); });
    if (is_unreadable) {
        return;  // nothing of it is known, so nothing more can be said about it
    }
    for (const FieldError& problem : problems_of(facility)) {
        const std::string at = column(problem.pointer);
        const bool is_known =
            std::any_of(row.problems.begin(), row.problems.end(),
                        [&](const RowRemark& remark) { return remark.column == at; });
        if (!is_known) {  // what could not be read has its own problem already
            row.problems.push_back({row.row, facility.name, at, problem.detail});
        }
    }
    const auto [place, is_new] = first.emplace(facility.id, row.row);
    if (!is_new && !facility.id.value().empty()) {
        row.problems.push_back({row.row, facility.name, column("#/id"),
                                "'" + shortened(facility.id.value(), 100) +
                                    "' is already the id of row " + std::to_string(place->second)});
    }
}

[[noreturn]] void refuse(const std::vector<RowRemark>& problems, std::size_t bad_rows,
                         const PointerName& pointer) {
    std::vector<FieldError> errors;
    errors.reserve(problems.size());
    for (const RowRemark& problem : problems) {
        errors.push_back({pointer(problem), problem.detail});
    }
    throw InputError("nothing was imported: " + std::to_string(bad_rows) +
                         (bad_rows == 1 ? " row is bad" : " rows are bad"),
                     errors);
}

}  // namespace

Import to_import(std::vector<ReadRow> rows, BadRows bad_rows, const ColumnName& column,
                 const PointerName& pointer) {
    std::map<FacilityId, std::size_t> first;
    for (ReadRow& row : rows) {
        check_facility(row, first, column);
    }
    Import made;
    std::vector<ReadRow> good;
    std::size_t bad_count = 0;
    for (ReadRow& row : rows) {
        if (row.problems.empty()) {
            good.push_back(std::move(row));
            continue;
        }
        ++bad_count;
        made.left_out.insert(made.left_out.end(), row.problems.begin(), row.problems.end());
    }
    if (bad_count > 0 && bad_rows == BadRows::refuse_all) {
        refuse(made.left_out, bad_count, pointer);
    }
    warn_of_swapped(good, column, made);
    for (ReadRow& row : good) {
        for (const FieldError& doubt : doubts_about(row.facility)) {
            made.warnings.push_back(
                {row.row, row.facility.name, column(doubt.pointer), doubt.detail});
        }
        made.facilities.push_back(std::move(row.facility));
    }
    return made;
}

std::optional<std::string> problem_of_coordinate(std::string_view name, double degrees,
                                                 double limit, double other) {
    if (std::isfinite(degrees) && std::abs(degrees) <= limit) {
        return std::nullopt;
    }
    std::string words =
        fmt::format("{} {:g} is outside -{:g} to {:g}", name, degrees, limit, limit);
    if (limit <= 90 && std::abs(degrees) <= 180 && std::abs(other) <= 90) {
        words += "; latitude and longitude look swapped";
    }
    return words;
}

void check_size(std::string_view text) {
    if (text.size() > longest_text) {
        throw InputError("the file is larger than 64 MiB");
    }
}

std::string to_text(const RowRemark& remark) {
    std::string words = remark.row == 0 ? "file" : "row " + std::to_string(remark.row);
    if (!remark.name.empty()) {
        words += " (" + remark.name + ")";
    }
    if (!remark.column.empty()) {
        words += ", " + remark.column;
    }
    return words + ": " + remark.detail;
}

}  // namespace waybourne::facilities
