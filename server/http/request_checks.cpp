#include "server/http/request_checks.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "server/plain_id.hpp"
#include "vocabulary/small_letters.hpp"

namespace waybourne::server {

namespace {

bool is_length(const std::string& text) {
    constexpr std::size_t most_digits = 12;
    return !text.empty() && text.size() <= most_digits &&
           std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

/// `application/json`, or the JSON of FHIR, with or without a charset.
bool is_json(const std::string& content_type) {
    std::string type = small_letters(content_type.substr(0, content_type.find(';')));
    while (!type.empty() && type.back() == ' ') {
        type.pop_back();
    }
    return type == "application/json" || type == "application/fhir+json";
}

std::string without_port(const std::string& host) {
    if (host.starts_with('[')) {
        return host.substr(1, host.find(']') - 1);
    }
    return host.substr(0, host.find(':'));
}

[[noreturn]] void refuse(int status, std::string detail) {
    throw HttpRefusal(http_refusal(status, std::move(detail)));
}

}  // namespace

bool is_loopback(const std::string& host) {
    const bool is_four_numbers = std::all_of(
        host.begin(), host.end(), [](char c) { return (c >= '0' && c <= '9') || c == '.'; });
    return host == "localhost" || host == "::1" || (host.starts_with("127.") && is_four_numbers);
}

std::size_t RequestHead::count(std::string_view name) const {
    const std::string wanted = small_letters(name);
    return static_cast<std::size_t>(std::count_if(fields.begin(), fields.end(), [&](const auto& f) {
        return small_letters(f.first) == wanted;
    }));
}

std::string RequestHead::field(std::string_view name) const {
    const std::string wanted = small_letters(name);
    const auto found = std::find_if(fields.begin(), fields.end(), [&](const auto& f) {
        return small_letters(f.first) == wanted;
    });
    return found == fields.end() ? std::string{} : found->second;
}

void check_head(const RequestHead& head, const HttpSettings& settings) {
    if (head.target.size() > settings.path_limit) {
        refuse(414, fmt::format("a path may hold at most {} characters", settings.path_limit));
    }
    std::size_t size = 0;
    for (const auto& [name, value] : head.fields) {
        size += name.size() + value.size() + 4;
    }
    if (size > settings.header_limit) {
        refuse(431, fmt::format("header fields may take {} bytes", settings.header_limit));
    }
    const std::string host = head.field("Host");
    if (is_loopback(settings.host) && !host.empty() &&
        !is_loopback(small_letters(without_port(host)))) {
        refuse(421, "only requests to this machine are answered");
    }
}

namespace {

/// One id, or several with a comma between them.
bool are_plain_ids(std::string_view value) {
    while (true) {
        const std::size_t end = std::min(value.find(','), value.size());
        if (!is_plain_id(std::string{value.substr(0, end)})) {
            return false;
        }
        if (end == value.size()) {
            return true;
        }
        value.remove_prefix(end + 1);
    }
}

}  // namespace

std::map<std::string, std::string> check_query(const RequestHead& head, const Endpoint& endpoint) {
    std::map<std::string, std::string> values;
    const std::size_t mark = head.target.find('?');
    std::string_view rest = mark == std::string::npos
                                ? std::string_view{}
                                : std::string_view{head.target}.substr(mark + 1);
    if (mark != std::string::npos && endpoint.query.empty()) {
        refuse(400, "no query is taken: what is asked stands in the body, never in the address");
    }
    while (!rest.empty()) {
        const std::size_t end = std::min(rest.find('&'), rest.size());
        const std::string_view part = rest.substr(0, end);
        rest.remove_prefix(std::min(end + 1, rest.size()));
        const std::size_t equals = std::min(part.find('='), part.size());
        const std::string name{part.substr(0, equals)};
        const std::string value{part.substr(std::min(equals + 1, part.size()))};
        if (std::find(endpoint.query.begin(), endpoint.query.end(), name) == endpoint.query.end() ||
            !are_plain_ids(value) || !values.emplace(name, value).second) {
            refuse(400, fmt::format("a query takes only {}, each once, of letters, digits and "
                                    "-_.:, with a comma between several",
                                    fmt::join(endpoint.query, ", ")));
        }
    }
    return values;
}

PathMatch check_path(const RequestHead& /*head*/, const std::string& path,
                     const EndpointTable& endpoints) {
    // No id holds control characters; a zero byte would end the sentence that says it back.
    const bool is_readable = std::none_of(path.begin(), path.end(), [](char c) {
        const auto byte = static_cast<unsigned char>(c);
        return byte < 0x20U || byte == 0x7FU;
    });
    auto match = is_readable ? endpoints.find_path(path) : std::nullopt;
    if (!match) {
        refuse(404, "nothing is served under this path");
    }
    return std::move(*match);
}

void check_method(const RequestHead& head, const PathMatch& path, const EndpointTable& endpoints) {
    if (endpoints.find(path, head.method) != nullptr) {
        return;
    }
    const std::string allowed = fmt::format("{}", fmt::join(path.methods, ", "));
    Problem problem = http_refusal(405, "takes " + allowed);
    problem.headers.emplace_back("Allow", allowed);
    throw HttpRefusal(problem);
}

bool takes_body(std::string_view method) {
    return method == "POST" || method == "PUT";
}

void check_body(const RequestHead& head, const HttpSettings& settings) {
    const std::string length = head.field("Content-Length");
    const bool has_length = head.count("Content-Length") > 0;
    const bool is_chunked = head.count("Transfer-Encoding") > 0;
    if (head.count("Content-Length") > 1 || head.count("Transfer-Encoding") > 1 ||
        (is_chunked && has_length) || (has_length && !is_length(length)) ||
        (is_chunked && small_letters(head.field("Transfer-Encoding")) != "chunked")) {
        refuse(400, "the length of the body is not clear");
    }
    if (!takes_body(head.method)) {
        if (is_chunked || (has_length && length != "0")) {
            refuse(400, "no body is taken here");
        }
        return;
    }
    if (!is_chunked && !has_length) {
        refuse(411, "Content-Length is missing");
    }
    if (has_length && std::stoull(length) > settings.body_limit) {
        throw HttpRefusal(body_too_large(settings));
    }
    if (!is_json(head.field("Content-Type")) || head.count("Content-Encoding") > 0) {
        refuse(415, "send Content-Type: application/json, without Content-Encoding");
    }
}

Problem body_too_large(const HttpSettings& settings) {
    return http_refusal(413, fmt::format("a body may hold {} bytes at most", settings.body_limit));
}

}  // namespace waybourne::server
