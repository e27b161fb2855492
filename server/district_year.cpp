#include "server/district_year.hpp"

#include "server/answer.hpp"
#include "server/json/complications.hpp"
#include "server/planned_roads.hpp"
#include "server/program_files.hpp"
#include "server/vehicles.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace {

std::vector<dispatch::BirthPlace> birth_places(const Snapshot& snapshot,
                                               const YearRequest& request) {
    const auto settlements = settlements_of(snapshot, request.settlements);
    const double total = coverage::births_of(settlements);
    const double factor =
        request.births_per_year && total > 0 ? *request.births_per_year / total : 1;
    std::vector<dispatch::BirthPlace> places;
    places.reserve(settlements.size());
    for (const coverage::Settlement& settlement : settlements) {
        places.push_back({settlement.point, settlement.births_per_year * factor});
    }
    return places;
}

std::vector<dispatch::Complication> complications(const Snapshot& snapshot,
                                                  const ComplicationRates& rates) {
    std::vector<dispatch::Complication> kinds;
    for (const ComplicationRates::Kind& kind : rates.kinds) {
        kinds.push_back({kind.id, kind.weight, [&snapshot, findings = kind.findings](Instant at) {
                             triage::Findings seen = findings;
                             for (triage::Reading& reading : seen.readings) {
                                 reading.taken_at = at;
                             }
                             return answer_assessment(snapshot, seen, at);
                         }});
    }
    return kinds;
}

}  // namespace

YearAnswer answer_year(const Snapshot& snapshot, const YearRequest& request,
                       const Progress& progress) {
    const ComplicationRates rates = parse_complication_rates(
        read_program_file(program_folder() / "dispatch" / "data" / "complications.json"));
    YearAnswer answer;
    answer.settings = request.settings;
    answer.settings.complications_per_birth = rates.per_birth;
    answer.sources = {{"complications", rates.source},
                      {"shares", rates.source_of_weights},
                      {"findings", rates.source_of_findings}};
    if (request.complications_per_1000) {
        constexpr double thousand = 1000;
        answer.settings.complications_per_birth = *request.complications_per_1000 / thousand;
        answer.sources.front().source = "as given";
    }
    answer.vehicles = request.vehicles ? *request.vehicles : snapshot.vehicles;
    PlannedRoads roads(snapshot);
    check_vehicles(snapshot, roads, answer.vehicles, answer.settings.from);
    const auto places = birth_places(snapshot, request);
    const auto kinds = complications(snapshot, rates);
    const dispatch::DispatchSituation situation{snapshot.facilities, roads, snapshot.zone,
                                                snapshot.settings,   {},    answer.settings.from};
    const auto count = static_cast<double>(request.policies.size());
    for (const dispatch::SendingPolicy policy : request.policies) {
        const auto done = static_cast<double>(answer.policies.size());
        const Progress of_policy = [&](std::string_view, double share) {
            report(progress, dispatch::to_name(policy), (done + share) / count);
        };
        YearAnswer::OfPolicy one;
        one.policy = policy;
        answer.settings.policy = policy;
        one.year = dispatch::simulate_year(situation, places, kinds, answer.vehicles,
                                           answer.settings, of_policy);
        one.figures = dispatch::figures_of(one.year);
        if (!answer.policies.empty()) {
            one.difference = dispatch::difference_of(answer.policies.front().year, one.year);
        }
        answer.policies.push_back(std::move(one));
    }
    return answer;
}

}  // namespace waybourne::server
