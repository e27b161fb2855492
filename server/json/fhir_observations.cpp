#include <algorithm>
#include <array>
#include <functional>

#include "server/json/internal/fhir_parts.hpp"
#include "server/referrals/permission.hpp"

namespace waybourne::server::fhir {

namespace {

/// A measurement and how others call it. Vital signs: the profiles of hl7.org/fhir/R4
/// (observation-vitalsigns, bp, heartrate, resprate, bodytemp, oxygensat), which also fix the UCUM
/// units; weight likewise (bodyweight). Haemoglobin 718-7 and gestational age 11884-4: IHE and HL7
/// value sets. Fetal heart rate 55283-6 and glucose 15074-8: as public exchange guides use them.
/// What has no code here goes under our own system by the protocol's field name.
struct Measure {
    std::string_view field;
    std::string_view code;
    std::string_view display;
    std::string_view unit;
    bool is_vital_sign;
};

constexpr std::array measures{
    Measure{"temp_c", "8310-5", "Body temperature", "Cel", true},
    Measure{"resp_rate", "9279-1", "Respiratory rate", "/min", true},
    Measure{"spo2", "2708-6", "Oxygen saturation in Arterial blood", "%", true},
    Measure{"weight_kg", "29463-7", "Body weight", "kg", true},
    Measure{"hb_g_dl", "718-7", "Hemoglobin [Mass/volume] in Blood", "g/dL", false},
    Measure{"gestation_weeks", "11884-4", "Gestational age Estimated", "wk", false},
    Measure{"fetal_heart_rate", "55283-6", "Fetal Heart rate", "/min", false},
    Measure{"glucose_mmol_l", "15074-8", "Glucose [Moles/volume] in Blood", "mmol/L", false},
    Measure{"blood_loss_ml", "", "", "mL", false},
    Measure{"cervix_cm", "", "", "cm", false},
    Measure{"days_postpartum", "", "", "d", false},
    Measure{"labour_hours", "", "", "h", false},
    Measure{"second_stage_hours", "", "", "h", false},
    Measure{"membranes_hours", "", "", "h", false},
    Measure{"placenta_minutes", "", "", "min", false},
    Measure{"age_years", "", "", "a", false},
};

const Measure* measure_of(std::string_view field) {
    const auto found = std::find_if(measures.begin(), measures.end(),
                                    [&](const Measure& one) { return one.field == field; });
    return found == measures.end() ? nullptr : &*found;
}

/// Whether she and the baby are safe at home is told, not written (as on the referral note).
bool is_told_only(std::string_view field) {
    return field == "safe_at_home" || field == "baby_safe";
}

void write_quantity(JsonWriter& json, double value, std::string_view unit) {
    constexpr int decimals = 3;
    json.key("valueQuantity").begin_object().key("value").value(value, decimals);
    json.member("unit", unit).member("system", ucum).member("code", unit).end_object();
}

/// One observation to be written, and its id.
struct Observed {
    std::string id;
    std::function<void(JsonWriter&)> write;
};

struct Source {
    const ReferralView& view;
    const std::string& code;
    Instant at;
};

void begin_observation(JsonWriter& json, const Source& from, const std::string& id,
                       std::string_view category, Instant at) {
    begin_resource(json, "Observation", id, from.view.record.is_practice);
    json.member("status", "final").key("category").begin_list();
    write_concept(json, "http://terminology.hl7.org/CodeSystem/observation-category", category, {});
    json.end_list();
    write_reference(json, "subject", "Patient", from.code);
    json.member("effectiveDateTime", at);
}

void write_component(JsonWriter& json, std::string_view code, std::string_view display, int value) {
    json.begin_object().key("code").begin_object().key("coding").begin_list();
    write_coding(json, loinc, code, display);
    json.end_list().end_object();
    write_quantity(json, value, "mm[Hg]");
    json.end_object();
}

void write_code(JsonWriter& json, std::string_view system, std::string_view code,
                std::string_view display) {
    json.key("code").begin_object().key("coding").begin_list();
    write_coding(json, system, code, display);
    json.end_list().end_object();
}

Observed pressure_of(const Source& from, const triage::Reading& reading, std::size_t number) {
    const std::string id = from.code + "-pressure-" + std::to_string(number);
    return {id, [from, reading, id](JsonWriter& json) {
                begin_observation(json, from, id, "vital-signs", reading.taken_at);
                write_code(json, loinc, "85354-9",
                           "Blood pressure panel with all children optional");
                json.key("component").begin_list();
                if (reading.systolic) {
                    write_component(json, "8480-6", "Systolic blood pressure", *reading.systolic);
                }
                if (reading.diastolic) {
                    write_component(json, "8462-4", "Diastolic blood pressure", *reading.diastolic);
                }
                json.end_list().end_object();
            }};
}

Observed pulse_of(const Source& from, const triage::Reading& reading, std::size_t number) {
    const std::string id = from.code + "-pulse-" + std::to_string(number);
    return {id, [from, reading, id](JsonWriter& json) {
                begin_observation(json, from, id, "vital-signs", reading.taken_at);
                write_code(json, loinc, "8867-4", "Heart rate");
                write_quantity(json, *reading.pulse, "/min");
                json.end_object();
            }};
}

void write_value(JsonWriter& json, const Measure* measure, const triage::FindingValue& value) {
    if (const auto* answer = std::get_if<triage::Answer>(&value)) {
        json.member("valueBoolean", *answer == triage::Answer::yes);
    } else if (const auto* number = std::get_if<double>(&value)) {
        // A step of a test strip has no unit: UCUM's 1.
        write_quantity(json, *number, measure == nullptr ? "1" : measure->unit);
    } else {
        json.key("valueCodeableConcept");
        write_concept(json, finding_system, std::get<std::string>(value), {});
    }
}

Observed finding_of(const Source& from, const std::string& field,
                    const triage::FindingValue& value) {
    const std::string id = from.code + "-" + id_of(field);
    return {id, [from, field, value, id](JsonWriter& json) {
                const Measure* measure = measure_of(field);
                const bool is_vital = measure != nullptr && measure->is_vital_sign;
                begin_observation(json, from, id, is_vital ? "vital-signs" : "exam", from.at);
                if (measure != nullptr && !measure->code.empty()) {
                    write_code(json, loinc, measure->code, measure->display);
                } else {
                    write_code(json, finding_system, field, {});
                }
                write_value(json, measure, value);
                json.end_object();
            }};
}

bool is_known(const triage::FindingValue& value) {
    const auto* answer = std::get_if<triage::Answer>(&value);
    return answer == nullptr || *answer != triage::Answer::unknown;
}

std::vector<Observed> observed(const ReferralView& view) {
    std::vector<Observed> all;
    if (!view.record.opening || !gives_care(view.caller)) {
        return all;
    }
    const Opening& opening = *view.record.opening;
    const triage::Findings& findings = opening.request.findings;
    const Source from{view, view.record.code, findings.at.value_or(opening.opened_at)};
    std::size_t number = 0;
    for (const triage::Reading& reading : findings.readings) {
        ++number;
        if (reading.systolic || reading.diastolic) {
            all.push_back(pressure_of(from, reading, number));
        }
        if (reading.pulse) {
            all.push_back(pulse_of(from, reading, number));
        }
    }
    for (const auto& [field, value] : findings.values) {
        if (is_known(value) && !is_told_only(field)) {
            all.push_back(finding_of(from, field, value));
        }
    }
    return all;
}

}  // namespace

std::vector<std::string> observation_ids(const ReferralView& view) {
    std::vector<std::string> ids;
    for (const Observed& one : observed(view)) {
        ids.push_back(one.id);
    }
    return ids;
}

void write_observations(JsonWriter& json, const ReferralView& view) {
    for (const Observed& one : observed(view)) {
        write_entry(json, {"Observation", one.id}, [&] { one.write(json); });
    }
}

}  // namespace waybourne::server::fhir
