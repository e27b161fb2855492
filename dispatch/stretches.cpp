#include "dispatch/internal/stretches.hpp"

#include <algorithm>

#include "dispatch/internal/ways.hpp"

namespace waybourne::dispatch {

namespace {

/// Gathers one woman's.
class Gathering {
public:
    Gathering(const DispatchSituation& situation, const PlanRequest& request)
        : situation_(situation), request_(request) {}

    std::vector<Stretch> run(const Carried& carried) {
        const Way& way = carried.way;
        if (!way.is_possible()) {
            return {};
        }
        const bool changes_vehicles = way.kind == WayKind::rendezvous;
        constexpr std::size_t two = 2;
        const bool is_fetched =
            !way.vehicles.empty() && (!changes_vehicles || way.vehicles.size() == two);
        if (is_fetched) {
            fetch(vehicle(way.vehicles.front()), fetched_until(carried));
        }
        if (changes_vehicles && way.meeting) {
            meet(referral(carried.referral), way);
        }
        return std::move(stretches_);
    }

private:
    const OpenReferral& referral(const ReferralId& id) const {
        return *std::find_if(request_.referrals.begin(), request_.referrals.end(),
                             [&](const OpenReferral& one) { return one.id == id; });
    }
    const Vehicle& vehicle(const VehicleId& id) const {
        return *std::find_if(request_.vehicles.begin(), request_.vehicles.end(),
                             [&](const Vehicle& one) { return one.id == id; });
    }
    /// Those whom her vehicle fetches, up to and with her.
    static std::vector<ReferralId> fetched_until(const Carried& carried) {
        const auto her = std::find(carried.tour.begin(), carried.tour.end(), carried.referral);
        if (her == carried.tour.end()) {
            return {carried.referral};
        }
        return {carried.tour.begin(), her + 1};
    }
    /// Adds the way between the two and gives the moment of arrival, by `allow`.
    Instant drive(Stretch stretch, const std::optional<routing::Snap>& from,
                  const std::optional<routing::Snap>& to, Instant departs) {
        if (!from || !to || stretch.means == routing::Means::boat) {
            return departs;
        }
        const auto route =
            situation_.roads.roads(stretch.means, departs).router->route({*from, departs}, *to);
        if (!route) {
            return departs;
        }
        stretch.line = route->line();
        stretches_.push_back(std::move(stretch));
        return departs + route->travel_time.allow;
    }
    void fetch(const Vehicle& one, const std::vector<ReferralId>& stops) {
        const auto approach =
            approach_of(situation_, referral(stops.front()), one, situation_.now).approach;
        if (!approach) {
            return;
        }
        std::optional<routing::Snap> here = approach->from;
        Instant at = approach->sets_out;
        for (const ReferralId& stop : stops) {
            const OpenReferral& next = referral(stop);
            const auto there = her_place(situation_, next, one.means, at);
            const bool stands_there = stop == stops.front() && is_at(situation_, one, next);
            if (!stands_there) {
                at = drive({one.id, one.means}, here, there, at);
            }
            at += loading_of(situation_, next);
            here = there;
        }
    }
    void meet(const OpenReferral& her, const Way& way) {
        const Vehicle& second = vehicle(way.vehicles.back());
        const GeoPoint& point = way.meeting->point;
        const auto place = [&](routing::Means means, Instant at) {
            return situation_.roads.snap(point, means, at);
        };
        const bool is_own = way.vehicles.size() == 1;
        const Instant leaves = way.with_her ? way.with_her->allow : situation_.now;
        Stretch with_first{std::nullopt, routing::Means::car, true};
        if (is_own) {
            with_first.means = *her.own_transport;
        } else {
            with_first.vehicle = way.vehicles.front();
            with_first.means = vehicle(way.vehicles.front()).means;
        }
        drive(with_first, her_place(situation_, her, with_first.means, leaves),
              place(with_first.means, leaves), leaves);
        const Availability free =
            availability(second, situation_.zone, situation_.now, situation_.settings.vehicles);
        const Instant sets_out =
            sets_out_at(situation_, second, free.from.value_or(situation_.now));
        std::vector<Message> unused;
        drive({second.id, second.means, true}, place_of(situation_, second, sets_out, unused),
              place(second.means, sets_out), sets_out);
    }

    const DispatchSituation& situation_;
    const PlanRequest& request_;
    std::vector<Stretch> stretches_;
};

}  // namespace

std::vector<Stretch> stretches_before(const DispatchSituation& situation,
                                      const PlanRequest& request, const Carried& carried) {
    return Gathering(situation, request).run(carried);
}

}  // namespace waybourne::dispatch
