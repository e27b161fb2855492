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
    json.end_list();
    if (!keys.numbers().empty()) {
        json.key("numbers").begin_list();
        for (const Number& number : keys.numbers()) {
            json.begin_object();
            write_number_members(json, number);
            json.end_object();
        }
        json.end_list();
    }
    return json.end_object().take() + "\n";
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

Caller parse_caller(ObjectReader& reader, const std::string& pointer,
                    std::vector<FieldError>& errors) {
    static const std::vector<std::string> roles = [] {
        std::vector<std::string> names;
        for (const Role role : all_roles) {
            names.emplace_back(to_name(role));
        }
        return names;
    }();
    Caller caller;
    caller.who = reader.text("account").value_or("");
    caller.role = all_roles[reader.choice("role", roles).value_or(0)];
    caller.facilities = parse_facilities(reader, pointer, errors);
    caller.practice = reader.boolean("practice").value_or(false);
    return caller;
}

Number parse_number_entry(const JsonValue& value, const std::string& pointer,
                          std::vector<FieldError>& errors) {
    ObjectReader reader{value, pointer, errors};
    for (const char* name : {"number", "account", "role", "added_at"}) {
        reader.require(name);
    }
    Number number;
    number.number = reader.text("number").value_or("");
    number.caller = parse_caller(reader, pointer, errors);
    number.language = reader.text("language").value_or("");
    number.added_at = reader.instant("added_at").value_or(Instant{});
    reader.finish();
    return number;
}

Key parse_key(const JsonValue& value, const std::string& pointer, std::vector<FieldError>& errors) {
    ObjectReader reader{value, pointer, errors};
    for (const char* name : {"id", "account", "role", "hash", "added_at"}) {
        reader.require(name);
    }
    Key key;
    key.id = reader.text("id").value_or("");
    key.caller = parse_caller(reader, pointer, errors);
    key.hash = reader.text("hash").value_or("");
    key.added_at = reader.instant("added_at").value_or(Instant{});
    reader.finish();
    return key;
}

Keys parse_keys_file(const std::filesystem::path& file, const std::string& text) {
    try {
        return parse_keys(text);
    } catch (const InputError& error) {
        throw DataError(file.string() + ": " + error.what());
    }
}

}  // namespace

Keys parse_keys(std::string_view text) {
    std::vector<FieldError> errors;
    const JsonValue value = parse_json(text);
    ObjectReader reader{value, "#", errors};
    reader.require("form");
    reader.require("keys");
    reader.whole_number("form", {form, form});
    std::vector<Key> keys;
    std::vector<Number> numbers;
    if (const auto* list = reader.list("keys", most_keys)) {
        for (std::size_t i = 0; i < list->size(); ++i) {
            keys.push_back(parse_key((*list)[i], fmt::format("#/keys/{}", i), errors));
        }
    }
    if (const auto* list = reader.list("numbers", most_keys)) {
        for (std::size_t i = 0; i < list->size(); ++i) {
            numbers.push_back(
                parse_number_entry((*list)[i], fmt::format("#/numbers/{}", i), errors));
        }
    }
    reader.finish();
    if (!errors.empty()) {
        throw InputError(errors.front().pointer + " " + errors.front().detail);
    }
    return Keys{std::move(keys), std::move(numbers)};
}

namespace {

void write_caller_members(JsonWriter& json, const Caller& caller) {
    json.member("account", caller.who).key("role").value(to_name(caller.role));
    json.key("facilities").begin_list();
    for (const FacilityId& facility : caller.facilities) {
        json.value(facility);
    }
    json.end_list().member("practice", caller.practice);
}

}  // namespace

void write_key_members(JsonWriter& json, const Key& key) {
    json.member("id", key.id);
    write_caller_members(json, key.caller);
    json.member("added_at", key.added_at);
}

void write_number_members(JsonWriter& json, const Number& number) {
    json.member("number", number.number);
    write_caller_members(json, number.caller);
    if (!number.language.empty()) {
        json.member("language", number.language);
    }
    json.member("added_at", number.added_at);
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
