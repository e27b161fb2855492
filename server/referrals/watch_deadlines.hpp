#pragma once
/// The thread that watches over deadlines: each overdue step, each way that a road change has hit,
/// and each report that holds a woman's vehicle raises one alert.

#include <condition_variable>
#include <mutex>
#include <thread>

#include "server/log.hpp"
#include "server/referrals/records.hpp"

namespace waybourne::server {

class NoticedRoads;

/// Alerts are events of the journal under keys of their own, so that each is raised once: also by
/// two servers at once and after a restart.
class DeadlineWatch {
public:
    DeadlineWatch(Records& records, const Current<Snapshot>& snapshot, const Clock& clock, Log& log)
        : records_(records), snapshot_(snapshot), clock_(clock), log_(log) {}
    ~DeadlineWatch();
    DeadlineWatch(const DeadlineWatch&) = delete;
    DeadlineWatch& operator=(const DeadlineWatch&) = delete;

    /// Looks once at everything that is open. Safe from any thread.
    /// @return how many alerts were raised
    std::size_t look();
    /// Looks every `period` on a thread of its own.
    void start(std::chrono::milliseconds period);
    /// The thread looks at once: the roads have changed, or a vehicle was reported.
    void hurry();

private:
    std::size_t look_at(const ReferralRecord& record, NoticedRoads& roads,
                        const VehicleReports& reports, Instant now);
    void run(const std::stop_token& stop, std::chrono::milliseconds period);

    Records& records_;
    const Current<Snapshot>& snapshot_;
    const Clock& clock_;
    Log& log_;
    std::mutex mutex_;
    std::condition_variable_any woken_;
    bool is_hurried_ = false;
    std::jthread thread_;
};

}  // namespace waybourne::server
