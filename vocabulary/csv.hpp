#pragma once
/// Comma-separated values, as RFC 4180 has them.

#include <string>
#include <string_view>
#include <vector>

namespace waybourne {

struct CsvRow {
    /// Where it begins, from 1.
    std::size_t line = 1;
    std::vector<std::string> values;
    /// Why it could not be read; empty when it could.
    std::string problem;
};

/// Rows in order; empty lines are left out. Line ends are CR LF or LF; a byte order mark at the
/// start is skipped. A row with a stray quote is returned with its problem and reading goes on at
/// the next line. O(length).
std::vector<CsvRow> read_csv(std::string_view text);

/// Whether the bytes are well-formed UTF-8 (RFC 3629) without NUL.
bool is_utf8(std::string_view text);

}  // namespace waybourne
