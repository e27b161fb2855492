#pragma once
/// Offers of other speeds as JSON: what the API answers, and the file that is accepted at a
/// terminal.

#include <string_view>

#include "server/json/writer.hpp"
#include "server/speed_offer.hpp"

namespace waybourne::server {

void write_speed_offer(JsonWriter& json, const SpeedOffer& offer);

/// @throws InputError with everything that is wrong
SpeedOffer parse_speed_offer(std::string_view json);

/// Members of one class in one season.
void write_calibration(JsonWriter& json, const coverage::ClassCalibration& one);

}  // namespace waybourne::server
