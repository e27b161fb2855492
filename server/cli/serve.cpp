#include <malloc.h>
#include <pthread.h>

#include <algorithm>
#include <csignal>
#include <ostream>
#include <thread>

#include "server/application.hpp"
#include "server/cli/commands.hpp"
#include "server/clock.hpp"
#include "server/http/server.hpp"
#include "server/load_district.hpp"
#include "server/log.hpp"
#include "server/program_files.hpp"
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

void refuse_remote_without_keys(const ServeOptions& options) {
    if (!is_loopback(options.host) && !options.allow_remote_without_keys) {
        throw InputError("--host " + options.host +
                         " can be reached from other machines and nobody needs a key yet: use "
                         "127.0.0.1, or say --allow-remote-without-keys");
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

}  // namespace

int run_serve(const ServeOptions& options, Terminal& terminal) {
    refuse_remote_without_keys(options);
    StopSignals signals;
    Log log;
    const ClockFrom clock{moment_of(options.common)};
    auto snapshot = snapshot_of(options.common, clock.now());
    refuse_unsound_protocol(*snapshot);
    malloc_trim(0);  // what loading needed and serving does not
    Metrics metrics;
    Workers workers{std::max<std::size_t>(1, std::thread::hardware_concurrency())};
    Application application{Current<Snapshot>{snapshot}, clock, metrics, workers,
                            read_program_file(program_folder() / "docs" / "openapi.yaml")};
    HttpSettings settings;
    settings.host = options.host;
    settings.port = options.port;
    HttpServer server{settings, all_endpoints(application), metrics, log};
    const int port = server.bind();
    const bool is_local = is_loopback(options.host);
    log.event(Level::info, "serving",
              {{"address", "http://" + options.host + ":" + std::to_string(port)},
               {"district", snapshot->district.name},
               {"facilities", std::to_string(snapshot->facilities.facilities().size())},
               {"protocol", snapshot->protocol.id + " " + snapshot->protocol.version},
               {"approved", snapshot->protocol.approved_by ? "yes" : "no"},
               {"engine", to_name(snapshot->roads->engine())},
               {"keys", "none"}});
    terminal.out << "Serving " << snapshot->district.name << " on http://" << options.host << ':'
                 << port
                 << (is_local ? ", this machine only, without a key.\n"
                              : ", to EVERY machine that reaches it, without a key.\n")
                 << std::flush;
    if (!is_local) {
        log.event(Level::warning, "remote_without_keys", {{"host", options.host}});
    }
    signals.watch(server, log);
    server.run();
    signals.end();
    log.event(Level::info, "stopped");
    return 0;
}

}  // namespace waybourne::server
