#pragma once
/// Small OpenStreetMap files for tests, and short ways to ask about what was read from them.

#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "routing/metric.hpp"
#include "routing/osm_import.hpp"

namespace waybourne::tests {

/// The project's own speed table.
const routing::SpeedTable& speed_table();

/// A file as it lies on the disk; fails the test when it cannot be read.
std::string file_content(const std::string& path);

/// `tests/routing/fixtures/NAME.osm`, with ferries in the time zone of Fiji.
routing::ImportedMap import_fixture(const std::string& name);

/// The only piece of a road of this name; fails the test when there is none or are more.
const routing::Piece& piece_named(const routing::RoadNetwork& network, const std::string& name);

/// How many pieces have the name.
std::size_t pieces_named(const routing::RoadNetwork& network, const std::string& name);

/// Who may use an arc: `foot motorcycle car 4wd`, in this order; `nobody`.
std::string who(const routing::RoadNetwork& network, routing::ArcId arc);

/// How often a reason stands in a list of remarks; 0 if it does not.
std::uint64_t times(const std::vector<routing::ImportRemark>& remarks, const std::string& reason);

/// Where the outside data lies (`WAYBOURNE_DATA`). None, with a plain word on standard output, when
/// the variable is not set; a failed test when it is not set while `CI` is.
std::optional<std::string> outside_data();

/// One of the real maps in the outside data, `campo-grande` … (© OpenStreetMap contributors, Open
/// Database License 1.0), under the project's own speed table.
/// @param data what `outside_data` gave
std::shared_ptr<const routing::RoadNetwork> real_roads(const std::string& data,
                                                       const std::string& name);
std::shared_ptr<const routing::Metric> real_metric(const std::string& data, const std::string& name,
                                                   routing::RoadConditions conditions);

/// Calls `visit(name)` for each of the four.
void each_real_map(const std::function<void(const std::string& name)>& visit);

}  // namespace waybourne::tests
