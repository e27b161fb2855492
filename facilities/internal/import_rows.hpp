#pragma once
/// What reading GeoJSON and reading CSV have in common: rows become facilities or remarks.

#include <functional>

#include "facilities/register_file.hpp"

namespace waybourne::facilities {

/// What a row became.
struct ReadRow {
    std::size_t row = 0;
    Facility facility;
    /// Empty when the row is good.
    std::vector<RowRemark> problems;
};

/// How a problem of a facility (`#/services/uterotonics`) is called in this kind of file.
using ColumnName = std::function<std::string(const std::string& pointer)>;
/// How a remark's place is called in an error (`line 12, column latitude`).
using PointerName = std::function<std::string(const RowRemark& remark)>;

/// Checks every facility and all of them together, and makes the import of them.
/// @throws InputError with every problem when any row is bad and bad rows refuse all
Import to_import(std::vector<ReadRow> rows, BadRows bad_rows, const ColumnName& column,
                 const PointerName& pointer);

/// A degree that is out of range, in words, with the hint where the two look swapped.
std::optional<std::string> problem_of_coordinate(std::string_view name, double degrees,
                                                 double limit, double other);

/// Refuses texts that are too long.
/// @throws InputError
void check_size(std::string_view text);

}  // namespace waybourne::facilities
