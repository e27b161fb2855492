#include "server/json/recorded.hpp"
#include "server/json/vehicle.hpp"
#include "server/problem.hpp"
#include "server/referrals/desk.hpp"
#include "server/referrals/permission.hpp"

namespace waybourne::server {

namespace {

/// What is real stays as it is: recommendations to others rest on it.
void refuse_practice(const Caller& caller, const char* what) {
    if (caller.practice) {
        throw HttpRefusal(http_refusal(403, std::string("who practises changes no ") + what));
    }
}

/// Every report must fit the register as it is.
void check_reports(const Snapshot& snapshot, const FacilityCall& said) {
    snapshot.facilities.facility(said.facility);  // throws for an unknown one
    std::vector<FieldError> errors;
    for (std::size_t i = 0; i < said.reports.size(); ++i) {
        try {
            snapshot.facilities.with(said.reports[i]);
        } catch (const InputError& error) {
            errors.push_back({"#/reports/" + std::to_string(i), error.what()});
        } catch (const NotFound& error) {
            errors.push_back({"#/reports/" + std::to_string(i), error.what()});
        }
    }
    throw_if_any(errors);
}

}  // namespace

Told Desk::report(const Call& call, const FacilityCall& said) {
    return until_nobody_interferes(records_, [&] { return report_once(call, said); });
}

Told Desk::report_once(const Call& call, const FacilityCall& said) {
    require_allowed(may_report(call.caller, said.facility), call.caller);
    if (auto before = told_before(call)) {
        return *before;
    }
    if (!said.reports.empty()) {
        refuse_practice(call.caller, "readiness; a reply alone may be practised");
    }
    check_reports(*snapshot_.get(), said);
    journal::Append append;
    std::string code;
    if (said.code) {
        const auto record = visible(call.caller, *said.code);
        if (record->life.asked != said.facility) {
            throw Conflict("referral " + *said.code + " asks another place now");
        }
        require_seen(call, *record);
        StoredBody body;
        body.told = said.reply;
        body.told->event.id = new_event_id(records_.sequence());
        body.told->event.by = {referral::Role::facility, said.facility};
        require_possible(call.caller, *record, body.told->event);
        body.request_sha256 = call.request_sha256;
        code = record->code;
        append = entry_about(code, kind_of(body.told->event.kind), body, record->version);
    }
    if (!said.reports.empty()) {
        append.entries.push_back({reported_kind, subject_of(said.facility),
                                  to_stored(said.reports, call.request_sha256)});
    }
    return this->append(call, std::move(append), code);
}

void Desk::report_road(const Call& call, const RoadCall& said) {
    require_allowed(may_report_roads(call.caller), call.caller);
    refuse_practice(call.caller, "roads");
    if (told_before(call)) {
        return;
    }
    journal::Append append;
    if (said.change) {
        append.entries.push_back({noticed_kind, road_subject(said.change->id),
                                  to_stored(RoadNotice{*said.change, call.caller.who, clock_.now()},
                                            call.request_sha256)});
    }
    for (const std::string& id : said.lifted) {
        append.entries.push_back({lifted_kind, road_subject(id),
                                  R"({"request_sha256":")" + call.request_sha256 + "\"}"});
    }
    if (!append.entries.empty()) {
        this->append(call, std::move(append), {});
    }
}

void Desk::report_vehicle(const Call& call, const VehicleCall& said) {
    require_allowed(may_see_vehicle(call.caller, said.vehicle), call.caller);
    refuse_practice(call.caller, "vehicles");
    if (told_before(call)) {
        return;
    }
    journal::Append append;
    append.entries.push_back({vehicle_reported_kind, subject_of(said.vehicle),
                              to_stored(said.report, call.request_sha256)});
    this->append(call, std::move(append), {});
}

}  // namespace waybourne::server
