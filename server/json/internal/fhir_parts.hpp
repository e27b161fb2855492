#pragma once
/// What the FHIR resources of a referral have in common.

#include <string>
#include <string_view>
#include <vector>

#include "server/json/referral.hpp"
#include "server/json/writer.hpp"

namespace waybourne::server::fhir {

// Our own code systems: FHIR has none for these.
inline constexpr const char* referral_system = "urn:waybourne:referral";
inline constexpr const char* facility_system = "urn:waybourne:facility";
inline constexpr const char* state_system = "urn:waybourne:referral-state";
inline constexpr const char* condition_system = "urn:waybourne:condition";
inline constexpr const char* capability_system = "urn:waybourne:capability";
inline constexpr const char* finding_system = "urn:waybourne:finding";
inline constexpr const char* person_system = "urn:waybourne:person";
inline constexpr const char* outcome_system = "urn:waybourne:outcome";
inline constexpr const char* reason_system = "urn:waybourne:reason";
inline constexpr const char* loinc = "http://loinc.org";
inline constexpr const char* ucum = "http://unitsofmeasure.org";

/// Letters, digits, - and . only, at most 64: what an id may be made of (FHIR R4, datatypes, id).
std::string id_of(std::string_view text);

/// `urn:uuid:` of a resource, always the same for the same one: version 8 of RFC 9562, from
/// SHA-256.
std::string urn_of(std::string_view type, std::string_view id);

/// `{"reference": …, "type": …}` under this name.
void write_reference(JsonWriter& json, std::string_view name, std::string_view type,
                     std::string_view id);
/// The same, as one of a list.
void write_reference(JsonWriter& json, std::string_view type, std::string_view id);

/// `{"system", "code", "display"}`; an empty display is left out.
void write_coding(JsonWriter& json, std::string_view system, std::string_view code,
                  std::string_view display);

/// A concept of one coding with its words.
void write_concept(JsonWriter& json, std::string_view system, std::string_view code,
                   std::string_view text);

/// Type, id and, for practice, the label that no receiver may overlook.
void begin_resource(JsonWriter& json, std::string_view type, std::string_view id, bool is_practice,
                    std::string_view version = {});

void write_identifier(JsonWriter& json, std::string_view system, std::string_view value);

/// Where one resource of the bundle is.
struct Entry {
    std::string type;
    std::string id;
};

/// Writes an entry around the resource that `write` writes.
template <typename Write>
void write_entry(JsonWriter& json, const Entry& entry, const Write& write) {
    json.begin_object().member("fullUrl", urn_of(entry.type, entry.id)).key("resource");
    write();
    json.end_object();
}

/// Adds an entry for each observation.
/// @return their ids, in order
std::vector<std::string> observation_ids(const ReferralView& view);
void write_observations(JsonWriter& json, const ReferralView& view);

void write_task(JsonWriter& json, const ReferralView& view,
                const std::optional<triage::Assessment>& assessment);

}  // namespace waybourne::server::fhir
