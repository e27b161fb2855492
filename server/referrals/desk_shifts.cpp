#include "server/json/shift_handover.hpp"
#include "server/open_plan.hpp"
#include "server/problem.hpp"
#include "server/referrals/desk.hpp"
#include "server/referrals/permission.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

std::string tag_of(const std::string& sha256) {
    return "\"" + sha256 + "\"";
}

/// The caller must have read the very list.
void require_read(const Call& call, const std::string& sha256) {
    if (call.if_match.empty() || call.if_match == "*") {
        throw HttpRefusal(http_refusal(
            428, "If-Match names no version: send the ETag of the list as you have read it"));
    }
    if (call.if_match.find(tag_of(sha256)) == std::string::npos) {
        Problem problem = http_refusal(
            412, "something has happened since you read the list; read it again, then sign");
        problem.headers.emplace_back("ETag", tag_of(sha256));
        throw HttpRefusal(problem);
    }
}

/// Where nobody needs a key, one account stands for everybody.
bool is_same_person(const std::string& one, const std::string& other) {
    return one == other && one != Caller{}.who;
}

}  // namespace

SignedList Desk::open_now(const Caller& caller) const {
    require_allowed(may_send_vehicles(caller), caller);
    const journal::Sequence as_of = records_.sequence();  // what is read later may only be newer
    return to_be_signed(shift_list(*snapshot_.get(), live_of_world(records_, caller),
                                   records_.vehicle_reports(), clock_.now()),
                        as_of);
}

ShiftHandover Desk::handover(const Caller& caller, const std::string& id) const {
    require_allowed(may_send_vehicles(caller), caller);
    const auto found = records_.find_handover(id);
    if (!found || !is_of_same_world(caller, found->is_practice)) {
        throw NotFound("there is no shift handover '" + id + "' that you may see");
    }
    return *found;
}

std::optional<ShiftHandover> Desk::handed_over_before(const Call& call) const {
    if (!told_before(call)) {
        return std::nullopt;
    }
    for (const journal::Envelope& envelope :
         records_.journal().read_key(call.caller.who, call.idempotency_key)) {
        if (const auto id = shift_in(envelope.subject)) {
            return records_.find_handover(*id);
        }
    }
    return std::nullopt;
}

ShiftHandover Desk::leave_shift(const Call& call) {
    require_allowed(may_send_vehicles(call.caller), call.caller);
    if (auto before = handed_over_before(call)) {
        return *before;
    }
    records_.catch_up();
    const SignedList made = open_now(call.caller);
    require_read(call, made.sha256);
    const std::string id = new_shift_id(new_event_id(made.as_of).value(), call.caller.practice);
    journal::Append append;
    append.entries.push_back(
        {shift_left_kind, shift_subject(id), to_stored(made, call.request_sha256)});
    append.expectations.push_back({shift_subject(id), 0});
    this->append(call, std::move(append), {});
    // Under the key of a call that was quicker on another connection its handover is found.
    const auto first = handed_over_before(call);
    return first ? *first : records_.find_handover(id).value();
}

ShiftHandover Desk::take_shift(const Call& call, const std::string& id) {
    require_allowed(may_send_vehicles(call.caller), call.caller);
    if (auto before = handed_over_before(call)) {
        return *before;
    }
    const auto take_once = [&] {
        const ShiftHandover signed_by = handover(call.caller, id);
        const auto made = signed_list(records_.journal(), id);
        if (!made) {
            throw Conflict("what was signed has been erased: it can no longer be acknowledged");
        }
        require_read(call, made->sha256);
        if (signed_by.taken_at) {
            throw Conflict("it was acknowledged at " + to_rfc3339(*signed_by.taken_at) + " by " +
                           *signed_by.taken_by);
        }
        const auto newest = records_.handovers(signed_by.is_practice, 1);
        if (newest.empty() || newest.front().id != id) {
            throw Conflict("a newer list has been signed: acknowledge that one");
        }
        if (is_same_person(signed_by.left_by, call.caller.who)) {
            throw Conflict("whoever signed a list cannot acknowledge it: the one who comes does");
        }
        journal::Append append;
        append.entries.push_back({shift_taken_kind, shift_subject(id),
                                  R"({"sha256":")" + made->sha256 + R"(","request_sha256":")" +
                                      call.request_sha256 + "\"}"});
        append.expectations.push_back(
            {shift_subject(id), records_.journal().version(shift_subject(id))});
        this->append(call, std::move(append), {});
    };
    until_nobody_interferes(records_, take_once);
    return records_.find_handover(id).value();
}

}  // namespace waybourne::server
