#include "server/roads_ahead.hpp"

#include <algorithm>

namespace waybourne::server {

RoadsAhead::RoadsAhead(const Snapshot& snapshot, const Roads& roads, routing::Means means,
                       const std::optional<routing::RoadConditions>& given,
                       const routing::RoadConditions& at_least)
    : snapshot_(snapshot), roads_(roads), means_(means), given_(given), at_least_(at_least) {}

routing::RoadConditions RoadsAhead::conditions(Instant from, Instant to) const {
    if (given_) {
        return *given_;
    }
    const auto expected = [&](Instant at) {
        return expected_conditions(snapshot_.district, snapshot_.zone, at);
    };
    routing::RoadConditions worst = worse_of(at_least_, expected(from));
    for (auto next = next_worse(snapshot_.district, snapshot_.zone, worst, from);
         next && *next <= to; next = next_worse(snapshot_.district, snapshot_.zone, worst, *next)) {
        worst = worse_of(worst, expected(*next));
    }
    return worst;
}

Roads::State RoadsAhead::state(Instant from, Instant to) const {
    return roads_.state({means_, conditions(from, to)}, from, to);
}

void RoadsAhead::ask(Instant from, Instant to, const Question& question) const {
    const Roads::State then = state(from, to);
    Roads::Lease lease = roads_.lend(then);
    question({lease.router(), *then.metric(), roads_.snap_index()});
}

std::optional<Instant> RoadsAhead::next_turn(Instant from, Instant to) const {
    const auto closes = roads_.next_turn(means_, to);
    const auto darkens =
        given_ ? std::nullopt
               : next_worse(snapshot_.district, snapshot_.zone, conditions(from, to), to);
    return closes && darkens ? std::min(closes, darkens) : (closes ? closes : darkens);
}

}  // namespace waybourne::server
