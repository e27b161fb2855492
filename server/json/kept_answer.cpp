#include "server/json/kept_answer.hpp"

#include <algorithm>

#include "server/json/request.hpp"

namespace waybourne::server {

namespace {

using Errors = std::vector<FieldError>;

constexpr double most_counted = 1e15;
constexpr std::size_t most_changes = 100'000;

bool is_left_out(const std::string& name) {
    return name == "geometry" || name == "roads" || name == "referral_note" ||
           name == "questions" || name == "snapshot";
}

void write_basis(JsonWriter& json, const Basis& basis) {
    json.begin_object().member("version", basis.version).key("files").begin_object();
    for (const auto& [what, sha256] : basis.files) {
        json.member(what, sha256);
    }
    json.end_object().member("read_at", basis.read_at).member("journal", basis.known);
    json.key("road_changes");
    if (basis.road_changes) {
        json.value(*basis.road_changes);
    } else {
        json.null();
    }
    json.end_object();
}

Basis parse_basis(ObjectReader& body, Errors& errors) {
    Basis basis;
    const JsonValue* value = body.take("basis");
    if (value == nullptr) {
        return basis;
    }
    ObjectReader reader{*value, body.pointer_to("basis"), errors};
    basis.version = reader.text("version").value_or("");
    if (const JsonValue* files = reader.take("files")) {
        for (const JsonMember& file : files->members()) {
            basis.files.emplace(file.name, file.value.text());
        }
    }
    basis.read_at = reader.instant("read_at");
    basis.known =
        static_cast<journal::Sequence>(reader.number("journal", {0, most_counted}).value_or(0));
    if (const auto* changes = reader.list("road_changes", most_changes)) {
        basis.road_changes.emplace();
        for (const JsonValue& change : *changes) {
            basis.road_changes->push_back(change.text());
        }
    }
    return basis;
}

}  // namespace

JsonValue essence_of(const JsonValue& answer) {
    if (answer.kind() == JsonKind::list) {
        std::vector<JsonValue> items;
        std::transform(answer.items().begin(), answer.items().end(), std::back_inserter(items),
                       essence_of);
        return JsonValue{std::move(items)};
    }
    if (answer.kind() != JsonKind::object) {
        return answer;
    }
    std::vector<JsonMember> members;
    for (const JsonMember& member : answer.members()) {
        if (!is_left_out(member.name)) {
            members.push_back({member.name, essence_of(member.value)});
        }
    }
    return JsonValue{std::move(members)};
}

std::vector<std::string> cautions_of(const KeptAnswer& kept) {
    const JsonValue answer = parse_json(kept.answer);
    const JsonValue* assessment = answer.find("assessment");
    std::vector<std::string> all;
    for (const JsonValue* part : {assessment, &answer}) {
        const JsonValue* cautions = part == nullptr ? nullptr : part->find("cautions");
        for (std::size_t i = 0; cautions != nullptr && i < cautions->items().size(); ++i) {
            const std::string& text = cautions->items()[i].text();
            if (std::find(all.begin(), all.end(), text) == all.end()) {
                all.push_back(text);
            }
        }
    }
    return all;
}

namespace {

bool is_without_source(const JsonValue& suspicion) {
    const JsonValue* sources = suspicion.find("sources");
    return sources != nullptr &&
           std::any_of(sources->items().begin(), sources->items().end(), [](const JsonValue& one) {
               const std::string& text = one.text();
               return text.ends_with("(c)") || text.ends_with("(L)") ||
                      text.find("common practice, no source") != std::string::npos;
           });
}

}  // namespace

std::vector<std::string> rules_without_source(const KeptAnswer& kept) {
    std::vector<std::string> rules;
    const JsonValue answer = parse_json(kept.answer);
    const JsonValue* assessment = answer.find("assessment");
    const JsonValue* suspected = assessment == nullptr ? nullptr : assessment->find("suspected");
    for (std::size_t i = 0; suspected != nullptr && i < suspected->items().size(); ++i) {
        const JsonValue& suspicion = suspected->items()[i];
        const JsonValue* because = suspicion.find("because");
        if (because == nullptr || !is_without_source(suspicion)) {
            continue;
        }
        for (const JsonValue& one : because->items()) {
            if (const JsonValue* rule = one.find("rule")) {
                rules.push_back(rule->text());
            }
        }
    }
    return rules;
}

void write_kept_answer(JsonWriter& json, const KeptAnswer& kept) {
    json.begin_object().member("form", kept_answer_form).member("at", kept.at).key("request");
    write_recommendation_request(json, kept.request);
    json.key("basis");
    write_basis(json, kept.basis);
    json.member("sha256", kept.sha256).member("note", kept.note);
    json.key("answer").raw(kept.answer).end_object();
}

std::optional<KeptAnswer> parse_kept_answer(std::string_view body) {
    const JsonValue whole = parse_json(body);
    const JsonValue* value = whole.find("recommended");
    if (value == nullptr) {
        return std::nullopt;
    }
    Errors errors;
    ObjectReader reader{*value, "#/recommended", errors};
    if (reader.whole_number("form", {0, most_counted}) != kept_answer_form) {
        throw InputError("the recommendation was kept by a later program");
    }
    KeptAnswer kept;
    kept.at = reader.instant("at").value_or(Instant{});
    if (const JsonValue* request = reader.take("request")) {
        kept.request = read_recommendation_request(*request, "#/recommended/request", errors);
    }
    kept.basis = parse_basis(reader, errors);
    kept.sha256 = reader.text("sha256").value_or("");
    kept.note = reader.text("note").value_or("");
    if (const JsonValue* answer = reader.take("answer")) {
        kept.answer = to_json(*answer);
    }
    throw_if_any(errors);
    return kept;
}

}  // namespace waybourne::server
