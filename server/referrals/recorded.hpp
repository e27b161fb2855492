#pragma once
/// All that the journal says now: referrals, reports, roads and vehicles, as one fold.

#include <deque>
#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "facilities/report.hpp"
#include "journal/fold.hpp"
#include "server/referrals/record.hpp"
#include "server/referrals/road_notice.hpp"
#include "server/referrals/shift_handover.hpp"
#include "server/vehicles.hpp"

namespace waybourne::server {

/// What is kept of every referral, also of those that are settled: enough to list it and to judge
/// who may see it. Nothing about the woman.
struct ReferralSummary {
    std::string code;
    journal::Sequence opened_sequence = 0;
    journal::Sequence version = 0;
    Instant opened_at{};
    FacilityId sender;
    std::optional<FacilityId> asked = {};
    std::optional<FacilityId> at = {};
    std::optional<VehicleId> vehicle = {};
    /// Takes her over on the way.
    std::optional<VehicleId> second_vehicle = {};
    referral::State state{};
    bool is_open = true;
    bool is_practice = false;
    bool is_held = false;
    bool operator==(const ReferralSummary&) const = default;
};

/// One step of the journal, for those who follow.
struct Step {
    journal::Sequence sequence = 0;
    std::string kind;
    std::string subject;
    Instant at{};
};

/// The state of the fold. Settled referrals are kept as summaries alone and read from the journal
/// when somebody asks, so that memory grows with what is open.
struct Recorded {
    std::map<std::string, ReferralSummary> summaries;
    std::map<journal::Sequence, std::string> by_opening;
    std::map<std::string, std::shared_ptr<const ReferralRecord>> live;
    /// Known to be open, or changed after they were settled, and to be read from the journal.
    std::set<std::string> unread;

    /// The newest report about each subject.
    std::map<std::pair<FacilityId, std::string>, facilities::Report> reports;
    std::map<std::string, RoadNotice> notices;
    /// Changes of the district's own files that somebody has ended.
    std::set<std::string> lifted;
    /// Counts the changes to the three above.
    std::int64_t district_version = 0;

    VehicleReports vehicles;
    /// Every shift handover, by its id: who signed, who acknowledged.
    std::map<std::string, ShiftHandover> handovers;

    /// The newest steps, oldest first.
    std::deque<Step> recent;
};

inline constexpr std::size_t most_recent_steps = 10'000;

inline constexpr const char* reported_kind = "facility.reported";
inline constexpr const char* noticed_kind = "road.noticed";
inline constexpr const char* lifted_kind = "road.lifted";
inline constexpr const char* vehicle_reported_kind = "vehicle.reported";
/// Says nothing by itself: so that of two who accept the same vehicle at once one is told.
inline constexpr const char* vehicle_promised_kind = "vehicle.promised";

std::string subject_of(const FacilityId& facility);
/// `vehicle/ID`
std::string subject_of(const VehicleId& vehicle);
/// The vehicle of such a subject; none for others.
std::optional<VehicleId> vehicle_in(const std::string& subject);
/// `road/ID`
std::string road_subject(const std::string& id);

/// Whether it is about places or roads.
bool tells_of_the_district(const journal::Envelope& envelope);

/// What an envelope with a body says of places and roads; any other changes nothing.
/// @throws DataError naming an envelope that cannot be read
void apply_to_district(Recorded& recorded, const journal::Envelope& envelope);

ReferralSummary summary_of(const ReferralRecord& record);

/// Puts a record where it belongs: among the live ones, or away when it is settled.
void place(Recorded& recorded, std::shared_ptr<const ReferralRecord> record);

const journal::Fold<Recorded>& recorded_fold();

/// Reads what is `unread`, up to and with `last`.
void read_unread(Recorded& recorded, const journal::Journal& journal, journal::Sequence last);

/// One referral from the journal alone, up to and with `last`; null when there is none.
std::shared_ptr<const ReferralRecord> read_record(const journal::Journal& journal,
                                                  const std::string& code, journal::Sequence last);

}  // namespace waybourne::server
