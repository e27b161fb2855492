#pragma once
/// Events of a referral as JSON: as calls give them, as the journal keeps them, and as answers show
/// them.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "referral/event.hpp"
#include "server/json/object_reader.hpp"
#include "server/json/writer.hpp"
#include "vocabulary/geo_point.hpp"

namespace waybourne::server {

/// Something that was given to her, by the protocol's stable id of the action, e.g. `A4`.
struct Treatment {
    std::string action;
    Instant at{};
    bool operator==(const Treatment&) const = default;
};

/// What a call says besides the event itself.
struct ToldEvent {
    referral::Event event;
    /// It comes from a queue that waited for a connection: kept whatever the state, and flagged.
    bool is_late = false;
    /// Where she or the vehicle is.
    std::optional<GeoPoint> position = {};
    std::vector<Treatment> treatments = {};
    bool operator==(const ToldEvent&) const = default;
};

/// The members of one event: id, step, occurred_at, recorded_at, by, and what its kind has.
void write_event_members(JsonWriter& json, const ToldEvent& told);

/// What `write_event_members` wrote.
/// @throws InputError when it is something else
ToldEvent parse_stored_event(const JsonValue& value);

/// The body of `POST /v1/referrals/{code}/events`; `by` is the caller's and not read.
/// @param now stands in for times that were not given
/// @return with an empty id where none was given
/// @throws InputError with the pointer of each error
ToldEvent parse_event_call(std::string_view json, Instant now);

/// `persons` of a call: at most twelve, each once.
std::vector<referral::PersonReport> parse_persons(ObjectReader& body,
                                                  std::vector<FieldError>& errors);

std::vector<Treatment> parse_treatments(ObjectReader& body, std::vector<FieldError>& errors,
                                        Instant now);

void write_treatments(JsonWriter& json, const std::vector<Treatment>& treatments);

/// Refuses an id that does not consist of 1 to 64 letters, digits, `-`, `_`, `.` and `:`.
std::string plain_id(ObjectReader& body, const std::string& name,
                     const std::optional<std::string>& given);

}  // namespace waybourne::server
