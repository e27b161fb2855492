#include "server/messages/messages_file.hpp"

#include <algorithm>

#include "server/http/server.hpp"
#include "server/json/object_reader.hpp"
#include "server/security/private_text.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

constexpr int form = 1;
/// 128 bits as base64 at the least: it is never typed in.
constexpr std::size_t shortest_secret = 22;
constexpr std::size_t longest_text = 512;

bool is_visible_ascii(const std::string& text) {
    return std::all_of(text.begin(), text.end(), [](char c) { return c >= ' ' && c <= '~'; });
}

bool is_header_name(const std::string& text) {
    return !text.empty() && text.find_first_not_of(
                                "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                "0123456789-") == std::string::npos;
}

/// Splits the address; refuses what would carry secrets in the clear or in the address.
void split_url(GatewaySettings& gateway, ObjectReader& reader) {
    const std::string& url = gateway.url;
    const std::size_t scheme = url.find("://");
    const std::size_t path = scheme == std::string::npos ? scheme : url.find('/', scheme + 3);
    gateway.origin = url.substr(0, path);
    gateway.path = path == std::string::npos ? "/" : url.substr(path);
    const bool is_secure = url.starts_with("https://");
    const bool is_plain = url.starts_with("http://");
    const std::string host_and_port =
        scheme == std::string::npos ? "" : gateway.origin.substr(scheme + 3);
    const std::string host = host_and_port.substr(0, host_and_port.rfind(':'));
    const bool has_form = (is_secure || is_plain) && !host.empty() && is_visible_ascii(url) &&
                          url.find_first_of(" @#?") == std::string::npos;
    if (!has_form) {
        reader.refuse("url", "is no https:// address without a query, a name or a password");
    } else if (is_plain && !is_loopback(host)) {
        reader.refuse("url",
                      "is not encrypted: over http:// only a gateway on this machine is used");
    }
}

std::string secret_in(ObjectReader& reader, const std::string& name) {
    reader.require(name);
    std::string secret = reader.text(name).value_or("");
    if (!secret.empty() && (secret.size() < shortest_secret || secret.size() > longest_text ||
                            !is_visible_ascii(secret))) {
        reader.refuse(name, "must be 22 to 512 printable characters, made at random");
    }
    return secret;
}

GatewaySettings parse_gateway(const JsonValue& value, std::vector<FieldError>& errors) {
    ObjectReader reader{value, "#/gateway", errors};
    GatewaySettings gateway;
    reader.require("url");
    gateway.url = reader.text("url").value_or("");
    split_url(gateway, reader);
    gateway.header = reader.text("header").value_or(gateway.header);
    if (!is_header_name(gateway.header)) {
        reader.refuse("header", "is no name of a header field");
    }
    gateway.secret = secret_in(reader, "secret");
    gateway.authority = reader.text("authority").value_or("");
    reader.finish();
    return gateway;
}

void parse_sending(ObjectReader& body, SendingSettings& sending) {
    constexpr double most_minutes = 1'440;
    constexpr double most_messages = 1e6;
    if (const auto minutes = body.whole_number("receipt_within_minutes", {1, most_minutes})) {
        sending.receipt_within = *minutes * Seconds{60};
    }
    if (const auto most = body.whole_number("most_per_hour", {1, most_messages})) {
        sending.most_per_hour = static_cast<std::size_t>(*most);
    }
}

void parse_brought(ObjectReader& body, Rate& brought) {
    constexpr double most_per_second = 10'000;
    constexpr double most_at_once = 1e6;
    if (const auto rate = body.whole_number("brought_per_second", {1, most_per_second})) {
        brought.per_second = static_cast<double>(*rate);
    }
    if (const auto burst = body.whole_number("brought_at_once", {1, most_at_once})) {
        brought.burst = static_cast<double>(*burst);
    }
}

}  // namespace

MessagesSettings parse_messages_file(std::string_view text) {
    std::vector<FieldError> errors;
    const JsonValue value = parse_json(text);
    ObjectReader body{value, "#", errors};
    MessagesSettings settings;
    body.require("form");
    body.whole_number("form", {form, form});
    body.require("gateway");
    if (const JsonValue* gateway = body.take("gateway")) {
        settings.gateway = parse_gateway(*gateway, errors);
    }
    settings.hook_secret = BearerSecret{secret_in(body, "hook_secret")};
    parse_brought(body, settings.brought);
    parse_sending(body, settings.sending);
    body.finish();
    if (!errors.empty()) {
        throw InputError(errors.front().pointer + " " + errors.front().detail);
    }
    return settings;
}

MessagesSettings read_messages_file(const std::filesystem::path& file) {
    const auto text = read_private_text(file);
    if (!text) {
        throw NotFound(file.string() + ": there is no such messages file");
    }
    try {
        return parse_messages_file(*text);
    } catch (const InputError& error) {
        throw InputError(file.string() + ": " + error.what());
    }
}

}  // namespace waybourne::server
