#include "server/security/access.hpp"

#include <algorithm>

namespace waybourne::server {

namespace {

using enum Role;

constexpr Audience anyone = Audience::anyone();
/// Whoever has to do with a woman in person.
constexpr Audience carers{health_worker, facility, dispatcher};
/// Carers, and whoever drives her.
constexpr Audience those_who_travel{health_worker, facility, dispatcher, driver};
constexpr Audience those_who_send_or_drive{dispatcher, driver};
/// Whoever needs to know where places and roads are; no person is shown there.
constexpr Audience everybody_on_the_way{health_worker, facility, dispatcher, driver, planner};
/// The same, and whoever sets phones up.
constexpr Audience whoever_may_be_offline{health_worker, facility, dispatcher,
                                          driver,        planner,  administrator};
constexpr Audience everybody{health_worker, facility,      dispatcher, driver,
                             planner,       administrator, auditor};

// docs/openapi.yaml says the same under x-roles; access_test.cpp compares the two.
constexpr std::array table{
    Access{"POST", "/v1/tokens", anyone},
    Access{"POST", "/v1/assessments", carers, Pace::urgent},
    Access{"POST", "/v1/recommendations", carers, Pace::urgent},
    Access{"POST", "/v1/transport-plans", {dispatcher}, Pace::urgent},
    Access{"GET", "/v1/transport-plans", {dispatcher}, Pace::urgent, true},
    Access{"POST", "/v1/transport-plans/accepted", {dispatcher}, Pace::urgent, true},
    Access{"POST", "/v1/named-places", carers, Pace::urgent},
    Access{"GET", "/v1/vehicles", those_who_send_or_drive, Pace::urgent, true},
    Access{"POST", "/v1/vehicles/{id}/reports", those_who_send_or_drive, Pace::urgent, true},
    Access{"GET", "/v1/shift-handovers", {dispatcher}},
    Access{"POST", "/v1/shift-handovers", {dispatcher}, Pace::urgent, true},
    Access{"GET", "/v1/shift-handovers/now", {dispatcher}, Pace::urgent, true},
    Access{"GET", "/v1/shift-handovers/{id}", {dispatcher}, Pace::ordinary, true},
    Access{"POST", "/v1/shift-handovers/{id}/acknowledgement", {dispatcher}, Pace::urgent, true},
    Access{"POST", "/v1/routes", everybody_on_the_way, Pace::urgent},
    Access{"POST", "/v1/alternatives", everybody_on_the_way, Pace::urgent},
    Access{"POST", "/v1/reach", everybody_on_the_way},
    Access{"POST", "/v1/coverage/access", {planner}},
    Access{"POST", "/v1/coverage/competition", {planner}},
    Access{"POST", "/v1/coverage/overview", {planner}},
    Access{"POST", "/v1/coverage/losses", {planner}},
    Access{"POST", "/v1/coverage/sensitivity", {planner}},
    Access{"POST", "/v1/coverage/trust", {planner}},
    Access{"POST", "/v1/coverage/links", {planner}},
    Access{"POST", "/v1/coverage/upgrades", {planner}},
    Access{"POST", "/v1/coverage/indicators", {planner}},
    Access{"POST", "/v1/coverage/what-ifs", {planner}},
    Access{"POST", "/v1/coverage/report", {planner}},
    Access{"GET", "/v1/coverage/journeys", {planner}},
    Access{"GET", "/v1/scenarios", {planner}},
    Access{"GET", "/v1/scenarios/{name}", {planner}},
    Access{"GET", "/v1/scenarios/{name}/replay", {planner}},
    Access{"PUT", "/v1/scenarios/{name}", {planner}},
    Access{"GET", "/v1/facilities", everybody},
    Access{"GET", "/v1/facilities/{id}", everybody},
    Access{"GET", "/v1/facilities/{id}/readiness", everybody_on_the_way},
    Access{"GET", "/v1/map", everybody},
    Access{"GET", "/v1/map/{zoom}/{x}/{y}", everybody, Pace::square},
    Access{"GET", "/v1/protocol", everybody},
    Access{"GET", "/v1/pack", whoever_may_be_offline},
    Access{"GET", "/v1/packs/{sha256}", whoever_may_be_offline},
    Access{"GET", "/v1/pack-key", anyone},
    Access{"GET", "/v1/road-conditions", everybody_on_the_way},
    Access{"GET", "/v1/audit", {auditor}},
    Access{"POST", "/v1/road-conditions", those_who_travel, Pace::urgent},
    Access{"DELETE", "/v1/road-conditions/{id}", those_who_travel, Pace::urgent},
    Access{"POST", "/v1/facilities/{id}/readiness", carers, Pace::urgent, true},
    Access{"GET", "/v1/facilities/{id}/arrivals", carers, Pace::urgent, true},
    Access{"POST", "/v1/referrals", carers, Pace::urgent, true},
    Access{"GET", "/v1/referrals", those_who_travel, Pace::ordinary, true},
    Access{"GET", "/v1/referrals/{code}", those_who_travel, Pace::urgent, true},
    Access{"POST", "/v1/referrals/{code}/events", those_who_travel, Pace::urgent, true},
    Access{"POST", "/v1/referrals/{code}/recommendations", carers, Pace::urgent, true},
    Access{"GET", "/v1/referrals/{code}/fhir", carers, Pace::urgent, true},
    Access{"GET", "/v1/referrals/{code}/fhir/task", carers, Pace::urgent, true},
    Access{"PUT", "/v1/referrals/{code}/fhir/task", carers, Pace::urgent, true},
    Access{"GET", "/v1/referrals/{code}/note.pdf", {health_worker, facility}, Pace::ordinary, true},
    Access{"GET", "/v1/referrals/{code}/replay", carers, Pace::ordinary, true},
    Access{"POST", "/v1/referrals/{code}/hold", {dispatcher}, Pace::ordinary, true},
    Access{"DELETE", "/v1/referrals/{code}/hold", {dispatcher}, Pace::ordinary, true},
    // The gateway of text messages shows its own secret, and whoever texts is known by the number.
    Access{"POST", "/v1/texts", anyone, Pace::gateway},
    Access{"POST", "/v1/receipts", anyone, Pace::gateway},
    Access{"GET", "/v1/live", those_who_travel},
    Access{"GET", "/", anyone, Pace::file},
    Access{"GET", "/worker.js", anyone, Pace::file},
    Access{"GET", "/manifest.webmanifest", anyone, Pace::file},
    Access{"GET", "/page/{file}", anyone, Pace::file},
    Access{"GET", "/page/{folder}/{file}", anyone, Pace::file},
    Access{"GET", "/livez", anyone},
    Access{"GET", "/readyz", anyone},
    Access{"GET", "/metrics", {administrator}},
    Access{"GET", "/openapi.yaml", anyone},
};

}  // namespace

std::span<const Access> access_table() {
    return table;
}

const Access* find_access(std::string_view method, std::string_view pattern) {
    const std::string_view wanted = method == "HEAD" ? "GET" : method;
    const auto found = std::find_if(table.begin(), table.end(), [&](const Access& row) {
        return row.method == wanted && row.pattern == pattern;
    });
    return found == table.end() ? nullptr : &*found;
}

}  // namespace waybourne::server
