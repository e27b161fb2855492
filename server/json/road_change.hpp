#pragma once
/// A change on the roads, read from JSON; `write_change` writes it.

#include <string>
#include <vector>

#include "routing/closure.hpp"
#include "server/json/object_reader.hpp"

namespace waybourne::server {

/// A road is at most this many times slower than usual; more is closed (ours, no source).
inline constexpr double slowest = 100;

/// A member that says which roads are meant: `road_id`, `road` (not blank) or `area` (GeoJSON
/// positions).
routing::Where parse_where(ObjectReader& body, const std::string& name,
                           std::vector<FieldError>& errors);
/// The same of a value that stands anywhere.
routing::Where read_where(const JsonValue& value, const std::string& pointer,
                          std::vector<FieldError>& errors);

/// The members that `write_change` writes. A blank road name, which means no road, is read here.
routing::RoadChange parse_change(ObjectReader& reader, std::vector<FieldError>& errors);

}  // namespace waybourne::server
