#pragma once
/// What the journal says, kept up to date and ready to be asked by many threads.

#include <atomic>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <optional>
#include <stop_token>
#include <string>
#include <thread>
#include <vector>

#include "journal/journal.hpp"
#include "server/current.hpp"
#include "server/referrals/recorded.hpp"
#include "server/snapshot.hpp"

namespace waybourne::server {

/// What a list is narrowed to; empty lets everything pass.
struct ReferralFilter {
    std::optional<FacilityId> facility = {};  ///< sends, is asked, or has her
    std::optional<referral::State> state = {};
    std::optional<bool> is_open = {};
};

/// Follows the journal: its own events at once, those of other servers as soon as they are noticed.
/// What changes places or roads is published as the next snapshot. Readers hold a lock only as long
/// as it takes to copy a few pointers. Safe from any thread.
class Records {
public:
    /// Loads the state of the whole journal and publishes what it says of the district.
    /// @param clock decides which road changes are in force
    Records(std::unique_ptr<journal::Journal> journal, Current<Snapshot>& snapshot,
            const Clock& clock);
    ~Records();
    Records(const Records&) = delete;
    Records& operator=(const Records&) = delete;

    /// Follows what other servers write, on a thread of its own, until this ends.
    void start_following();

    /// Stores and catches up: when it returns, everybody here sees it.
    /// @throws as `journal::Journal::append`
    journal::Appended append(const journal::Append& append);
    void catch_up();

    const journal::Journal& journal() const { return *journal_; }
    /// The district as its files alone have it.
    const Snapshot& base() const { return *base_; }
    journal::Sequence sequence() const;

    /// None when there is no such referral. A settled one is read from the journal.
    std::shared_ptr<const ReferralRecord> find(const std::string& code) const;
    std::optional<ReferralSummary> find_summary(const std::string& code) const;
    std::vector<std::shared_ptr<const ReferralRecord>> live() const;
    /// Newest first, those opened before `before`, at most `most` for which `is_wanted` holds.
    std::vector<ReferralSummary> page(
        journal::Sequence before, std::size_t most,
        const std::function<bool(const ReferralSummary&)>& is_wanted) const;
    std::optional<RoadNotice> find_notice(const std::string& id) const;
    std::vector<RoadNotice> notices() const;
    VehicleReports vehicle_reports() const;
    /// None when there is none with that id.
    std::optional<ShiftHandover> find_handover(const std::string& id) const;
    /// The newest first, at most `most` of one world.
    std::vector<ShiftHandover> handovers(bool is_practice, std::size_t most) const;
    /// Subjects that retention must leave alone.
    std::vector<std::string> held_subjects() const;

    /// Waits until there is something after `seen`, or the time is over.
    journal::Sequence wait_beyond(journal::Sequence seen, std::chrono::milliseconds at_most) const;
    /// The steps after `seen`, in order; from the journal where they are no longer at hand.
    std::vector<Step> steps_after(journal::Sequence seen, std::size_t most) const;

private:
    void publish_district();
    void follow(const std::stop_token& stop);
    void save_now_and_then();

    std::unique_ptr<journal::Journal> journal_;
    Current<Snapshot>& snapshot_;
    const Clock& clock_;
    /// The snapshot as the district's files made it.
    std::shared_ptr<const Snapshot> base_;

    mutable std::mutex mutex_;
    mutable std::condition_variable changed_;
    journal::Folded<Recorded> folded_;
    std::int64_t published_ = 0;  ///< district version
    std::map<std::string, RoadNotice> published_notices_;
    std::set<std::string> published_lifted_;
    journal::Sequence saved_ = 0;
    std::jthread follower_;
};

/// Runs `work` again while somebody else was quicker, each time with what they wrote.
/// @throws journal::VersionConflict after sixteen times: then something is wrong
template <typename Work>
auto until_nobody_interferes(Records& records, const Work& work) {
    constexpr int most_attempts = 16;
    for (int attempt = 1;; ++attempt) {
        try {
            return work();
        } catch (const journal::VersionConflict&) {
            if (attempt == most_attempts) {
                throw;
            }
            records.catch_up();
        }
    }
}

}  // namespace waybourne::server
