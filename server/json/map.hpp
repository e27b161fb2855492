#pragma once
/// The map's drawing over the wire.

#include <optional>
#include <string>
#include <vector>

#include "server/json/writer.hpp"
#include "server/map_drawing.hpp"

namespace waybourne::server {

/// What there is to draw.
/// @param tiles the address of pictures, empty for none
void write_map_about(JsonWriter& json, const std::optional<MapBounds>& bounds,
                     const std::string& tiles);

/// One square. The points of a line are whole numbers in one row: the first x and y, then the steps
/// from each point to the next, so that the text is short.
void write_map_lines(JsonWriter& json, const MapSquare& square, const std::vector<MapLine>& lines);

}  // namespace waybourne::server
