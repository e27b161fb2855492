#include <pthread.h>

#include <algorithm>
#include <csignal>
#include <filesystem>
#include <ostream>
#include <thread>

#include "journal/open_journal.hpp"
#include "server/application.hpp"
#include "server/cli/commands.hpp"
#include "server/clock.hpp"
#include "server/http/server.hpp"
#include "server/json/writer.hpp"
#include "server/load_district.hpp"
#include "server/log.hpp"
#include "server/messages/texting.hpp"
#include "server/pack/pack_shelf.hpp"
#include "server/page_files.hpp"
#include "server/program_files.hpp"
#include "server/referrals/desk.hpp"
#include "server/referrals/watch_deadlines.hpp"
#include "server/security/audit.hpp"
#include "server/security/guard.hpp"
#include "server/security/process.hpp"
#include "triage/protocol_check.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

/// While it lives, SIGTERM and SIGINT come to one thread, which calls `stop`. Made before any other
/// thread, so that all inherit the mask.
class StopSignals {
public:
    StopSignals() {
        sigemptyset(&signals_);
        sigaddset(&signals_, SIGTERM);
        sigaddset(&signals_, SIGINT);
        // SIGUSR1 is ours alone: it ends the waiting when serving has ended without a signal.
        sigaddset(&signals_, SIGUSR1);
        pthread_sigmask(SIG_BLOCK, &signals_, nullptr);
    }
    void watch(HttpServer& server, Log& log) {
        thread_ = std::thread{[this, &server, &log] {
            int signal = 0;
            sigwait(&signals_, &signal);
            if (signal != SIGUSR1) {
                log.event(Level::info, "stopping",
                          {{"signal", signal == SIGTERM ? "SIGTERM" : "SIGINT"}});
                server.stop();
            }
        }};
    }
    void end() {
        pthread_kill(thread_.native_handle(), SIGUSR1);
        thread_.join();
    }

private:
    sigset_t signals_{};
    std::thread thread_;
};

/// An SQLite file, and not a database elsewhere.
bool has_journal_file(const ServeOptions& options) {
    return !options.journal.empty() && options.journal.find("://") == std::string::npos;
}

void refuse_journal_nowhere(const ServeOptions& options) {
    const auto folder = std::filesystem::path{options.journal}.parent_path();
    if (has_journal_file(options) && !folder.empty() && !std::filesystem::is_directory(folder)) {
        throw InputError("--journal " + options.journal + ": there is no folder " +
                         folder.string());
    }
}

/// Numbers stand among the keys, and what is sent stands in the journal.
void refuse_incomplete(const ServeOptions& options) {
    if (!options.messages.empty() && (options.journal.empty() || options.keys.empty())) {
        throw InputError("--messages needs --journal and --keys");
    }
    if (!options.messages.empty() && options.is_practice) {
        throw InputError("practice never leaves the system: leave out --messages");
    }
}

/// Beyond this machine: with keys and TLS, or in so many words.
void refuse_remote_unprotected(const ServeOptions& options) {
    if (options.tls_certificate.empty() != options.tls_key.empty()) {
        throw InputError("--tls-certificate and --tls-key go together");
    }
    if (is_loopback(options.host)) {
        return;
    }
    const std::string can_be_reached = "--host " + options.host + " can be reached from elsewhere ";
    if (options.keys.empty() && !options.allow_remote_without_keys) {
        throw InputError(can_be_reached +
                         "and nobody needs a key: give --keys, use 127.0.0.1, or say "
                         "--allow-remote-without-keys");
    }
    if (options.tls_certificate.empty() && !options.allow_remote_without_tls) {
        throw InputError(can_be_reached +
                         "and whoever is on the way reads along: give --tls-certificate and "
                         "--tls-key, use 127.0.0.1, or say --allow-remote-without-tls");
    }
}

void refuse_unsound_protocol(const Snapshot& snapshot) {
    const auto verdict = triage::check_protocol(snapshot.protocol, snapshot.catalogue);
    if (!verdict.passed()) {
        std::string first = to_text(verdict.faults.front());
        std::replace(first.begin(), first.end(), '\n', ' ');
        throw DataError("the protocol " + snapshot.protocol.id + " must not be used: " + first);
    }
}

HttpSettings settings_of(const ServeOptions& options, Instant now, Log& log) {
    HttpSettings settings;
    settings.host = options.host;
    settings.port = options.port;
    settings.is_practice = options.is_practice;
    if (!is_loopback(options.host)) {
        // Half of what is served at once: a ward behind one address has room, and so has the rest.
        settings.connections_of_one_address = settings.connections / 2;
    }
    if (!options.tls_certificate.empty()) {
        auto identity =
            std::make_shared<const TlsIdentity>(options.tls_certificate, options.tls_key);
        const Instant until = identity->valid_until();
        constexpr Seconds soon = 30 * 24h;
        log.event(until < now + soon ? Level::warning : Level::info, "certificate",
                  {{"valid_until", to_rfc3339(until)}});
        settings.tls = std::move(identity);
    }
    return settings;
}

std::unique_ptr<Guard> guard_of(const ServeOptions& options,
                                const std::optional<MessagesSettings>& messages,
                                const Snapshot& snapshot, const Clock& clock, Log& log) {
    if (options.keys.empty()) {
        return nullptr;
    }
    GuardSettings settings;
    if (messages) {
        settings.gateway_secret = messages->hook_secret;
        settings.gateway = messages->brought;
    }
    auto guard = std::make_unique<Guard>(options.keys, clock, log, settings);
    for (const Key& key : guard->keys()->all()) {
        for (const FacilityId& facility : key.caller.facilities) {
            const auto& all = snapshot.facilities.facilities();
            if (std::none_of(all.begin(), all.end(),
                             [&](const auto& one) { return one.id == facility; })) {
                log.event(Level::warning, "key_of_unknown_facility",
                          {{"account", key.caller.who}, {"facility", facility.value()}});
            }
        }
    }
    return guard;
}

std::string address_of(const ServeOptions& options, int port) {
    return (options.tls_certificate.empty() ? "http://" : "https://") + options.host + ":" +
           std::to_string(port);
}

void tell_address(const ServeOptions& options, const Snapshot& snapshot, int port,
                  std::ostream& out) {
    if (options.common.json) {
        JsonWriter json;  // one line: a program waits for it
        json.begin_object().member("district", snapshot.district.name);
        json.member("address", address_of(options, port));
        json.member("this_machine_only", is_loopback(options.host));
        json.member("keys", !options.keys.empty()).member("practice", options.is_practice);
        out << json.end_object().take() << std::endl;
        return;
    }
    out << "Serving " << snapshot.district.name << " on " << address_of(options, port)
        << (is_loopback(options.host) ? ", this machine only"
                                      : ", to EVERY machine that reaches it")
        << (options.keys.empty() ? ", without a key.\n" : ", with keys.\n")
        << (options.is_practice ? "PRACTICE: every case here is a practice case.\n" : "")
        << std::flush;
}

void log_start(const ServeOptions& options, const Snapshot& snapshot, Guard* guard, int port,
               Log& log) {
    const bool has_tls = !options.tls_certificate.empty();
    log.event(Level::info, "serving",
              {{"address", address_of(options, port)},
               {"district", snapshot.district.name},
               {"facilities", std::to_string(snapshot.facilities.facilities().size())},
               {"protocol", snapshot.protocol.id + " " + snapshot.protocol.version},
               {"approved", snapshot.protocol.approved_by ? "yes" : "no"},
               {"engine", to_name(snapshot.roads->engine())},
               {"keys", guard == nullptr ? "none" : std::to_string(guard->keys()->all().size())}});
    if (!is_loopback(options.host) && guard == nullptr) {
        log.event(Level::warning, "remote_without_keys", {{"host", options.host}});
    }
    if (!is_loopback(options.host) && !has_tls) {
        log.event(Level::warning, "remote_without_tls", {{"host", options.host}});
    }
}

/// The key of the file that was given, else of the one beside a journal file, else a new one.
PackKey pack_key_of(const ServeOptions& options) {
    if (!options.pack_key.empty()) {
        return load_pack_key(options.pack_key);
    }
    return has_journal_file(options) ? load_pack_key(options.journal + ".pack-key") : PackKey{};
}

/// Everything that rests on a journal, wired to the application for as long as it lives.
class Recording {
public:
    Recording(const std::string& address, const std::optional<MessagesSettings>& messages,
              Application& application, const Clock& clock, Log& log)
        : records_(journal::open_journal(address), application.snapshot, clock),
          desk_(records_, application.snapshot, clock),
          watch_(records_, application.snapshot, clock, log),
          audit_([this](const journal::Append& append) { records_.append(append); },
                 records_.journal(), log) {
        application.audit = &audit_;
        application.records = &records_;
        application.desk = &desk_;
        application.look_again = [this] { watch_.hurry(); };
        records_.start_following();
        watch_.start(watch_period);
        if (messages) {
            texting_.emplace(
                *messages, records_, desk_, application.snapshot,
                [guard = application.guard] { return guard->keys(); }, clock, log, &audit_);
            application.texting = &*texting_;
            texting_->outbox().start(senders);
        }
        log.event(Level::info, "journal",
                  {{"address", journal::without_password(address)},
                   {"sequence", std::to_string(records_.sequence())}});
    }

private:
    static constexpr std::chrono::seconds watch_period{15};
    /// Messages that are handed to the gateway at once: one that answers slowly holds up few.
    static constexpr std::size_t senders = 4;

    Records records_;
    Desk desk_;
    DeadlineWatch watch_;
    AuditTrail audit_;
    std::optional<Texting> texting_;
};

}  // namespace

int run_serve(const ServeOptions& options, Terminal& terminal) {
    refuse_remote_unprotected(options);
    refuse_incomplete(options);
    refuse_journal_nowhere(options);
    StopSignals signals;
    Log log;
    const auto memory = options.keys.empty() ? nullptr : std::make_unique<PrivateMemory>();
    const ClockFrom clock{moment_of(options.common)};
    auto snapshot = snapshot_of(options.common, clock.now());
    refuse_unsound_protocol(*snapshot);
    Metrics metrics;
    Workers workers{std::max<std::size_t>(1, std::thread::hardware_concurrency())};
    std::optional<MessagesSettings> messages;
    if (!options.messages.empty()) {
        messages = read_messages_file(options.messages);
    }
    const auto guard = guard_of(options, messages, *snapshot, clock, log);
    Application application{Current<Snapshot>{snapshot},
                            clock,
                            metrics,
                            workers,
                            read_program_file(program_folder() / "docs" / "openapi.yaml"),
                            guard.get()};
    PackShelf packs{pack_key_of(options)};
    application.packs = &packs;
    application.link_base = options.link_base;
    application.page =
        std::make_shared<const PageFiles>(read_page_files(program_folder() / "page"));
    std::optional<Recording> recording;
    if (!options.journal.empty()) {
        recording.emplace(options.journal, messages, application, clock, log);
    }
    HttpServer server{settings_of(options, clock.now(), log), all_endpoints(application), metrics,
                      log, guard.get()};
    const int port = server.bind();
    log_start(options, *snapshot, guard.get(), port, log);
    tell_address(options, *snapshot, port, terminal.out);
    signals.watch(server, log);
    server.run();
    signals.end();
    log.event(Level::info, "stopped");
    return 0;
}

}  // namespace waybourne::server
