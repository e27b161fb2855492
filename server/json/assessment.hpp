#pragma once
/// An assessment as JSON: the shape of `POST /v1/assessments`.

#include "server/json/writer.hpp"
#include "server/words.hpp"
#include "triage/assessment.hpp"

namespace waybourne::server {

void write_assessment(JsonWriter& json, const triage::Assessment& assessment, const Words& words);

/// A list of wire names.
void write_capabilities(JsonWriter& json, triage::CapabilitySet capabilities);

}  // namespace waybourne::server
