#include "server/referrals/desk.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "referral/referral_code.hpp"
#include "referral/step.hpp"
#include "server/answer.hpp"
#include "server/json/recorded.hpp"
#include "server/json/referral.hpp"
#include "server/languages.hpp"
#include "server/problem.hpp"
#include "server/referrals/permission.hpp"
#include "server/referrals/plan_way.hpp"

namespace waybourne::server {

namespace {

using referral::EventKind;

std::string new_code() {
    std::uint64_t number = 0;
    for (const char byte : journal::random_bytes(sizeof number)) {
        number = number << 8U | static_cast<unsigned char>(byte);
    }
    return referral::to_referral_code(number);
}

std::string unused_code(const Records& records) {
    std::string code = new_code();
    while (records.find_summary(code)) {
        code = new_code();
    }
    return code;
}

[[noreturn]] void refuse_unknown(const std::string& code) {
    throw NotFound("there is no referral " + code + " that you may see");
}

/// A live call speaks of now, give or take what clocks differ.
void check_times(const referral::Event& event, Instant now) {
    std::vector<FieldError> errors;
    const auto check = [&](Instant at, const char* pointer) {
        if (at > now + clock_tolerance) {
            errors.push_back(
                {pointer, to_rfc3339(at) + " is in the future; it is now " + to_rfc3339(now)});
        }
    };
    check(event.occurred_at, "#/occurred_at");
    check(event.recorded_at, "#/recorded_at");
    throw_if_any(errors);
}

ToldEvent opening_event(const Opening& opening, referral::By by, Instant now) {
    ToldEvent told;
    told.event.kind = EventKind::opened;
    told.event.occurred_at = opening.opened_at;
    told.event.recorded_at = opening.is_late ? opening.opened_at : now;
    told.event.by = std::move(by);
    told.event.place = opening.to;
    told.event.persons = opening.persons;
    told.is_late = opening.is_late;
    return told;
}

/// Works out the recommendation, and keeps it with the way to the place that is asked.
void plan(StoredBody& body, const Snapshot& snapshot, const RecommendationRequest& request,
          const FacilityId& to, Instant at, const std::string& code) {
    const Answer answer = answer_recommendation(snapshot, request, at, snapshot.catalogue);
    body.way = plan_way(snapshot, request, answer, to, at);
    KeptAnswer kept = keep_answer(snapshot, request, answer, at);
    kept.note = note_to(snapshot, request, answer, *body.way, code);
    body.recommended = std::make_shared<const KeptAnswer>(std::move(kept));
}

/// Nobody is asked yet: a place off the map is no reason to refuse.
void keep_if_there_is_one(StoredBody& body, const Snapshot& snapshot,
                          const RecommendationRequest& request, Instant at) {
    try {
        const Answer answer = answer_recommendation(snapshot, request, at, snapshot.catalogue);
        body.recommended =
            std::make_shared<const KeptAnswer>(keep_answer(snapshot, request, answer, at));
    } catch (const InputError&) {
        return;
    } catch (const NotFound&) {
        return;
    }
}

}  // namespace

referral::EventId new_event_id(journal::Sequence seen) {
    constexpr std::size_t bytes = 6;
    return referral::EventId{
        fmt::format("e{:012}-{}", seen, journal::to_hex(journal::random_bytes(bytes)))};
}

void check_idempotency_key(const std::string& key) {
    constexpr std::size_t longest = 128;
    const bool is_printable =
        std::all_of(key.begin(), key.end(), [](char c) { return c > ' ' && c <= '~'; });
    if (key.size() > longest || !is_printable) {
        throw HttpRefusal(http_refusal(
            400, "an Idempotency-Key holds 1 to 128 printable ASCII characters without spaces"));
    }
}

std::shared_ptr<const ReferralRecord> Desk::visible(const Caller& caller,
                                                    const std::string& code) const {
    require_allowed(may_use_referrals(caller), caller);
    auto record = records_.find(code);
    if (!record || !may_see(caller, summary_of(*record))) {
        refuse_unknown(code);
    }
    return record;
}

namespace {

/// As it was reported; none for one that was not opened.
std::optional<referral::ReportedCase> reported_case(const ReferralRecord& record) {
    if (!record.opening) {
        return std::nullopt;
    }
    return referral::ReportedCase{ReferralId{record.code}, record.opening->channel,
                                  record.opening->sender, record.opening->opened_at,
                                  record.opening->request.findings};
}

/// The referrals about which this one says whether they are the same woman, and itself; none when
/// it says nothing of the kind.
std::set<ReferralId> decided_about_by(const ReferralRecord& record) {
    std::set<ReferralId> about;
    for (const referral::Event& event : record.life.events) {
        if (referral::decides_about_two(event.kind) && event.other) {
            about.insert({ReferralId{record.code}, *event.other});
        }
    }
    return about;
}

}  // namespace

std::string Desk::render(const Caller& caller, const ReferralRecord& record, Instant now) const {
    const auto snapshot = snapshot_.get();
    ReferralView view{record, *snapshot, caller, now, {}, {}};
    std::vector<std::shared_ptr<const ReferralRecord>> seen = records_.live();
    std::erase_if(seen, [&](const auto& other) {
        return other->code == record.code || other->is_practice != record.is_practice ||
               !may_see(caller, summary_of(*other));
    });
    const auto itself = record.life.is_open() ? reported_case(record) : std::nullopt;
    std::set<ReferralId> decided_about = decided_about_by(record);
    for (const auto& other : seen) {
        decided_about.merge(decided_about_by(*other));
    }
    const ReferralId self{record.code};
    std::vector<referral::ReferralEvents> all{{self, record.events()}};
    std::vector<referral::ReportedCase> reported;
    if (itself) {
        reported.push_back(*itself);
    }
    for (const auto& other : seen) {
        const ReferralId id{other->code};
        auto report = itself && other->life.is_open() ? reported_case(*other) : std::nullopt;
        const bool may_be_her = report && referral::are_reported_together(*report, *itself);
        if (may_be_her || decided_about.contains(id)) {
            all.push_back({id, other->events()});
        }
        if (may_be_her) {
            reported.push_back(std::move(*report));
        }
    }
    const referral::Cases cases = referral::cases_of(all);
    for (const auto& [id, events] : all) {
        if (id != self && cases.are_one(id, self)) {
            view.merged_with.push_back(id.value());
        }
    }
    for (referral::MergeOffer& offer : referral::merge_offers(reported, cases)) {
        if (offer.first == self || offer.second == self) {
            view.offers.push_back(std::move(offer));
        }
    }
    return render_referral(view);
}

std::optional<Told> Desk::told_before(const Call& call) const {
    if (call.idempotency_key.empty()) {
        return std::nullopt;
    }
    check_idempotency_key(call.idempotency_key);
    const auto stored = records_.journal().read_key(call.caller.who, call.idempotency_key);
    if (stored.empty()) {
        return std::nullopt;
    }
    const auto& first = stored.front();
    if (first.body) {
        const JsonValue body = parse_json(*first.body);
        const JsonValue* request = body.find("request_sha256");
        if (request == nullptr || request->text() != call.request_sha256) {
            throw HttpRefusal(http_refusal(422,
                                           "this Idempotency-Key was used before, for another "
                                           "request; nothing has been changed"));
        }
    }
    Told told{nullptr, first.at};
    for (const journal::Envelope& envelope : stored) {
        if (const auto code = code_of(envelope.subject)) {
            told.record = read_record(records_.journal(), *code, stored.back().sequence);
        }
    }
    return told;
}

Told Desk::append(const Call& call, journal::Append append, const std::string& code) {
    append.at = clock_.now();
    append.who = call.caller.who;
    append.idempotency_key = call.idempotency_key;
    try {
        const auto appended = records_.append(append);
        return {code.empty() ? nullptr : read_record(records_.journal(), code, appended.last),
                append.at};
    } catch (const journal::KeyReused&) {
        // The same call on another connection was quicker.
        return told_before(call).value();
    }
}

void Desk::require_seen(const Call& call, const ReferralRecord& record) const {
    if (call.if_match.empty() || call.if_match == "*") {
        throw HttpRefusal(http_refusal(
            428,
            "If-Match names no version: send the ETag of the referral as you have seen "
            "it, so that nobody's word is overwritten"));
    }
    if (call.if_match.find(record.entity_tag()) != std::string::npos) {
        return;
    }
    Problem problem =
        http_refusal(412, "the referral has changed since you saw it; look at it and decide again");
    problem.headers.emplace_back("ETag", record.entity_tag());
    problem.more.emplace_back("current", render(call.caller, record, clock_.now()));
    problem.shown = {record.code};
    throw HttpRefusal(problem);
}

void Desk::require_possible(const Caller& caller, const ReferralRecord& record,
                            const referral::Event& event) const {
    const auto refused = referral::refusal(record.events(), event);
    if (!refused) {
        return;
    }
    const auto snapshot = snapshot_.get();
    const Catalogue& catalogue = catalogue_for(*snapshot, caller.languages);
    const Words words{catalogue, snapshot->zone, clock_.now()};
    Problem problem =
        http_refusal(409, words.text(referral::with_steps_in_words(refused->why, catalogue)));
    problem.headers.emplace_back("ETag", record.entity_tag());
    problem.more.emplace_back("state", "\"" + std::string(wire_name(refused->state)) + "\"");
    problem.more.emplace_back("possible", possible_steps(record.life, caller));
    problem.shown = {record.code};
    throw HttpRefusal(problem);
}

void Desk::check_places(const Caller& caller, const ReferralRecord& record,
                        const ToldEvent& told) const {
    if (told.event.place) {
        snapshot_.get()->facilities.facility(*told.event.place);  // throws for an unknown one
    }
    if (referral::decides_about_two(told.event.kind) && told.event.other) {
        const auto other = visible(caller, told.event.other->value());
        if (other->is_practice != record.is_practice) {
            throw Conflict("one of the two is a practice case: they cannot be of the same woman");
        }
    }
}

Told Desk::open(const Call& call, Opening opening, const std::string& given) {
    require_allowed(may_send_from(call.caller, opening.sender), call.caller);
    if (auto before = told_before(call)) {
        return *before;
    }
    const auto snapshot = snapshot_.get();
    const Instant now = clock_.now();
    snapshot->facilities.facility(opening.sender);
    ToldEvent told = opening_event(opening, {}, now);
    if (!opening.is_late) {
        check_times(told.event, now);
    }
    told.event.id = new_event_id(records_.sequence());
    told.event.by = {call.caller.role == Role::facility        ? referral::Role::facility
                     : call.caller.role == Role::health_worker ? referral::Role::health_worker
                                                               : referral::Role::dispatcher,
                     opening.sender};
    const std::string code = opening.code.value_or(unused_code(records_));
    StoredBody body;
    if (opening.to) {
        snapshot->facilities.facility(*opening.to);
        plan(body, *snapshot, opening.request, *opening.to, std::min(opening.opened_at, now), code);
    } else {
        answer_assessment(*snapshot, opening.request.findings, now);  // refuses unknown fields
        keep_if_there_is_one(body, *snapshot, opening.request, std::min(opening.opened_at, now));
    }
    body.told = std::move(told);
    body.given = std::make_shared<const std::string>(to_json(parse_json(given)));
    body.is_practice = call.caller.practice;
    body.request_sha256 = call.request_sha256;
    return until_nobody_interferes(records_, [&] {
        if (records_.find_summary(code)) {
            throw Conflict("the code " + code + " is taken by another referral");
        }
        return append(call, entry_about(code, kind_of(EventKind::opened), body, 0), code);
    });
}

Told Desk::tell(const Call& call, const std::string& code, ToldEvent told) {
    return until_nobody_interferes(records_, [&] { return tell_once(call, code, told); });
}

Told Desk::tell_once(const Call& call, const std::string& code, ToldEvent told) {
    const auto record = visible(call.caller, code);
    require_allowed(may_tell(call.caller, told.event.kind), call.caller);
    if (auto before = told_before(call)) {
        return *before;
    }
    const Instant now = clock_.now();
    told.event.by = by_of(call.caller, summary_of(*record));
    const auto& second = record->life.second_vehicle;
    if (call.caller.role == Role::driver && second && second->value() == call.caller.who &&
        !told.event.vehicle) {
        told.event.vehicle = second;  // who takes her over speaks of the own vehicle
    }
    if (told.event.id.value().empty()) {
        told.event.id = new_event_id(records_.sequence());
    }
    const auto same = std::find_if(record->told.begin(), record->told.end(),
                                   [&](const auto& one) { return one.event.id == told.event.id; });
    if (same != record->told.end() && *same == told) {
        return {record, now};
    }
    check_places(call.caller, *record, told);
    if (!told.is_late) {
        require_seen(call, *record);
        check_times(told.event, now);
    }
    if (!told.is_late || same != record->told.end()) {
        require_possible(call.caller, *record, told.event);
    }
    StoredBody body;
    if (told.event.kind == EventKind::diverted && told.event.place && record->opening) {
        plan(body, *snapshot_.get(),
             onward_request(*record,
                            told.position ? std::optional<Place>(*told.position) : std::nullopt),
             *told.event.place, now, code);
    }
    const std::string kind = kind_of(told.event.kind);
    body.told = std::move(told);
    body.request_sha256 = call.request_sha256;
    return append(call, entry_about(code, kind, body, record->version), code);
}

RecommendationRequest Desk::onward_request(const ReferralRecord& record,
                                           const std::optional<Place>& from) {
    if (!record.opening) {
        throw Conflict("what was found is no longer kept: ask for a new recommendation");
    }
    RecommendationRequest request = record.opening->request;
    if (from) {
        request.from = *from;
    } else if (record.life.at) {
        request.from = *record.life.at;
    } else if (record.position) {
        request.from = *record.position;
    }
    if (record.life.journey >= referral::Journey::departed) {
        request.transport.ready_in = Seconds{0};
    }
    std::optional<FacilityId> asked;
    for (const referral::Event& event : record.life.events) {
        if (event.kind == EventKind::opened || event.kind == EventKind::diverted) {
            asked = event.place;
        } else if (asked && event.kind == EventKind::declined) {
            request.calls[*asked] = referral::CallAnswer::refused;
        } else if (asked && event.kind == EventKind::unanswered) {
            request.calls[*asked] = referral::CallAnswer::no_answer;
        } else if (asked && event.kind == EventKind::accepted) {
            request.calls[*asked] = referral::CallAnswer::accepted;
        }
    }
    return request;
}

Told Desk::hold(const Call& call, const std::string& code, const std::string& reason) {
    return until_nobody_interferes(records_, [&] {
        const auto record = visible(call.caller, code);
        require_allowed(may_hold(call.caller), call.caller);
        if (auto before = told_before(call)) {
            return *before;
        }
        const bool is_release = reason.empty();
        if (is_release && !record->hold) {
            throw Conflict("the case is not on hold");
        }
        StoredBody body;
        body.reason = reason;
        body.request_sha256 = call.request_sha256;
        return append(
            call, entry_about(code, is_release ? released_kind : held_kind, body, record->version),
            code);
    });
}

}  // namespace waybourne::server
