#include "server/answer_json.hpp"

#include "server/answer.hpp"
#include "server/json/assessment.hpp"
#include "server/json/facility.hpp"
#include "server/json/protocol.hpp"
#include "server/json/request.hpp"
#include "server/json/route.hpp"

namespace waybourne::server {

SnapshotStamp stamp_of(const Snapshot& snapshot) {
    return {snapshot.map_sha256, snapshot.facilities.facilities().size(), snapshot.report_count,
            snapshot.version, snapshot.made_at};
}

std::string assessment_json(const Snapshot& snapshot, std::string_view body, Instant now,
                            const Catalogue& catalogue) {
    const triage::Assessment assessment = answer_assessment(snapshot, parse_findings(body), now);
    JsonWriter json;
    write_assessment(json, assessment, Words{catalogue, snapshot.zone, now});
    return json.take();
}

std::string recommendation_json(const Snapshot& snapshot, const RecommendationRequest& request,
                                Instant now, const Catalogue& catalogue) {
    const Answer answer = answer_recommendation(snapshot, request, now, catalogue);
    const Words words{catalogue, snapshot.zone, now};
    constexpr std::size_t usual_length = 48'000;
    JsonWriter json{0, usual_length};
    write_recommendation(json, {answer.assessment, answer.recommendation, snapshot.facilities,
                                answer.referral_note, stamp_of(snapshot), words});
    return json.take();
}

std::string route_json(const Snapshot& snapshot, std::string_view body, Instant now) {
    JsonWriter json;
    write_route_answer(json, answer_route(snapshot, parse_route_request(body), now));
    return json.take();
}

std::string protocol_json(const Snapshot& snapshot, const Catalogue& catalogue) {
    JsonWriter json;
    write_protocol(json, snapshot.protocol, catalogue);
    return json.take();
}

std::string facilities_json(const Snapshot& snapshot) {
    JsonWriter json;
    json.begin_object().key("facilities").begin_list();
    for (const facilities::Facility& facility : snapshot.facilities.facilities()) {
        write_facility_summary(json, facility);
    }
    return json.end_list().end_object().take();
}

std::string facility_json(const Snapshot& snapshot, const FacilityId& id) {
    JsonWriter json;
    write_facility(json, snapshot.facilities.facility(id));
    return json.take();
}

std::string readiness_json(const Snapshot& snapshot, const FacilityId& id, Instant now,
                           const Catalogue& catalogue) {
    const auto all = answer_readiness(snapshot, id, now);
    const Words words{catalogue, snapshot.facilities.time_zone(id), now};
    JsonWriter json;
    json.begin_object().member("facility", id.value()).member("at", now);
    json.key("readiness").begin_list();
    for (const facilities::Readiness& readiness : all) {
        write_readiness(json, readiness, words);
    }
    return json.end_list().end_object().take();
}

}  // namespace waybourne::server
