#pragma once
/// What reading CSV and reading GeoJSON have in common: rows of named values, and remarks on them.

#include <functional>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "coverage/settlement.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::coverage {

/// What may stand in a kind of file.
struct Columns {
    std::vector<std::string> known;
    /// A CSV file without one of these is refused as a whole; a feature without one is bad.
    std::vector<std::string> needed;
    /// Of CSV: our column → what the file calls it.
    std::map<std::string, std::string> theirs = {};
    /// Of CSV: columns that are not read.
    std::vector<std::string> ignored = {};
};

/// One line or feature. Values are texts, without blanks around them, absent where empty.
class Row {
public:
    using Values = std::map<std::string, std::string, std::less<>>;
    /// @param place of the row, e.g. `line 12`; @param separator between it and a column
    Row(std::string place, std::string separator)
        : place_(std::move(place)), separator_(std::move(separator)) {}

    Values values;
    std::vector<Area::Polygon> polygons;

    void note(std::string_view column, std::string detail);
    const std::vector<FieldError>& problems() const { return problems_; }
    const std::string& place() const { return place_; }

    std::string text(std::string_view column) const;
    /// Noted when it is absent.
    std::string needed_text(const std::string& column);
    /// Absent, or noted and absent.
    std::optional<double> number(const std::string& column, double least, double most);
    /// Any text of `[a-z0-9_-]`; noted and empty where it is not.
    std::string id(const std::string& column);
    /// From `latitude` and `longitude`; noted where absent or out of range.
    std::optional<GeoPoint> point();

private:
    std::string place_;
    std::string separator_;
    std::vector<FieldError> problems_;
};

/// @throws InputError when the headings are wrong or the text is not UTF-8
std::vector<Row> rows_of_csv(std::string_view text, const Columns& columns);

enum class Geometry { point, polygon };

/// A point's position becomes `latitude` and `longitude`; properties become values.
/// @throws InputError when it is no FeatureCollection
std::vector<Row> rows_of_geojson(std::string_view text, const Columns& columns, Geometry geometry);

/// @throws InputError with every problem of every row, if there is any
void refuse_bad(std::span<const Row> rows);

/// Notes each id that stands twice. @param column its name
void refuse_twice(std::span<Row> rows, const std::string& column);

/// @throws InputError when it cannot be read
std::string read_whole_file(const std::string& path);
bool is_csv(const std::string& path);
bool is_geojson(const std::string& path);

/// `97.1`, `40`
std::string to_figure(double value);

}  // namespace waybourne::coverage
