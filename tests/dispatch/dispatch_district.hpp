#pragma once
/// A drawn district with places of care and vehicles, to ask who carries her.

#include <map>
#include <memory>
#include <utility>

#include "dispatch/way.hpp"
#include "routing/boat_ways.hpp"
#include "routing/reference_router.hpp"
#include "routing/snap.hpp"
#include "tests/support/ascii_district.hpp"

namespace waybourne::dispatch {

using routing::Means;
using triage::Capability;
using triage::CapabilitySet;

/// Wednesday 4 March 2026, 10:00.
inline constexpr Instant ten{std::chrono::sys_days{std::chrono::year{2026} / 3 / 4} + 10h};

/// A need from ten o'clock on.
inline triage::Need critical_need(CapabilitySet any_of, Seconds within) {
    triage::Need need;
    need.any_of = any_of;
    need.critical = true;
    need.within = within;
    need.deadline = ten + within;
    return need;
}

/// Every letter may be a place of care; one column or row of the drawing is a minute, whatever
/// drives, unless other roads are given for some means or for the night.
class DrawnDistrict final : public DistrictRoads {
public:
    explicit DrawnDistrict(tests::AsciiDistrict drawn) : drawn_(std::move(drawn)) {
        choice.handover = 0min;
        settings.loading_at_facility = 0min;
        settings.loading_elsewhere = 0min;
    }

    DrawnDistrict& place(char letter, CapabilitySet gives) {
        facilities::Facility facility;
        facility.id = id_of(letter);
        facility.name = std::string{"Place "} + letter;
        facility.point = drawn_.point(letter);
        facility.kind = "clinic";
        facility.phones = {std::string{"+000-"} + letter};
        facility.time_zone = "Etc/UTC";
        facility.hours = facilities::OpeningHours{};
        facility.hours_confirmed_at = ten - 1h;
        for (const Capability capability : gives.members()) {
            facilities::Service service;
            service.capability = capability;
            facility.services.push_back(service);
            facilities::Report report;
            report.facility = facility.id;
            report.about = capability;
            report.at = ten - 1h;
            report.by = "clerk";
            report.is_ready = true;
            reports_.push_back(report);
        }
        letters_.emplace(facility.id, letter);
        made_.push_back(facility);
        return *this;
    }
    /// Other roads for these means; by day, or from the evening until dawn.
    DrawnDistrict& roads_for(Means means, const tests::AsciiDistrict& drawn) {
        of_means_.emplace(means, drawn);
        return *this;
    }
    DrawnDistrict& night(const tests::AsciiDistrict& drawn, Instant dawn) {
        night_.emplace(drawn);
        dawn_ = dawn;
        return *this;
    }

    /// Letters where boats land, and the minutes from one to another, there and back.
    DrawnDistrict& boat_way(char from, char to, std::chrono::minutes there,
                            std::chrono::minutes back,
                            std::optional<routing::Timetable> hours = std::nullopt) {
        routing::BoatWay way;
        way.from = landing(from);
        way.to = landing(to);
        way.there = there;
        way.back = back;
        way.hours = std::move(hours);
        boats_.ways.push_back(way);
        return *this;
    }

    static FacilityId id_of(char letter) {
        return FacilityId{std::string(1, static_cast<char>(std::tolower(letter)))};
    }
    static Vehicle vehicle(const std::string& id, char base, Means means = Means::car,
                           std::chrono::minutes mobilises = 0min) {
        Vehicle made;
        made.id = VehicleId{id};
        made.name = id;
        made.base = id_of(base);
        made.means = means;
        made.mobilisation.fill(mobilises);
        return made;
    }
    OpenReferral woman_at(char letter, std::vector<triage::Need> needs) const {
        OpenReferral referral;
        referral.id = ReferralId{"woman"};
        referral.assessment.assessed_at = ten;
        referral.assessment.needs = std::move(needs);
        referral.assessment.refer = true;
        referral.at = drawn_.point(letter);
        referral.at_facility = id_of(letter);
        return referral;
    }

    const facilities::FacilityRegister& register_of() {
        if (!register_) {
            register_ = facilities::FacilityRegister(made_).with(reports_);
        }
        return *register_;
    }
    DispatchSituation situation(Instant now = ten) {
        return {register_of(), *this, zone, choice, settings, now};
    }
    std::vector<Way> ask(const OpenReferral& referral, const std::vector<Vehicle>& vehicles,
                         Instant now = ten) {
        return compare_ways(situation(now), referral, vehicles);
    }

    RoadsOf roads(Means means, Instant departs) override {
        Engine& engine = engine_of(means, departs);
        return {engine.router.get(), goes_by_boat(means) ? nullptr : engine.metric, engine.snaps};
    }
    std::optional<routing::Snap> snap(const GeoPoint& point, Means means,
                                      Instant departs) override {
        for (const auto& [id, letter] : letters_) {
            if (great_circle_distance(drawn_.point(letter), point) < Metres{1}) {
                return goes_by_boat(means) ? boat_snap(point)
                                           : drawing(means, departs).snap(letter);
            }
        }
        return std::nullopt;
    }
    std::span<const routing::Landing> landings() override { return boats_.landings; }
    std::optional<Instant> dawn_after(Instant now) override {
        return dawn_ && now < *dawn_ ? dawn_ : std::nullopt;
    }

    referral::ChoiceSettings choice;
    DispatchSettings settings;
    TimeZone zone;

private:
    struct Engine {
        std::shared_ptr<const routing::Metric> metric;
        std::unique_ptr<routing::Router> router;
        std::vector<std::optional<routing::Snap>> snaps;
    };
    const tests::AsciiDistrict& drawing(Means means, Instant departs) const {
        if (dawn_ && departs < *dawn_) {
            return *night_;
        }
        const auto found = of_means_.find(means);
        return found == of_means_.end() ? drawn_ : found->second;
    }
    bool goes_by_boat(Means means) const {
        return means == Means::boat && !boats_.landings.empty();
    }
    std::size_t landing(char letter) {
        const routing::Landing landing{std::string(1, letter), drawn_.point(letter)};
        auto& known = boats_.landings;
        const auto found = std::find(known.begin(), known.end(), landing);
        if (found != known.end()) {
            return static_cast<std::size_t>(found - known.begin());
        }
        known.push_back(landing);
        return known.size() - 1;
    }
    /// On the ways of boats, at a landing alone: nobody walks to one here.
    std::optional<routing::Snap> boat_snap(const GeoPoint& point) {
        const Engine& engine = engine_of(Means::boat, ten);
        const routing::SnapIndex index(boat_network_);
        return index.snap(point, *engine.metric, {.limit = Metres{10}});
    }
    Engine& engine_of(Means means, Instant departs) {
        if (goes_by_boat(means)) {
            return boat_engine();
        }
        Engine& engine = engines_[{means, dawn_ && departs < *dawn_}];
        if (!engine.router) {
            const tests::AsciiDistrict& drawn = drawing(means, departs);
            engine.metric = drawn.metric();
            engine.router = std::make_unique<routing::ReferenceRouter>(engine.metric);
            for (const facilities::Facility& facility : register_of().facilities()) {
                engine.snaps.emplace_back(drawn.snap(letters_.at(facility.id)));
            }
        }
        return engine;
    }

    Engine& boat_engine() {
        if (boat_engine_.router) {
            return boat_engine_;
        }
        boat_network_ = std::make_shared<const routing::RoadNetwork>(routing::network_of(boats_));
        routing::SpeedRules rules;
        rules.means = Means::boat;
        rules.on_road = [](const routing::RoadAttributes&) {
            return routing::RoadSpeed{.kilometres_per_hour = 5, .spread = 0s};
        };
        rules.off_road = {.kilometres_per_hour = 5, .spread = 0s};
        boat_engine_.metric = std::make_shared<const routing::Metric>(boat_network_, rules);
        boat_engine_.router = std::make_unique<routing::ReferenceRouter>(boat_engine_.metric);
        for (const facilities::Facility& facility : register_of().facilities()) {
            boat_engine_.snaps.push_back(boat_snap(facility.point));
        }
        return boat_engine_;
    }

    tests::AsciiDistrict drawn_;
    routing::BoatWays boats_;
    std::shared_ptr<const routing::RoadNetwork> boat_network_;
    Engine boat_engine_;
    std::map<Means, tests::AsciiDistrict> of_means_;
    std::optional<tests::AsciiDistrict> night_;
    std::optional<Instant> dawn_;
    std::vector<facilities::Facility> made_;
    std::vector<facilities::Report> reports_;
    std::map<FacilityId, char> letters_;
    std::optional<facilities::FacilityRegister> register_;
    std::map<std::pair<Means, bool>, Engine> engines_;
};

inline bool mentions(const std::vector<Message>& messages, const std::string& id) {
    return std::any_of(messages.begin(), messages.end(),
                       [&](const Message& message) { return message.id == id; });
}

}  // namespace waybourne::dispatch
