#pragma once
/// A position as requests and files write it: `latitude` and `longitude`, in degrees.

#include "server/json/object_reader.hpp"
#include "vocabulary/geo_point.hpp"

namespace waybourne::server {

/// Both are needed; what is missing or wrong is an error and reads as 0.
inline GeoPoint read_point(ObjectReader& reader) {
    reader.require("latitude");
    reader.require("longitude");
    return {Latitude{reader.number("latitude", {-90, 90}).value_or(0)},
            Longitude{reader.number("longitude", {-180, 180}).value_or(0)}};
}

}  // namespace waybourne::server
