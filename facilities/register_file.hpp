#pragma once
/// Registers and reports as files: GeoJSON (RFC 7946), CSV (RFC 4180) and JSON. The formats are
/// written down in docs/howto/import-facilities.md.

#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "facilities/register.hpp"

namespace waybourne::facilities {

/// Something about one row of a file, for a person to read.
struct RowRemark {
    /// Of GeoJSON: the feature's place in its list, from 1. Of CSV: the line in the file where the
    /// row begins, the headings being line 1. 0: the file as a whole.
    std::size_t row = 0;
    /// The facility's name, as far as it could be read.
    std::string name;
    /// Of GeoJSON: the path within the feature, e.g. `properties/services/uterotonics/hours`. Of
    /// CSV: our name of the column. Empty: the row as a whole.
    std::string column;
    /// What was given and what is allowed.
    std::string detail;
    bool operator==(const RowRemark&) const = default;
};

/// `row 12 (Hill Post), latitude: 97.1 is outside -90 to 90`
std::string to_text(const RowRemark& remark);

enum class BadRows {
    refuse_all,  ///< one bad row and nothing is imported
    leave_out,   ///< bad rows are left out and listed
};

struct ImportOptions {
    BadRows bad_rows = BadRows::refuse_all;
    /// For CSV with other headings: our column → theirs, e.g. {"latitude", "lat"}. A column of
    /// theirs that is not named here and is not one of ours is an error, unless ignored below.
    std::map<std::string, std::string> columns = {};
    /// For CSV: values for columns that the file lacks, e.g. {"time_zone", "Africa/Blantyre"}.
    std::map<std::string, std::string> defaults = {};
    /// For CSV: columns of theirs that are not read.
    std::vector<std::string> ignored_columns = {};
    /// For CSV without an id column: ids are made from the names (`mbenje-health-centre`, and
    /// `mbenje-health-centre-2` for the next of that name).
    bool make_ids = false;
};

struct Import {
    std::vector<Facility> facilities;
    Holidays holidays;
    /// Rows that were left out, with every reason. Empty unless told to leave bad rows out.
    std::vector<RowRemark> left_out;
    /// Doubts that do not stop a row: coordinates that look swapped, capabilities that seldom come
    /// without another.
    std::vector<RowRemark> warnings;
};

/// Texts above 64 MiB, nested deeper than 32, or with a name twice in one object are refused.
/// @throws InputError with every bad row: pointers `#/features/3/properties/services`; whatever the
///         options, when it is no FeatureCollection
Import read_facilities_geojson(std::string_view text, const ImportOptions& options = {});

/// @throws InputError with every bad row: pointers `line 12, column latitude`; whatever the
/// options,
///         when the headings are wrong
Import read_facilities_csv(std::string_view text, const ImportOptions& options = {});

/// By the file's name: `.csv` or `.geojson`/`.json`.
/// @throws InputError also when the file cannot be read
Import load_facilities(const std::string& path, const ImportOptions& options = {});

/// The same register as a GeoJSON text: what is read from it is equal to what was written.
std::string to_geojson(std::span<const Facility> facilities, const Holidays& holidays);

/// A list of reports, oldest first or in any order. Nothing is checked against a register here:
/// `FacilityRegister::with` does that.
/// @throws InputError with every bad report: pointers `#/reports/3/at`
std::vector<Report> read_reports(std::string_view json);
std::vector<Report> load_reports(const std::string& path);
std::string to_json(std::span<const Report> reports);

}  // namespace waybourne::facilities
