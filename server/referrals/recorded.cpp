#include "server/referrals/recorded.hpp"

#include "server/json/recorded.hpp"
#include "server/json/vehicle.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

constexpr std::string_view vehicle_prefix = "vehicle/";

void apply_to_referral(Recorded& recorded, const std::string& code,
                       const journal::Envelope& envelope) {
    const auto known = recorded.summaries.find(code);
    const auto live = recorded.live.find(code);
    if (known != recorded.summaries.end() && live == recorded.live.end()) {
        known->second.version = envelope.sequence;
        recorded.unread.insert(code);
        return;
    }
    const auto before = live == recorded.live.end() ? nullptr : live->second;
    place(recorded, with_envelope(before, envelope));
}

void apply_known(Recorded& recorded, const journal::Envelope& envelope) {
    if (envelope.kind == reported_kind) {
        for (facilities::Report& report : parse_stored_reports(*envelope.body)) {
            auto& newest = recorded.reports[{report.facility, to_name(report.about)}];
            if (newest.facility.value().empty() || newest.at <= report.at) {
                newest = std::move(report);
            }
        }
    } else if (envelope.kind == noticed_kind) {
        RoadNotice notice = parse_stored_notice(*envelope.body);
        notice.who = envelope.who;
        notice.at = envelope.at;
        const std::string id = notice.change.id;
        recorded.notices.insert_or_assign(id, std::move(notice));
    } else if (envelope.kind == lifted_kind) {
        const std::string id = envelope.subject.substr(road_subject("").size());
        if (recorded.notices.erase(id) == 0) {
            recorded.lifted.insert(id);
        }
    } else {
        return;
    }
    ++recorded.district_version;
}

void apply_to_vehicle(Recorded& recorded, const VehicleId& vehicle,
                      const journal::Envelope& envelope) {
    dispatch::VehicleReport& known = recorded.vehicles[vehicle];
    known = dispatch::with_news(std::move(known), parse_stored_vehicle_report(*envelope.body));
}

/// Of an erased list remains who signed it and when.
void apply_to_shift(Recorded& recorded, const std::string& id, const journal::Envelope& envelope) {
    ShiftHandover& handover = recorded.handovers[id];
    if (envelope.kind == shift_left_kind) {
        handover.id = id;
        handover.left_by = envelope.who;
        handover.left_at = envelope.at;
        handover.is_practice = is_of_practice(id);
    } else if (envelope.kind == shift_taken_kind) {
        handover.taken_by = envelope.who;
        handover.taken_at = envelope.at;
    }
}

/// What is not about a referral.
void apply_to_others(Recorded& recorded, const journal::Envelope& envelope) {
    const auto vehicle = vehicle_in(envelope.subject);
    if (vehicle && envelope.kind == vehicle_reported_kind) {
        apply_to_vehicle(recorded, *vehicle, envelope);
    } else {
        apply_known(recorded, envelope);
    }
}

/// @throws DataError naming an envelope that cannot be read
template <typename Apply>
void apply_readable(const journal::Envelope& envelope, const Apply& apply) {
    try {
        apply();
    } catch (const InputError& error) {
        throw DataError("envelope " + std::to_string(envelope.sequence) +
                        " of the journal cannot be read: " + error.what());
    }
}

void apply_envelope(Recorded& recorded, const journal::Envelope& envelope) {
    if (const auto code = code_of(envelope.subject)) {
        apply_to_referral(recorded, *code, envelope);
    } else if (const auto shift = shift_in(envelope.subject)) {
        apply_to_shift(recorded, *shift, envelope);
    } else if (envelope.body) {
        apply_readable(envelope, [&] { apply_to_others(recorded, envelope); });
    }
    recorded.recent.push_back({envelope.sequence, envelope.kind, envelope.subject, envelope.at});
    if (recorded.recent.size() > most_recent_steps) {
        recorded.recent.pop_front();
    }
}

}  // namespace

bool tells_of_the_district(const journal::Envelope& envelope) {
    return envelope.kind == reported_kind || envelope.kind == noticed_kind ||
           envelope.kind == lifted_kind;
}

void apply_to_district(Recorded& recorded, const journal::Envelope& envelope) {
    apply_readable(envelope, [&] { apply_known(recorded, envelope); });
}

std::string subject_of(const FacilityId& facility) {
    return "facility/" + facility.value();
}

std::string subject_of(const VehicleId& vehicle) {
    return std::string{vehicle_prefix} + vehicle.value();
}

std::optional<VehicleId> vehicle_in(const std::string& subject) {
    return subject.starts_with(vehicle_prefix)
               ? std::optional(VehicleId{subject.substr(vehicle_prefix.size())})
               : std::nullopt;
}

std::string road_subject(const std::string& id) {
    return "road/" + id;
}

ReferralSummary summary_of(const ReferralRecord& record) {
    ReferralSummary summary;
    summary.code = record.code;
    summary.opened_sequence = record.opened_sequence;
    summary.version = record.version;
    if (const auto opened = record.life.last(referral::EventKind::opened)) {
        summary.opened_at = *opened;
    }
    summary.sender = record.life.sender.value_or(FacilityId{});
    summary.asked = record.life.asked;
    summary.at = record.life.at;
    summary.vehicle = record.life.vehicle;
    summary.second_vehicle = record.life.second_vehicle;
    summary.state = record.life.state();
    summary.is_open = record.life.is_open();
    summary.is_practice = record.is_practice;
    summary.is_held = record.hold.has_value();
    return summary;
}

void place(Recorded& recorded, std::shared_ptr<const ReferralRecord> record) {
    const std::string code = record->code;
    recorded.summaries.insert_or_assign(code, summary_of(*record));
    recorded.by_opening[record->opened_sequence] = code;
    if (record->is_settled()) {
        recorded.live.erase(code);
    } else {
        recorded.live.insert_or_assign(code, std::move(record));
    }
}

const journal::Fold<Recorded>& recorded_fold() {
    static const journal::Fold<Recorded> fold{"server.recorded", 3, apply_envelope, write_recorded,
                                              read_recorded};
    return fold;
}

void read_unread(Recorded& recorded, const journal::Journal& journal, journal::Sequence last) {
    for (const std::string& code : std::exchange(recorded.unread, {})) {
        if (auto record = read_record(journal, code, last)) {
            place(recorded, std::move(record));
        }
    }
}

std::shared_ptr<const ReferralRecord> read_record(const journal::Journal& journal,
                                                  const std::string& code, journal::Sequence last) {
    constexpr std::size_t page = 200;
    std::shared_ptr<const ReferralRecord> record;
    journal::Sequence seen = 0;
    for (auto some = journal.read_subject(subject_of(code), seen, page); !some.empty();
         some = journal.read_subject(subject_of(code), seen, page)) {
        for (const journal::Envelope& envelope : some) {
            seen = envelope.sequence;
            if (seen > last) {
                return record;
            }
            record = with_envelope(record, envelope);
        }
    }
    return record;
}

}  // namespace waybourne::server
