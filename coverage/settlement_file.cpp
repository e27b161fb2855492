#include "coverage/settlement_file.hpp"

#include <limits>

#include "coverage/internal/rows.hpp"

namespace waybourne::coverage {

namespace {

/// More than any country has (a slip of data entry, not a figure).
constexpr double most_people = 1e9;

const Columns settlement_columns{{"id", "name", "kind", "population", "births_per_year", "area",
                                  "wealth_rank", "latitude", "longitude"},
                                 {"id", "latitude", "longitude"}};
const Columns area_columns{{"id", "name", "births_per_year"}, {"id"}};

void read_births(Row& row, const SettlementImport& options, Settlement& made) {
    made.population = row.number("population", 0, most_people);
    const auto births = row.number("births_per_year", 0, most_people);
    if (births) {
        made.births_per_year = *births;
    } else if (row.text("births_per_year").empty()) {
        if (made.population && options.births_per_1000) {
            made.births_per_year = *made.population * *options.births_per_1000 / 1000;
            made.births_are_estimated = true;
        } else {
            row.note("births_per_year",
                     "is needed, or a population together with a birth rate for the import");
        }
    }
}

Settlement settlement_of(Row& row, const SettlementImport& options) {
    Settlement made;
    made.id = SettlementId(row.id("id"));
    made.name = row.text("name").empty() ? made.id.value() : row.text("name");
    made.kind = row.text("kind");
    if (const auto point = row.point()) {
        made.point = *point;
        if (options.is_on_map && !options.is_on_map(*point)) {
            row.note("", "lies off the map: " + to_figure(point->latitude().degrees) + ", " +
                             to_figure(point->longitude().degrees) +
                             " is nowhere near a road of it");
        }
    }
    read_births(row, options, made);
    made.area = AreaId(row.text("area").empty() ? "" : row.id("area"));
    made.wealth_rank = row.number("wealth_rank", 0, most_people);
    return made;
}

std::vector<Settlement> settlements_of(std::vector<Row> rows, const SettlementImport& options) {
    if (options.births_per_1000 &&
        !(*options.births_per_1000 > 0 && *options.births_per_1000 <= 100)) {
        throw InputError("a birth rate of " + to_figure(*options.births_per_1000) +
                         " a year per 1000 people is outside 0 to 100");
    }
    std::vector<Settlement> made;
    for (Row& row : rows) {
        if (row.values.empty() && !row.problems().empty()) {
            continue;  // nothing of it could be read, so nothing more can be said about it
        }
        made.push_back(settlement_of(row, options));
    }
    refuse_twice(rows, "id");
    refuse_bad(rows);
    if (made.empty()) {
        throw InputError("nothing was imported: the file has no settlement");
    }
    return made;
}

}  // namespace

std::vector<Settlement> read_settlements_geojson(std::string_view text,
                                                 const SettlementImport& options) {
    return settlements_of(rows_of_geojson(text, settlement_columns, Geometry::point), options);
}

std::vector<Settlement> read_settlements_csv(std::string_view text,
                                             const SettlementImport& options) {
    Columns columns = settlement_columns;
    columns.theirs = options.columns;
    columns.ignored = options.ignored_columns;
    return settlements_of(rows_of_csv(text, columns), options);
}

std::vector<Settlement> load_settlements(const std::string& path, const SettlementImport& options) {
    if (is_csv(path)) {
        return read_settlements_csv(read_whole_file(path), options);
    }
    if (is_geojson(path)) {
        return read_settlements_geojson(read_whole_file(path), options);
    }
    throw InputError("'" + path + "' is neither .geojson, .json nor .csv");
}

std::vector<Area> read_areas(std::string_view geojson) {
    std::vector<Row> rows = rows_of_geojson(geojson, area_columns, Geometry::polygon);
    std::vector<Area> areas;
    for (Row& row : rows) {
        Area area;
        area.id = AreaId(row.id("id"));
        area.name = row.text("name").empty() ? area.id.value() : row.text("name");
        area.births_per_year = row.number("births_per_year", 0, most_people);
        area.polygons = row.polygons;
        areas.push_back(std::move(area));
    }
    refuse_twice(rows, "id");
    refuse_bad(rows);
    return areas;
}

std::vector<Area> load_areas(const std::string& path) {
    return read_areas(read_whole_file(path));
}

}  // namespace waybourne::coverage
