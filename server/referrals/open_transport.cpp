#include "server/referrals/open_transport.hpp"

#include <algorithm>

#include "server/json/referral.hpp"
#include "server/referrals/desk.hpp"

namespace waybourne::server {

namespace {

using dispatch::Hold;
using dispatch::Vehicle;
using referral::Journey;

/// She cannot go on in it.
bool strands_her(const Vehicle& vehicle) {
    return vehicle.busy &&
           (vehicle.busy->because == Hold::breakdown || vehicle.busy->because == Hold::no_fuel ||
            vehicle.busy->because == Hold::repair || vehicle.busy->because == Hold::taken);
}

/// What has been accepted for her, or told her vehicle, last.
std::vector<VehicleId> promised_to(const ReferralRecord& record) {
    const auto& assigned = record.life.vehicle;
    if (record.transport && !record.transport->vehicles.empty() &&
        (!assigned || record.transport->vehicles.front() == *assigned)) {
        return record.transport->vehicles;
    }
    return assigned ? std::vector{*assigned} : std::vector<VehicleId>{};
}

class Sorter {
public:
    Sorter(const Snapshot& snapshot, const VehicleReports& reports, Instant now)
        : snapshot_(snapshot), now_(now) {
        open_.vehicles = vehicles_now(snapshot, reports);
    }

    void add(const std::shared_ptr<const ReferralRecord>& record) {
        OpenWoman woman{record, assessment_of(*record, snapshot_, now_)};
        woman.vehicles = promised_to(*record);
        woman.planning = planning_of(*record, woman);
        if (record->opening) {
            woman.at = point_of(Desk::onward_request(*record, stranded_at(*record)).from);
        }
        open_.women.push_back(std::move(woman));
    }

    OpenTransport finish() && {
        const auto urgency = [](const OpenWoman& woman) {
            const auto deadline =
                woman.assessment ? woman.assessment->earliest_deadline : std::nullopt;
            return std::pair{deadline.value_or(Instant::max()), woman.record->code};
        };
        std::sort(open_.women.begin(), open_.women.end(), [&](const auto& one, const auto& other) {
            return urgency(one) < urgency(other);
        });
        for (const OpenWoman& woman : open_.women) {
            if (woman.planning == Planning::planned) {
                plan(woman);
            } else if (woman.planning == Planning::under_way) {
                hold_vehicles(woman);
            }
        }
        return std::move(open_);
    }

private:
    Planning planning_of(const ReferralRecord& record, OpenWoman& woman) const {
        const referral::Life& life = record.life;
        const auto nothing = [&](const char* why) {
            woman.why.push_back({why});
            return Planning::none;
        };
        if (life.is_there()) {
            return nothing("server.transport.she_is_there");
        }
        if (life.is_refused) {
            return nothing("server.transport.she_refuses");
        }
        if (!woman.assessment) {
            return nothing("server.transport.findings_not_kept");
        }
        if (life.journey >= Journey::with_the_woman && !life.goes_onward &&
            !stranding_vehicle(record)) {
            return Planning::under_way;
        }
        return woman.assessment->refer ? Planning::planned
                                       : nothing("server.transport.nothing_needed");
    }

    const Vehicle* find(const VehicleId& id) const {
        const auto found = std::find_if(open_.vehicles.begin(), open_.vehicles.end(),
                                        [&](const Vehicle& one) { return one.id == id; });
        return found == open_.vehicles.end() ? nullptr : &*found;
    }

    const Vehicle* stranding_vehicle(const ReferralRecord& record) const {
        const Vehicle* vehicle = record.life.vehicle ? find(*record.life.vehicle) : nullptr;
        return vehicle != nullptr && strands_her(*vehicle) ? vehicle : nullptr;
    }

    /// Where a vehicle that cannot go on was when it was last heard of, with her in it.
    std::optional<Place> stranded_at(const ReferralRecord& record) const {
        const auto departed = record.life.last(referral::EventKind::departed);
        const Vehicle* vehicle = stranding_vehicle(record);
        if (!departed || vehicle == nullptr || !vehicle->last_position ||
            vehicle->last_position->at < *departed) {
            return std::nullopt;
        }
        return Place{vehicle->last_position->point};
    }

    GeoPoint point_of(const Place& place) const {
        const auto* facility = std::get_if<FacilityId>(&place);
        return facility == nullptr ? std::get<GeoPoint>(place)
                                   : snapshot_.facilities.facility(*facility).point;
    }

    void plan(const OpenWoman& woman) {
        const ReferralRecord& record = *woman.record;
        const RecommendationRequest request = Desk::onward_request(record, stranded_at(record));
        dispatch::OpenReferral referral;
        referral.id = ReferralId{record.code};
        referral.assessment = *woman.assessment;
        referral.at = point_of(request.from);
        if (const auto* facility = std::get_if<FacilityId>(&request.from)) {
            referral.at_facility = *facility;
        }
        const bool has_left = record.life.journey >= Journey::departed;
        if (record.opening->has_own_transport && !has_left) {
            referral.own_transport = request.transport.means;
            if (const auto ready_in = record.opening->request.transport.ready_in) {
                const Instant ready = record.opening->opened_at + *ready_in;
                referral.own_ready_in = std::max(Seconds{0}, ready - now_);
            }
        }
        referral.can_phone = request.can_phone;
        referral.calls = request.calls;
        open_.referrals.push_back(std::move(referral));
        promise(woman);
    }

    void promise(const OpenWoman& woman) {
        const ReferralRecord& record = *woman.record;
        const bool is_own =
            record.transport && record.transport->vehicles.empty() && !record.transport->waits;
        if (!woman.vehicles.empty() || is_own) {
            open_.promises.push_back({ReferralId{record.code}, woman.vehicles, false});
        }
        if (record.life.journey == Journey::transport_sent) {
            for (Vehicle& vehicle : open_.vehicles) {
                if (vehicle.id == record.life.vehicle) {
                    vehicle.mobilisation = {};  // its wheels turn already
                }
            }
        }
    }

    /// Until she is handed over and the vehicle is ready again.
    void hold_vehicles(const OpenWoman& woman) {
        const auto expected = woman.record->expected_arrival();
        for (Vehicle& vehicle : open_.vehicles) {
            if (std::find(woman.vehicles.begin(), woman.vehicles.end(), vehicle.id) ==
                woman.vehicles.end()) {
                continue;
            }
            dispatch::Busy busy;
            if (expected) {
                busy.until = std::max(expected->allow, now_) + snapshot_.settings.handover +
                             vehicle.turnaround;
            }
            vehicle.busy = busy;
        }
    }

    const Snapshot& snapshot_;
    Instant now_;
    OpenTransport open_;
};

}  // namespace

OpenTransport open_transport(const Snapshot& snapshot,
                             std::span<const std::shared_ptr<const ReferralRecord>> live,
                             const VehicleReports& reports, Instant now) {
    Sorter sorter(snapshot, reports, now);
    for (const auto& record : live) {
        if (record->life.is_open() && record->life.journey < Journey::received) {
            sorter.add(record);
        }
    }
    return std::move(sorter).finish();
}

}  // namespace waybourne::server
