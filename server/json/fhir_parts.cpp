#include "server/json/internal/fhir_parts.hpp"

#include <algorithm>

#include "vocabulary/sha256.hpp"

namespace waybourne::server::fhir {

std::string id_of(std::string_view text) {
    constexpr std::size_t longest = 64;
    std::string id{text.substr(0, longest)};
    std::replace_if(
        id.begin(), id.end(),
        [](char c) {
            return (c < '0' || c > '9') && (c < 'a' || c > 'z') && (c < 'A' || c > 'Z') && c != '.';
        },
        '-');
    return id;
}

std::string urn_of(std::string_view type, std::string_view id) {
    std::string hex = waybourne::sha256("waybourne " + std::string{type} + " " + std::string{id});
    constexpr std::size_t version_at = 12;
    constexpr std::size_t variant_at = 16;
    hex[version_at] = '8';
    hex[variant_at] = "89ab"[static_cast<unsigned char>(hex[variant_at]) % 4];
    return "urn:uuid:" + hex.substr(0, 8) + "-" + hex.substr(8, 4) + "-" + hex.substr(12, 4) + "-" +
           hex.substr(16, 4) + "-" + hex.substr(20, 12);
}

void write_reference(JsonWriter& json, std::string_view type, std::string_view id) {
    json.begin_object().member("reference", urn_of(type, id)).member("type", type).end_object();
}

void write_reference(JsonWriter& json, std::string_view name, std::string_view type,
                     std::string_view id) {
    json.key(name);
    write_reference(json, type, id);
}

void write_coding(JsonWriter& json, std::string_view system, std::string_view code,
                  std::string_view display) {
    json.begin_object().member("system", system).member("code", code);
    if (!display.empty()) {
        json.member("display", display);
    }
    json.end_object();
}

void write_concept(JsonWriter& json, std::string_view system, std::string_view code,
                   std::string_view text) {
    json.begin_object().key("coding").begin_list();
    write_coding(json, system, code, {});
    json.end_list();
    if (!text.empty()) {
        json.member("text", text);
    }
    json.end_object();
}

void begin_resource(JsonWriter& json, std::string_view type, std::string_view id, bool is_practice,
                    std::string_view version) {
    json.begin_object().member("resourceType", type).member("id", id);
    if (!is_practice && version.empty()) {
        return;
    }
    json.key("meta").begin_object();
    if (!version.empty()) {
        json.member("versionId", version);
    }
    if (is_practice) {
        // "test health data": HL7 v3 ActReason, from memory.
        json.key("tag").begin_list();
        write_coding(json, "http://terminology.hl7.org/CodeSystem/v3-ActReason", "HTEST",
                     "test health data");
        json.end_list();
    }
    json.end_object();
}

void write_identifier(JsonWriter& json, std::string_view system, std::string_view value) {
    json.key("identifier").begin_list().begin_object();
    json.member("system", system).member("value", value).end_object().end_list();
}

}  // namespace waybourne::server::fhir
