#include "server/messages/http_gateway.hpp"

#include <httplib.h>

#include <string>

#include "server/json/writer.hpp"

namespace waybourne::server {

namespace {

std::string trouble_of(httplib::Error error) {
    switch (error) {
        case httplib::Error::Connection:
        case httplib::Error::BindIPAddress:
            return "no_connection";
        case httplib::Error::ConnectionTimeout:
        case httplib::Error::Read:
        case httplib::Error::Canceled:
            return "no_answer";
        case httplib::Error::SSLConnection:
        case httplib::Error::SSLLoadingCerts:
        case httplib::Error::SSLServerVerification:
            return "not_trusted";
        default:
            return "no_answer";
    }
}

/// Whether it is the message that is at fault, not the gateway, the secret or the moment.
bool blames_the_message(int status) {
    return status == 400 || status == 413 || status == 422;
}

std::string body_of(const TextToSend& message) {
    JsonWriter json;
    json.begin_object().member("id", message.id).member("to", message.number);
    return json.member("text", message.text).end_object().take();
}

}  // namespace

Taken HttpGateway::send(const TextToSend& message) {
    using std::chrono::steady_clock;
    httplib::Client client{settings_.origin};
    if (!client.is_valid()) {
        return {Taken::Answer::not_now, "not_usable"};
    }
    client.set_connection_timeout(patience_);
    client.set_read_timeout(patience_);
    client.set_write_timeout(patience_);
    client.set_follow_location(false);
    client.set_keep_alive(false);
    client.enable_server_certificate_verification(true);
    if (!settings_.authority.empty()) {
        client.set_ca_cert_path(settings_.authority.c_str());
    }
    httplib::Request request;
    request.method = "POST";
    request.path = settings_.path;
    request.headers = {{settings_.header, settings_.secret},
                       {"Idempotency-Key", message.id},
                       {"Content-Type", "application/json"}};
    request.body = body_of(message);
    // What it says besides the status is not read: an answer that drips or never ends is cut off.
    const auto until = steady_clock::now() + patience_;
    std::size_t received = 0;
    request.content_receiver = [&](const char*, std::size_t size, std::uint64_t, std::uint64_t) {
        constexpr std::size_t enough = 4096;
        received += size;
        return received <= enough && steady_clock::now() < until;
    };
    int status = 0;
    request.response_handler = [&](const httplib::Response& response) {
        status = response.status;
        return true;
    };
    const auto result = client.send(request);
    if (status == 0 && result) {
        status = result->status;  // 204: there is no body, and nobody is asked about one
    }
    if (status == 0) {
        return {Taken::Answer::not_now, trouble_of(result.error())};
    }
    constexpr int good = 2;
    constexpr int hundred = 100;
    if (status / hundred == good) {
        return {Taken::Answer::taken, {}};
    }
    return {blames_the_message(status) ? Taken::Answer::refused : Taken::Answer::not_now,
            "http_" + std::to_string(status)};
}

}  // namespace waybourne::server
