#pragma once
/// Settlements and sub-districts as files: GeoJSON (RFC 7946) and CSV (RFC 4180). The formats are
/// written down in docs/coverage.md. One bad row and nothing is imported.

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "coverage/settlement.hpp"

namespace waybourne::coverage {

struct SettlementImport {
    /// Births a year per 1,000 people, for rows that give a population and no births; above 0, at
    /// most 100. None: such a row is bad, since a birth rate is never assumed.
    std::optional<double> births_per_1000 = {};
    /// Whether a point is on the map at all; none: not asked. A point that is, but far from any
    /// road, is no error: it is listed where figures are shown.
    std::function<bool(const GeoPoint&)> is_on_map = {};
    /// For CSV with other headings: our column → theirs, e.g. {"latitude", "lat"}.
    std::map<std::string, std::string> columns = {};
    /// For CSV: columns of theirs that are not read.
    std::vector<std::string> ignored_columns = {};
};

/// A feature is a point with `id`, `name`, `kind`, `population`, `births_per_year`, `area` and
/// `wealth_rank`; the same columns and `latitude`, `longitude` in CSV. `id`, a position and births
/// (or a population and a birth rate) are needed, all else may be missing. A settlement without a
/// name is called by its id.
/// @throws InputError with every bad row: pointers `#/features/3/properties/births_per_year` or
///         `line 12, column births_per_year`: negative births, a point off the map, an id that
///         stands twice, a column that is not known
std::vector<Settlement> read_settlements_geojson(std::string_view text,
                                                 const SettlementImport& options = {});
std::vector<Settlement> read_settlements_csv(std::string_view text,
                                             const SettlementImport& options = {});

/// By the file's name: `.csv` or `.geojson`/`.json`.
/// @throws InputError also when the file cannot be read
std::vector<Settlement> load_settlements(const std::string& path,
                                         const SettlementImport& options = {});

/// A feature is a Polygon or MultiPolygon with `id`, `name` and, where known, the official
/// `births_per_year`.
/// @throws InputError with every bad row: a ring that is not closed or has fewer than four
///         positions, an id that stands twice
std::vector<Area> read_areas(std::string_view geojson);
std::vector<Area> load_areas(const std::string& path);

}  // namespace waybourne::coverage
