#include "server/referrals/record.hpp"

#include <algorithm>

#include "referral/standing.hpp"
#include "server/json/referral_body.hpp"
#include "server/messages/due_messages.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

constexpr std::string_view subject_prefix = "referral/";
constexpr std::string_view kind_prefix = "referral.";

/// What the header alone says: that something of this kind happened then.
StoredBody from_header(const journal::Envelope& envelope) {
    StoredBody body;
    if (is_message_kind(envelope.kind)) {
        return body;
    }
    const auto kind =
        referral::find_event_kind(std::string_view{envelope.kind}.substr(kind_prefix.size()));
    if (kind) {
        ToldEvent told;
        told.event.id = referral::EventId{"redacted-" + std::to_string(envelope.sequence)};
        told.event.kind = *kind;
        told.event.occurred_at = envelope.at;
        told.event.recorded_at = envelope.at;
        body.told = std::move(told);
    }
    return body;
}

StoredBody body_of(const journal::Envelope& envelope) {
    if (!envelope.body) {
        return from_header(envelope);
    }
    try {
        return parse_stored_body(*envelope.body);
    } catch (const InputError& error) {
        throw DataError("envelope " + std::to_string(envelope.sequence) +
                        " of the journal is no event of a referral: " + error.what());
    }
}

void open(ReferralRecord& record, StoredBody& body) {
    record.is_practice = body.is_practice;
    record.opening = std::move(body.opening);
    record.given = std::move(body.given);
    if (record.opening) {
        record.treatments = record.opening->treatments;
    }
}

std::shared_ptr<const PlannedWay> way_now(const ReferralRecord& record) {
    const auto found = record.life.asked ? record.ways.find(*record.life.asked) : record.ways.end();
    return found == record.ways.end() ? nullptr : found->second;
}

void keep_way(ReferralRecord& record, PlannedWay planned) {
    auto way = std::make_shared<const PlannedWay>(std::move(planned));
    record.ways.insert_or_assign(way->to, way);
}

std::optional<GeoPoint> last_position(const std::vector<ToldEvent>& told) {
    const ToldEvent* last = nullptr;
    for (const ToldEvent& one : told) {
        if (one.position &&
            (last == nullptr || referral::happened_before(last->event, one.event))) {
            last = &one;
        }
    }
    return last == nullptr ? std::nullopt : last->position;
}

void add(ReferralRecord& record, StoredBody body) {
    const ToldEvent& told = *body.told;
    if (told.event.kind == referral::EventKind::opened) {
        open(record, body);
    }
    if (body.way) {
        keep_way(record, std::move(*body.way));
    }
    record.treatments.insert(record.treatments.end(), told.treatments.begin(),
                             told.treatments.end());
    record.told.push_back(told);
    record.life = referral::life_of(record.events());
    record.way = way_now(record);
    record.position = last_position(record.told);
}

void take_transport(ReferralRecord& record, StoredBody& body) {
    if (body.transport) {
        const auto before = record.transport ? record.transport->tour : std::vector<std::string>{};
        if (body.transport->tour != before) {
            record.tour_since = body.transport->accepted_at;
        }
        record.transport = std::make_shared<const AcceptedTransport>(std::move(*body.transport));
    }
    if (body.way) {
        keep_way(record, std::move(*body.way));
        record.way = way_now(record);
    }
}

}  // namespace

referral::WatchTimes PlannedWay::watch_times() const {
    referral::WatchTimes times;
    times.leave_by = leave_by;
    times.deadline = deadline;
    if (travel_time) {
        times.travel_allow = travel_time->allow;
    }
    if (arrival) {
        times.arrival_allow = arrival->allow;
    }
    return times;
}

std::vector<referral::Event> ReferralRecord::events() const {
    std::vector<referral::Event> events;
    events.reserve(told.size());
    for (const ToldEvent& one : told) {
        events.push_back(one.event);
    }
    return events;
}

referral::WatchTimes ReferralRecord::watch_times() const {
    auto times = way ? way->watch_times() : referral::WatchTimes{};
    const auto departed = life.last(referral::EventKind::departed);
    if (way && departed && *departed < way->planned_at) {
        times.travel_allow.reset();  // counts from where she was when it was planned
    }
    if (transport && transport->with_her) {
        times.vehicle_reaches_her = transport->with_her->allow;
    }
    return times;
}

std::optional<referral::Expected> ReferralRecord::expected_arrival() const {
    if (!way || !way->travel_time || life.is_there() || !life.is_open() || life.is_refused) {
        return std::nullopt;
    }
    const auto departed = life.last(referral::EventKind::departed);
    // A way that was planned while she was travelling counts from where she was then.
    if (departed && *departed >= way->planned_at) {
        return referral::Expected{*departed + way->travel_time->typical,
                                  *departed + way->travel_time->allow};
    }
    return way->arrival;
}

std::vector<std::string> ReferralRecord::tour() const {
    const bool is_as_accepted =
        transport && !transport->vehicles.empty() && transport->vehicles.front() == life.vehicle;
    return is_as_accepted ? transport->tour : std::vector<std::string>{};
}

bool ReferralRecord::is_settled() const {
    const bool is_over = life.end == referral::End::cancelled ||
                         (!life.is_open() && life.outcome_returned_at.has_value());
    return is_over && std::none_of(messages.begin(), messages.end(), is_pending) &&
           !owes_word(*this);
}

std::string ReferralRecord::entity_tag() const {
    return "\"" + std::to_string(acted_version) + "\"";
}

std::string subject_of(const std::string& code) {
    return std::string{subject_prefix} + code;
}

std::optional<std::string> code_of(const std::string& subject) {
    if (!subject.starts_with(subject_prefix)) {
        return std::nullopt;
    }
    return subject.substr(subject_prefix.size());
}

std::string kind_of(referral::EventKind step) {
    return std::string{kind_prefix} + std::string{wire_name(step)};
}

journal::Append entry_about(const std::string& code, const std::string& kind,
                            const StoredBody& body, journal::Sequence version) {
    journal::Append append;
    append.entries.push_back({kind, subject_of(code), to_stored(body)});
    append.expectations.push_back({subject_of(code), version});
    return append;
}

std::shared_ptr<const ReferralRecord> with_envelope(
    const std::shared_ptr<const ReferralRecord>& record, const journal::Envelope& envelope) {
    auto next =
        record ? std::make_shared<ReferralRecord>(*record) : std::make_shared<ReferralRecord>();
    next->version = envelope.sequence;
    StoredBody body = body_of(envelope);
    if (!record) {
        next->code = code_of(envelope.subject).value_or("");
        next->opened_sequence = envelope.sequence;
    }
    const bool is_alert = body.told && body.told->event.kind == referral::EventKind::alert_raised;
    if (!is_alert && !is_message_kind(envelope.kind)) {
        next->acted_version = envelope.sequence;
    }
    if (body.message) {
        apply(next->messages, *body.message, envelope.at);
    } else if (envelope.kind == held_kind) {
        next->hold = Hold{envelope.at, envelope.who, body.reason};
    } else if (envelope.kind == released_kind) {
        next->hold.reset();
    } else if (envelope.kind == transport_planned_kind) {
        take_transport(*next, body);
    } else if (body.told) {
        add(*next, std::move(body));
    }
    return next;
}

}  // namespace waybourne::server
