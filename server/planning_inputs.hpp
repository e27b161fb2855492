#pragma once
/// What a planner's figures rest on, each with a fingerprint, so that a figure can be traced and
/// whoever reads it later can tell what has changed since.

#include <map>
#include <string>

#include "server/coverage_request.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// SHA-256 by name.
using Fingerprints = std::map<std::string, std::string>;

/// The files of the district (`Snapshot::files`) and, as they count at `leave_at`:
/// - `settlements`: places, births, sub-districts and wealth ranks as they are counted with, so
///   after the birth rate and the boundaries
/// - `road_changes`: what is closed or slower
/// - `vehicles`, where one is sent or walked to: base, means and time until the wheels turn
/// - `readiness`, where readiness is as reported: every report and confirmation
/// @throws InputError for a bad file. O(settlements × corners of sub-districts)
Fingerprints planning_inputs(const Snapshot& snapshot, const CoverageRequest& request,
                             Instant leave_at);

/// Whether figures of coverage may change with it: not so the protocol and the words, which answers
/// to health workers rest on, nor the file of reports, since `readiness` tells of all reports.
bool counts_for_coverage(const std::string& name);

}  // namespace waybourne::server
