#pragma once
/// Gets text messages to people: queues what is due, tries the gateway until it takes them, and
/// tells people what did not arrive.
///
/// Everything stands in the journal before it is done: an attempt is written down, then made. So a
/// restart goes on where it was, and of two servers on one journal only one makes each attempt. A
/// server that ends in the middle of an attempt leaves it open: it is made again a minute later,
/// under the same id, by which the gateway knows what it has taken already.

#include <condition_variable>
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <set>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include "server/log.hpp"
#include "server/messages/gateway.hpp"
#include "server/messages/outgoing_message.hpp"
#include "server/referrals/records.hpp"
#include "server/security/keys.hpp"

namespace waybourne::server {

/// Safe from any thread.
class Outbox {
public:
    using KeysNow = std::function<std::shared_ptr<const Keys>()>;

    Outbox(Records& records, const Current<Snapshot>& snapshot, KeysNow keys,
           MessageSender& gateway, const Clock& clock, Log& log, SendingSettings settings);
    ~Outbox();
    Outbox(const Outbox&) = delete;
    Outbox& operator=(const Outbox&) = delete;

    /// Queues and attempts everything that is due now, on this thread.
    /// @return how many attempts were made
    std::size_t work();
    /// Does so from now on, on threads of its own: a gateway that is slow with one message keeps
    /// only one of the `senders` waiting.
    void start(std::size_t senders);

    /// What the gateway says became of a message; saying it twice changes nothing.
    /// @param trouble in a word, when it did not arrive
    /// @throws NotFound for an id that is none of ours; as `Records::append`
    OutgoingMessage take_receipt(const std::string& id, bool has_arrived,
                                 const std::string& trouble);

    /// Of open cases, by state.
    std::map<MessageState, std::size_t> counts() const;

private:
    using Due = std::pair<std::string, std::string>;  ///< code, message

    std::vector<Due> plan();
    void queue_due(const ReferralRecord& record, const Keys& keys, Instant now);
    void queue_alerts(const ReferralRecord& record, const Keys& keys, Instant now);
    void queue(const std::string& code,
               const std::function<std::vector<OutgoingMessage>()>& written);
    void alert_and_give_up(const ReferralRecord& record, Instant now);
    bool attempt(const Due& due);
    /// Writes down that an attempt begins; none when there is nothing to attempt any more.
    std::optional<OutgoingMessage> claim(const Due& due);
    Taken hand_over(const OutgoingMessage& message);
    void store(const std::string& code, MessageWhat what, const std::string& id,
               const std::string& trouble = {});
    /// That it has not arrived; none about `alert`.
    void alert_about(const std::string& code, const OutgoingMessage& message);
    /// @param key the alert's own id
    void alert(const std::string& code, const std::string& key);
    bool takes_from_hourly_limit(Instant now);
    void run_planner(const std::stop_token& stop);
    void run_sender(const std::stop_token& stop);

    Records& records_;
    const Current<Snapshot>& snapshot_;
    KeysNow keys_;
    MessageSender& gateway_;
    const Clock& clock_;
    Log& log_;
    SendingSettings settings_;
    /// What was written after this is news, however old it says it is.
    journal::Sequence began_at_;

    /// Used by one `plan` at a time.
    std::mutex planning_;
    std::map<std::string, journal::Sequence> planned_;  ///< version that was looked at
    std::shared_ptr<const Keys> planned_with_;

    std::mutex mutex_;
    std::condition_variable_any changed_;
    std::deque<Due> due_;
    std::set<Due> in_hand_;  ///< in `due_`, or being attempted
    std::deque<Instant> handed_over_;
    std::vector<std::jthread> threads_;
};

}  // namespace waybourne::server
