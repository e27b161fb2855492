#pragma once
/// A handful of places with ways of so many minutes, to ask where she is sent.

#include <map>
#include <string>

#include "referral/recommend.hpp"
#include "tests/support/fake_router.hpp"

namespace waybourne::referral {

using triage::Capability;
using triage::CapabilitySet;

/// It is 10:00 on a Wednesday.
inline constexpr Instant ten{std::chrono::sys_days{std::chrono::year{2026} / 3 / 4} + 10h};

/// A need from ten o'clock on.
inline triage::Need need(CapabilitySet any_of, std::optional<Seconds> within,
                         bool critical = false) {
    triage::Need wanted;
    wanted.any_of = any_of;
    wanted.critical = critical;
    wanted.within = within;
    if (within) {
        wanted.deadline = ten + *within;
    }
    return wanted;
}
inline triage::Need critical(CapabilitySet any_of, Seconds within) {
    return need(any_of, within, true);
}

inline triage::Assessment assessment_of(std::vector<triage::Need> needs) {
    triage::Assessment assessment;
    assessment.assessed_at = ten;
    assessment.needs = std::move(needs);
    assessment.refer = true;
    return assessment;
}

inline std::vector<std::string> places_of(const Choice& choice) {
    std::vector<std::string> places;
    for (const Stage& stage : choice.stages) {
        places.push_back(stage.facility.value());
    }
    return places;
}

/// Every place is open day and night, its hours confirmed an hour ago. She leaves at once and
/// nothing takes time but the way, unless a test says so: figures stay easy to follow.
class SmallDistrict {
public:
    SmallDistrict() {
        settings.handover = 0min;
        start.from = routing::Snap{start_point(), {}};
        start.ready_in = 0min;
    }

    /// A place that gives this care, confirmed an hour ago.
    SmallDistrict& place(const std::string& id, CapabilitySet gives) {
        add(id, gives);
        for (const Capability capability : gives.members()) {
            hear(id, capability, true, ten - 1h);
        }
        return *this;
    }
    /// A place that says it gives this care, but nobody heard from it.
    SmallDistrict& unheard(const std::string& id, CapabilitySet gives) {
        add(id, gives);
        return *this;
    }
    SmallDistrict& hear(const std::string& id, Capability capability, bool ready, Instant at,
                        std::optional<Instant> until = std::nullopt) {
        facilities::Report report;
        report.facility = FacilityId{id};
        report.about = capability;
        report.at = at;
        report.by = "clerk";
        report.is_ready = ready;
        report.until = until;
        reports.push_back(report);
        return *this;
    }
    facilities::Service& service(const std::string& id, Capability capability) {
        for (facilities::Service& service : facility(id).services) {
            if (service.capability == capability) {
                return service;
            }
        }
        throw NotFound(id);
    }
    facilities::Facility& facility(const std::string& id) { return made.at(FacilityId{id}); }

    /// Typical and allowed minutes from where she is.
    SmallDistrict& way(const std::string& to, Seconds typical, Seconds allow) {
        router.set_way(start_point(), facility(to).point, {typical, allow, 0s, Metres{1000}});
        return *this;
    }
    /// The same where nothing is unsure.
    SmallDistrict& way(const std::string& to, Seconds takes) { return way(to, takes, takes); }
    SmallDistrict& onward(const std::string& from, const std::string& to, Seconds takes) {
        router.set_way(facility(from).point, facility(to).point, {takes, takes, 0s, Metres{1000}});
        return *this;
    }

    facilities::FacilityRegister facilities() const {
        std::vector<facilities::Facility> all;
        for (const auto& [id, facility] : made) {
            all.push_back(facility);
        }
        return facilities::FacilityRegister(all).with(reports);
    }
    std::vector<std::optional<routing::Snap>> snaps() const {
        std::vector<std::optional<routing::Snap>> all;
        for (const auto& [id, facility] : made) {
            all.push_back(off_the_map == id ? std::nullopt
                                            : std::optional{routing::Snap{facility.point, {}}});
        }
        return all;
    }
    Recommendation ask(const triage::Assessment& assessment) {
        const auto all = facilities();
        const auto points = snaps();
        return recommend(assessment, all, points, router, start, settings, ten);
    }
    Recommendation ask(std::vector<triage::Need> needs) {
        return ask(assessment_of(std::move(needs)));
    }

    ChoiceSettings settings;
    Start start;
    FakeRouter router;
    std::map<FacilityId, facilities::Facility> made;
    std::vector<facilities::Report> reports;
    std::optional<FacilityId> off_the_map;

private:
    static GeoPoint start_point() { return {Latitude{0}, Longitude{0}}; }
    void add(const std::string& id, CapabilitySet gives) {
        facilities::Facility facility;
        facility.id = FacilityId{id};
        facility.name = "Place " + id;
        facility.point = {Latitude{0}, Longitude{0.01 * static_cast<double>(made.size() + 1)}};
        facility.kind = "clinic";
        facility.phones = {"+000-" + id};
        facility.time_zone = "Etc/UTC";
        facility.hours = facilities::OpeningHours{};
        facility.hours_confirmed_at = ten - 1h;
        for (const Capability capability : gives.members()) {
            facilities::Service service;
            service.capability = capability;
            facility.services.push_back(service);
        }
        made.emplace(facility.id, facility);
    }
};

/// The reasons against a place, by the ids of their texts; empty when it is not listed.
inline std::vector<std::string> reasons_against(const Recommendation& answer,
                                                const std::string& place) {
    std::vector<std::string> ids;
    for (const PassedOver& passed : answer.passed_over) {
        if (passed.facility.value() == place) {
            for (const Message& reason : passed.reasons) {
                ids.push_back(reason.id);
            }
        }
    }
    return ids;
}

inline bool mentions(const std::vector<Message>& messages, const std::string& id) {
    return std::any_of(messages.begin(), messages.end(),
                       [&](const Message& message) { return message.id == id; });
}

}  // namespace waybourne::referral
