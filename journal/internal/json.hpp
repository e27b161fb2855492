#pragma once
/// The little that the journal must know of JSON outside its file format.

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "journal/envelope.hpp"

namespace waybourne::journal::internal {

/// Nesting deeper than this is not JSON to us: whoever reads the body later may recurse.
inline constexpr int max_json_depth = 64;

/// One JSON value in UTF-8, at most `max_json_depth` deep, nothing after it.
bool is_json(std::string_view text);

bool is_utf8(std::string_view text);

/// First and last sequence of a run of envelopes.
using Range = std::pair<Sequence, Sequence>;

/// The body of a `journal.redacted` envelope: `{"reason": "…", "redacted": [[first, last], …]}`.
std::string redaction_body(std::string_view reason, const std::vector<Range>& ranges);

/// @throws InputError when the text is not such a body
std::vector<Range> parse_redaction_body(std::string_view body);

}  // namespace waybourne::journal::internal
