#include <fmt/format.h>

#include "server/json/object_reader.hpp"
#include "server/security/keys.hpp"
#include "server/security/private_text.hpp"

namespace waybourne::server {

namespace {

constexpr std::size_t most_keys = 10'000;
constexpr int form = 1;

std::string to_text(const Keys& keys) {
    JsonWriter json{1};
    json.begin_object().member("form", form).key("keys").begin_list();
    for (const Key& key : keys.all()) {
        json.begin_object();
        write_key_members(json, key);
        json.member("hash", key.hash).end_object();
    }
    return json.end_list().end_object().take() + "\n";
}

std::vector<FacilityId> parse_facilities(ObjectReader& reader, const std::string& pointer,
                                         std::vector<FieldError>& errors) {
    std::vector<FacilityId> facilities;
    constexpr std::size_t most = 1'000;
    if (const auto* list = reader.list("facilities", most)) {
        for (const JsonValue& one : *list) {
            if (one.kind() == JsonKind::text && !one.text().empty()) {
                facilities.emplace_back(one.text());
            } else {
                errors.push_back({pointer, "facilities are ids"});
            }
        }
    }
    return facilities;
}

Key parse_key(const JsonValue& value, const std::string& pointer, std::vector<FieldError>& errors) {
    static const std::vector<std::string> roles = [] {
        std::vector<std::string> names;
        for (const Role role : all_roles) {
            names.emplace_back(to_name(role));
        }
        return names;
    }();
    ObjectReader reader{value, pointer, errors};
    for (const char* name : {"id", "account", "role", "hash", "added_at"}) {
        reader.require(name);
    }
    Key key;
    key.id = reader.text("id").value_or("");
    key.caller.who = reader.text("account").value_or("");
    key.caller.role = all_roles[reader.choice("role", roles).value_or(0)];
    key.caller.facilities = parse_facilities(reader, pointer, errors);
    key.caller.practice = reader.boolean("practice").value_or(false);
    key.hash = reader.text("hash").value_or("");
    key.added_at = reader.instant("added_at").value_or(Instant{});
    reader.finish();
    return key;
}

Keys parse_keys(const std::string& text) {
    std::vector<FieldError> errors;
    const JsonValue value = parse_json(text);
    ObjectReader reader{value, "#", errors};
    reader.require("form");
    reader.require("keys");
    reader.whole_number("form", {form, form});
    std::vector<Key> keys;
    if (const auto* list = reader.list("keys", most_keys)) {
        for (std::size_t i = 0; i < list->size(); ++i) {
            keys.push_back(parse_key((*list)[i], fmt::format("#/keys/{}", i), errors));
        }
    }
    reader.finish();
    if (!errors.empty()) {
        throw InputError(errors.front().pointer + " " + errors.front().detail);
    }
    return Keys{std::move(keys)};
}

Keys parse_keys_file(const std::filesystem::path& file, const std::string& text) {
    try {
        return parse_keys(text);
    } catch (const InputError& error) {
        throw DataError(file.string() + ": " + error.what());
    }
}

}  // namespace

void write_key_members(JsonWriter& json, const Key& key) {
    json.member("id", key.id).member("account", key.caller.who);
    json.key("role").value(to_name(key.caller.role));
    json.key("facilities").begin_list();
    for (const FacilityId& facility : key.caller.facilities) {
        json.value(facility);
    }
    json.end_list().member("practice", key.caller.practice).member("added_at", key.added_at);
}

Keys read_keys(const std::filesystem::path& file) {
    const auto text = read_private_text(file);
    if (!text) {
        throw NotFound(file.string() +
                       ": there is no such keys file; make one with waybourne keys "
                       "add");
    }
    return parse_keys_file(file, *text);
}

void change_keys(const std::filesystem::path& file,
                 const std::function<Keys(const Keys&)>& change) {
    const FileLock lock{file};
    const auto text = read_private_text(file);
    const Keys changed = change(text ? parse_keys_file(file, *text) : Keys{});
    replace_private_text(file, to_text(changed));
}

}  // namespace waybourne::server
