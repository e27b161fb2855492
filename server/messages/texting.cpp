#include "server/messages/texting.hpp"

#include "server/problem.hpp"
#include "server/program_files.hpp"

namespace waybourne::server {

namespace {

constexpr Rate wrong_secrets{1.0 / 3, 20};

std::unique_ptr<MessageSender> gateway_of(const MessagesSettings& settings,
                                          std::unique_ptr<MessageSender> given) {
    return given != nullptr ? std::move(given) : std::make_unique<HttpGateway>(settings.gateway);
}

}  // namespace

Texting::Texting(const MessagesSettings& settings, Records& records, Desk& desk,
                 const Current<Snapshot>& snapshot, const Outbox::KeysNow& keys, const Clock& clock,
                 Log& log, AuditTrail* audit, std::unique_ptr<MessageSender> gateway)
    : hook_secret_(settings.hook_secret),
      gateway_(gateway_of(settings, std::move(gateway))),
      outbox_(records, snapshot, keys, *gateway_, clock, log, settings.sending),
      answers_(records, desk, snapshot, keys, clock,
               read_program_file(program_folder() / "server" / "messages" / "text_words.json"),
               audit),
      failures_(wrong_secrets) {}

void Texting::check_gateway(const std::string& authorization, const std::string& address) {
    if (hook_secret_.is_shown_in(authorization)) {
        return;
    }
    const auto wait = failures_.take(address, std::chrono::steady_clock::now());
    if (wait.count() > 0) {
        Problem problem = http_refusal(429, "too many wrong secrets from there");
        problem.headers.emplace_back("Retry-After", std::to_string(wait.count()));
        throw HttpRefusal(problem);
    }
    Problem problem = http_refusal(401, "the gateway's secret is needed");
    problem.headers.emplace_back("WWW-Authenticate", "Bearer");
    throw HttpRefusal(problem);
}

}  // namespace waybourne::server
