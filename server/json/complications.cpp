#include "server/json/complications.hpp"

#include "server/json/object_reader.hpp"
#include "server/json/request.hpp"

namespace waybourne::server {

namespace {

constexpr std::size_t most_kinds = 100;

ComplicationRates::Kind read_kind(const JsonValue& value, const std::string& pointer,
                                  std::vector<FieldError>& errors) {
    ObjectReader reader{value, pointer, errors};
    ComplicationRates::Kind kind;
    for (const char* needed : {"id", "weight", "findings"}) {
        reader.require(needed);
    }
    kind.id = reader.text("id").value_or("");
    kind.weight = reader.number("weight", {0, 1e9}).value_or(0);
    JsonWriter request;
    request.begin_object();
    if (const JsonValue* reading = reader.take("reading")) {
        const auto* numbers = reading->find("systolic_mmhg");
        if (numbers == nullptr) {
            reader.refuse("reading", "systolic_mmhg is needed");
        }
        std::string text = to_json(*reading);
        text.insert(1, R"("taken_at": "1970-01-01T00:00:00Z", )");
        request.key("readings").begin_list().raw(text).end_list();
    }
    if (const JsonValue* findings = reader.take("findings")) {
        request.key("findings").raw(to_json(*findings));
    }
    try {
        kind.findings = parse_findings(request.end_object().take());
    } catch (const InputError& error) {
        for (const FieldError& field : error.fields()) {
            errors.push_back({pointer + field.pointer.substr(1), field.detail});
        }
    }
    reader.finish();
    return kind;
}

}  // namespace

ComplicationRates parse_complication_rates(std::string_view text) {
    const JsonValue value = parse_json(text);
    std::vector<FieldError> errors;
    ObjectReader reader{value, "#", errors};
    for (const char* needed : {"per_birth", "source", "shares", "findings", "complications"}) {
        reader.require(needed);
    }
    ComplicationRates rates;
    rates.per_birth = reader.number("per_birth", {0, 1}).value_or(0);
    rates.source = reader.text("source").value_or("");
    rates.source_of_weights = reader.text("shares").value_or("");
    rates.source_of_findings = reader.text("findings").value_or("");
    const auto* kinds = reader.list("complications", most_kinds);
    for (std::size_t i = 0; kinds != nullptr && i < kinds->size(); ++i) {
        rates.kinds.push_back(read_kind(
            (*kinds)[i], reader.pointer_to("complications") + "/" + std::to_string(i), errors));
    }
    reader.finish();
    throw_if_any(errors);
    return rates;
}

}  // namespace waybourne::server
