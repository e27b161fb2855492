#include "server/referrals/kept_answer.hpp"

#include "server/json/kept_answer.hpp"
#include "server/json/recommendation.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

Basis basis_of(const Snapshot& snapshot) {
    Basis basis;
    basis.version = WAYBOURNE_VERSION;
    basis.files = snapshot.files;
    basis.read_at = snapshot.read_at;
    basis.known = snapshot.known;
    basis.road_changes.emplace();
    for (const routing::RoadChange& change : snapshot.roads->changes()) {
        basis.road_changes->push_back(change.id);
    }
    return basis;
}

KeptAnswer keep_answer(const Snapshot& snapshot, const RecommendationRequest& request,
                       const Answer& answer, Instant at) {
    const Words words{snapshot.catalogue, snapshot.zone, at};
    JsonWriter json;
    write_recommendation(json, {answer.assessment, answer.recommendation, snapshot.facilities,
                                answer.referral_note, SnapshotStamp{}, words});
    const std::string whole = json.take();
    return {at,
            request,
            basis_of(snapshot),
            waybourne::sha256(whole),
            to_json(essence_of(parse_json(whole))),
            {}};
}

}  // namespace waybourne::server
