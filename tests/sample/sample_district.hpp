#pragma once
/// The sample district as the stories need it: all rooms loaded from its files.

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "facilities/register.hpp"
#include "referral/recommend.hpp"
#include "routing/road_conditions.hpp"
#include "routing/road_network.hpp"
#include "routing/snap.hpp"
#include "routing/speed_table.hpp"
#include "triage/findings.hpp"
#include "triage/protocol.hpp"
#include "vocabulary/message.hpp"

namespace waybourne::sample {

/// One woman at one moment.
struct Case {
    std::string at_facility;
    Instant now{};
    routing::RoadConditions conditions;
    triage::Findings findings;
};

/// What the whole line answers.
struct LineAnswer {
    triage::Assessment assessment;
    referral::Recommendation recommendation;
};

class SampleDistrict {
public:
    SampleDistrict();

    /// Findings in, recommendation out: the roads under the case's conditions, the facilities as
    /// last heard of, all reports as old as they are at the sample's own moment.
    LineAnswer answer(const Case& woman) const;

    /// The travel time by car between two facilities, leaving at that moment.
    std::optional<routing::TravelTime> travel_time(const std::string& from, const std::string& to,
                                                   routing::RoadConditions conditions,
                                                   Instant at) const;

    /// The words of all reasons, joined.
    std::string words(const std::vector<Message>& messages) const;

    const routing::RoadNetwork& network() const { return *network_; }

private:
    facilities::FacilityRegister register_at(Instant moment) const;
    struct Ways;
    Ways ways(const facilities::FacilityRegister& places, routing::RoadConditions conditions) const;

    routing::SpeedTable speeds_;
    std::shared_ptr<const routing::RoadNetwork> network_;
    routing::SnapIndex index_;
    triage::Protocol protocol_;
    std::vector<facilities::Facility> facilities_;
    facilities::Holidays holidays_;
    std::vector<facilities::Report> reports_;
    Instant sample_now_{};
    Catalogue catalogue_;
};

}  // namespace waybourne::sample
