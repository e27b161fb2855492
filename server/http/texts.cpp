#include "server/http/changes.hpp"
#include "server/http/resources.hpp"
#include "server/json/message_hook.hpp"
#include "server/messages/texting.hpp"

namespace waybourne::server {

namespace {

/// The gateway comes without a key of ours: it shows its own secret.
Texting& texting_for(const Application& application, const HttpRequest& request) {
    if (application.texting == nullptr) {
        throw Unavailable("this server takes no text messages: start it with --messages");
    }
    application.texting->check_gateway(request.authorization, request.address);
    return *application.texting;
}

HttpResponse take_text(const Application& application, const HttpRequest& request) {
    Texting& texting = texting_for(application, request);
    const IncomingText text = parse_incoming_text(request.body);
    const auto answer = texting.answers().answer(text);
    JsonWriter json;
    json.begin_object().member("to", text.from).member("text", answer);
    return {200, json.end_object().take()};
}

HttpResponse take_receipt(const Application& application, const HttpRequest& request) {
    Texting& texting = texting_for(application, request);
    const Receipt receipt = parse_receipt(request.body);
    const OutgoingMessage message =
        texting.outbox().take_receipt(receipt.id, receipt.has_arrived, receipt.trouble);
    JsonWriter json;
    json.begin_object().member("id", message.id).key("state").value(wire_name(message.state));
    return {200, json.end_object().take()};
}

}  // namespace

std::vector<Endpoint> text_endpoints(const Application& application) {
    const auto text = [&application](const HttpRequest& request) {
        return take_text(application, request);
    };
    const auto receipt = [&application](const HttpRequest& request) {
        return take_receipt(application, request);
    };
    return {{"POST", "/v1/texts", Privacy::personal, text},
            {"POST", "/v1/receipts", Privacy::personal, receipt}};
}

}  // namespace waybourne::server
