#pragma once
/// Reports and road notices as JSON, and what the journal's fold keeps of itself.

#include <string>
#include <string_view>
#include <vector>

#include "facilities/report.hpp"
#include "server/json/object_reader.hpp"
#include "server/json/road_change.hpp"
#include "server/json/writer.hpp"
#include "server/referrals/recorded.hpp"
#include "server/referrals/road_notice.hpp"

namespace waybourne::server {

/// `reports` of a call about one facility: at least one, at most 200.
/// @param by the role that says it
std::vector<facilities::Report> parse_reports(ObjectReader& body, const FacilityId& facility,
                                              const std::string& by, Instant now,
                                              std::vector<FieldError>& errors);

std::string to_stored(const std::vector<facilities::Report>& reports,
                      const std::string& request_sha256);
/// @throws InputError for anything else than `to_stored` writes
std::vector<facilities::Report> parse_stored_reports(std::string_view json);

void write_report(JsonWriter& json, const facilities::Report& report);

std::string to_stored(const RoadNotice& notice, const std::string& request_sha256);
RoadNotice parse_stored_notice(std::string_view json);

std::string write_recorded(const Recorded& recorded);
/// What was live comes back as `unread`.
Recorded read_recorded(const std::string& json);

}  // namespace waybourne::server
