#include "journal/internal/postgres_listener.hpp"

#include <condition_variable>

namespace waybourne::journal::internal {

namespace {

// How long a stop is waited for at most, and a pause before a new connection.
constexpr std::chrono::milliseconds moment{100};

class Receiver final : public pqxx::notification_receiver {
public:
    Receiver(pqxx::connection& connection, const std::string& channel,
             const std::function<void(Sequence)>& tell)
        : notification_receiver(connection, channel), tell_(tell) {}
    void operator()(const std::string& payload, int /*backend*/) override {
        tell_(std::strtoll(payload.c_str(), nullptr, 10));
    }

private:
    const std::function<void(Sequence)>& tell_;
};

}  // namespace

void PostgresListener::start() {
    std::call_once(started_, [this] {
        thread_ = std::jthread{[this](const std::stop_token& stop) {
            while (!stop.stop_requested()) {
                try {
                    with_our_errors(address_, [&] { listen(stop); });
                } catch (const Unavailable&) {
                    std::mutex mutex;
                    std::condition_variable_any never;
                    std::unique_lock lock{mutex};
                    never.wait_for(lock, stop, moment, [] { return false; });
                }
            }
        }};
    });
}

void PostgresListener::listen(const std::stop_token& stop) {
    const auto connection = connect(address_);
    std::string channel;
    {
        pqxx::nontransaction work{*connection};
        channel = work.exec1("SELECT 'waybourne_journal_' || 'journal_head'::regclass::oid")[0]
                      .as<std::string>();
    }
    const Receiver receiver{*connection, channel, tell_};
    {
        pqxx::nontransaction work{*connection};
        tell_(head_of(work).sequence);  // what came before we listened
    }
    while (!stop.stop_requested()) {
        connection->await_notification(
            0, std::chrono::duration_cast<std::chrono::microseconds>(moment).count());
    }
}

}  // namespace waybourne::journal::internal
