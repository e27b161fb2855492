#include "server/referrals/watch_deadlines.hpp"

#include <algorithm>

#include "server/referrals/desk.hpp"
#include "server/referrals/raise_alert.hpp"
#include "server/referrals/standing_alerts.hpp"
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

using referral::Journey;

/// What carries her now, and what takes her over on the way.
std::vector<VehicleId> vehicles_of(const referral::Life& life) {
    std::vector<VehicleId> vehicles;
    for (const auto& vehicle : {life.vehicle, life.second_vehicle}) {
        if (vehicle && std::find(vehicles.begin(), vehicles.end(), *vehicle) == vehicles.end()) {
            vehicles.push_back(*vehicle);
        }
    }
    return vehicles;
}

/// Whether a stretch before the last one is still to be driven, as far as it is known.
bool lies_ahead(const ReferralRecord& record, const dispatch::Stretch& stretch) {
    const referral::Life& life = record.life;
    const auto vehicles = vehicles_of(life);
    const bool is_hers = !stretch.vehicle || std::find(vehicles.begin(), vehicles.end(),
                                                       *stretch.vehicle) != vehicles.end();
    if (!is_hers) {
        return false;
    }
    if (life.goes_onward && !stretch.leads_to_meeting) {
        return true;  // until she has left for the next place
    }
    const bool is_taken_over = stretch.leads_to_meeting || record.transport->fetch_at;
    return is_taken_over ? life.takeover && *life.takeover < Journey::with_the_woman
                         : life.journey < Journey::with_the_woman;
}

/// The planned ways that a road change could lie on.
struct LineAhead {
    const std::vector<GeoPoint>* line;
    routing::Means means;
    Instant planned_at;
};

std::vector<LineAhead> lines_ahead(const ReferralRecord& record) {
    std::vector<LineAhead> lines;
    if (record.way) {
        lines.push_back({&record.way->line, record.way->means, record.way->planned_at});
    }
    if (record.transport) {
        for (const dispatch::Stretch& stretch : record.transport->before) {
            if (lies_ahead(record, stretch)) {
                lines.push_back({&stretch.line, stretch.means, record.transport->accepted_at});
            }
        }
    }
    return lines;
}

/// Road changes, said after the way was planned, that lie on it or on what is driven before. None
/// once she is there.
std::vector<std::string> hits(const ReferralRecord& record, NoticedRoads& roads, Instant now) {
    std::vector<std::string> ids;
    if (!record.life.is_open() || record.life.is_there()) {
        return ids;
    }
    const auto lines = lines_ahead(record);
    for (std::size_t i = 0; i < roads.notices().size(); ++i) {
        const RoadNotice& notice = roads.notices()[i];
        const std::string id = "way-" + notice.change.id;
        if (!notice.change.period.contains(now) || record.life.alerts.count(id) > 0) {
            continue;
        }
        const bool is_hit = std::any_of(lines.begin(), lines.end(), [&](const LineAhead& ahead) {
            return notice.at >= ahead.planned_at && notice.change.means.has(ahead.means) &&
                   runs_along(*ahead.line, roads.network(), roads.pieces(i));
        });
        if (is_hit) {
            ids.push_back(id);
        }
    }
    return ids;
}

/// When she was given the vehicle last; none: nobody said it.
std::optional<Instant> given_at(const referral::Life& life, const VehicleId& vehicle) {
    std::optional<Instant> at;
    for (const referral::Event& event : life.events) {
        const bool is_given = event.kind == referral::EventKind::vehicle_assigned &&
                              (event.vehicle == vehicle || event.takes_over == vehicle);
        if (is_given) {
            at = event.recorded_at;
        }
    }
    return at;
}

/// Whether what was said of her vehicle speaks against its coming or going on: not that it is on a
/// trip, which may be hers, nor what ends by itself and was known when it was given to her.
bool hinders(const dispatch::VehicleState& state, const std::optional<Instant>& given,
             Instant now) {
    if (!state.hold || *state.hold == dispatch::Hold::mission) {
        return false;
    }
    return !state.until || (*state.until > now && (!given || state.said_at >= *given));
}

/// Vehicles of hers that are held, by the alerts about it. None once she is there.
std::vector<std::string> held(const ReferralRecord& record, const VehicleReports& reports,
                              Instant now) {
    std::vector<std::string> ids;
    if (!record.life.is_open() || record.life.is_there()) {
        return ids;
    }
    for (const VehicleId& vehicle : vehicles_of(record.life)) {
        const auto report = reports.find(vehicle);
        if (report == reports.end() || !report->second.state ||
            !hinders(*report->second.state, given_at(record.life, vehicle), now)) {
            continue;
        }
        std::string id = held_alert(vehicle, report->second.state->said_at);
        if (record.life.alerts.count(id) == 0) {
            ids.push_back(std::move(id));
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

std::size_t DeadlineWatch::look_at(const ReferralRecord& first, NoticedRoads& roads,
                                   const VehicleReports& reports, Instant now) {
    std::size_t raised = 0;
    std::vector<referral::Event> due;
    for (const referral::Alert& alert : referral::alerts(first.life, first.watch_times(), now)) {
        if (alert.is_new) {
            due.push_back(referral::raising(alert));
        }
    }
    std::vector<std::string> ids = hits(first, roads, now);
    for (std::string& id : held(first, reports, now)) {
        ids.push_back(std::move(id));
    }
    for (const std::string& id : ids) {
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
    const VehicleReports reports = records_.vehicle_reports();
    std::size_t raised = 0;
    for (const auto& record : records_.live()) {
        raised += look_at(*record, roads, reports, now);
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
