#include "server/referrals/watch_deadlines.hpp"

#include <algorithm>

#include "server/referrals/desk.hpp"
#include "server/referrals/raise_alert.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

/// All notices of one look, and which roads each means, looked up once and only when it matters.
class NoticedRoads {
public:
    NoticedRoads(const routing::RoadNetwork& network, std::vector<RoadNotice> notices)
        : network_(network), notices_(std::move(notices)), pieces_(notices_.size()) {}

    const routing::RoadNetwork& network() const { return network_; }
    const std::vector<RoadNotice>& notices() const { return notices_; }
    const std::vector<routing::PieceId>& pieces(std::size_t notice) {
        auto& known = pieces_[notice];
        if (!known) {
            known = routing::pieces_at(network_, notices_[notice].change.where);
        }
        return *known;
    }

private:
    const routing::RoadNetwork& network_;
    std::vector<RoadNotice> notices_;
    std::vector<std::optional<std::vector<routing::PieceId>>> pieces_;
};

namespace {

/// Road changes, said after the way was planned, that lie on it. None once she is there.
std::vector<std::string> hits(const ReferralRecord& record, NoticedRoads& roads, Instant now) {
    std::vector<std::string> ids;
    if (!record.way || !record.life.is_open() || record.life.is_there()) {
        return ids;
    }
    for (std::size_t i = 0; i < roads.notices().size(); ++i) {
        const RoadNotice& notice = roads.notices()[i];
        const bool is_news = notice.at >= record.way->planned_at &&
                             notice.change.period.contains(now) &&
                             notice.change.means.has(record.way->means);
        const std::string id = "way-" + notice.change.id;
        if (is_news && record.life.alerts.count(id) == 0 &&
            runs_along(record.way->line, roads.network(), roads.pieces(i))) {
            ids.push_back(id);
        }
    }
    return ids;
}

}  // namespace

DeadlineWatch::~DeadlineWatch() {
    if (thread_.joinable()) {
        thread_.request_stop();
        thread_.join();
    }
}

std::size_t DeadlineWatch::look_at(const ReferralRecord& first, NoticedRoads& roads, Instant now) {
    std::size_t raised = 0;
    std::vector<referral::Event> due;
    for (const referral::Alert& alert : referral::alerts(first.life, first.watch_times(), now)) {
        if (alert.is_new) {
            due.push_back(referral::raising(alert));
        }
    }
    for (const std::string& id : hits(first, roads, now)) {
        due.push_back(event_of_service(id, referral::EventKind::alert_raised, now));
        due.back().alert = id;
    }
    const auto lost = referral::contact_lost_at(first.life, first.watch_times());
    if (lost && *lost <= now) {
        due.push_back(event_of_service("lost", referral::EventKind::lost_contact, now));
    }
    for (referral::Event& event : due) {
        const auto record = records_.find(first.code);  // each alert is a new version
        std::string key = event.id.value();
        if (event.kind == referral::EventKind::lost_contact) {
            // Once for each time by which she should have been heard of; the id grows, so that
            // who hears of her in the same second has the last word.
            key += "-" + std::to_string(lost->time_since_epoch().count());
            event.id = new_event_id(records_.sequence());
        }
        if (record && raise(records_, *record, key, std::move(event))) {
            ++raised;
        }
    }
    return raised;
}

std::size_t DeadlineWatch::look() {
    const Instant now = clock_.now();
    const auto snapshot = snapshot_.get();
    NoticedRoads roads{snapshot->roads->network(), records_.notices()};
    std::size_t raised = 0;
    for (const auto& record : records_.live()) {
        raised += look_at(*record, roads, now);
    }
    return raised;
}

void DeadlineWatch::start(std::chrono::milliseconds period) {
    thread_ = std::jthread{[this, period](const std::stop_token& stop) { run(stop, period); }};
}

void DeadlineWatch::hurry() {
    {
        const std::lock_guard lock{mutex_};
        is_hurried_ = true;
    }
    woken_.notify_all();
}

void DeadlineWatch::run(const std::stop_token& stop, std::chrono::milliseconds period) {
    while (!stop.stop_requested()) {
        try {
            if (const std::size_t raised = look(); raised > 0) {
                log_.event(Level::info, "alerts_raised", {{"count", std::to_string(raised)}});
            }
        } catch (const Unavailable&) {
            log_.event(Level::warning, "watch_waits", {{"reason", "the journal is not available"}});
        }
        std::unique_lock lock{mutex_};
        woken_.wait_for(lock, stop, period, [this] { return std::exchange(is_hurried_, false); });
    }
}

}  // namespace waybourne::server
