#include "server/competition.hpp"

#include <algorithm>

namespace waybourne::server {

namespace {

using coverage::Known;

/// Who may come to which place, and what each place has room for.
struct Market {
    coverage::TravelTimes ways;
    std::vector<double> supply;
};

/// Whether care is known to be there, for whoever comes.
Known readiness_of(AccessStudy& study, std::size_t place, triage::CapabilitySet needed) {
    bool is_known_by_any = false;
    for (std::size_t i = 0; i < study.clock().settlements(); ++i) {
        const coverage::CareTime care = study.clock().care(i, place, needed);
        if (care.ready == Known::unknown) {
            return Known::unknown;
        }
        is_known_by_any = is_known_by_any || care.ready == Known::yes;
    }
    return is_known_by_any ? Known::yes : Known::no;
}

void add_ways(AccessStudy& study, std::size_t place, triage::CapabilitySet needed, Market& market) {
    for (std::size_t i = 0; i < market.ways.settlements(); ++i) {
        if (study.clock().care(i, place, needed).ready == Known::yes) {
            market.ways.set(i, place, study.ways().at(i, place));
        }
    }
}

Market market_of(AccessStudy& study, triage::CapabilitySet needed, CompetitionAnswer& answer) {
    const std::size_t places = study.clock().places();
    Market market{coverage::TravelTimes(study.clock().settlements(), places),
                  std::vector<double>(places, 0)};
    for (std::size_t place = 0; place < places; ++place) {
        const Known ready =
            study.clock().offers(place, needed) ? readiness_of(study, place, needed) : Known::no;
        if (ready == Known::unknown) {
            answer.without_readiness.push_back(place);
        } else if (ready == Known::yes) {
            // also without a known capacity it takes its share of the women
            add_ways(study, place, needed, market);
            const auto& capacity = answer.access.capacities[place];
            market.supply[place] = capacity.value_or(0);
            if (!capacity) {
                answer.without_capacity.push_back(place);
            }
        }
    }
    return market;
}

std::vector<double> births_of(const CoverageAnswer& answer) {
    std::vector<double> births;
    for (const coverage::Settlement& settlement : answer.settlements) {
        births.push_back(settlement.births_per_year);
    }
    return births;
}

void add_scores(const CompetitionRequest& request, const Market& market,
                CompetitionAnswer& answer) {
    const std::vector<double> births = births_of(answer.access);
    auto scores = coverage::catchment_scores(market.ways, births, market.supply, request.zones,
                                             request.catchment);
    answer.of_settlement.assign(scores.of_settlement.begin(), scores.of_settlement.end());
    for (const std::size_t settlement : answer.access.off_the_road) {
        answer.of_settlement[settlement].reset();
    }
    answer.of_place = std::move(scores.of_place);
    for (const std::size_t place : answer.without_capacity) {
        answer.of_place[place].reset();
    }
    std::vector<coverage::Weighted> weighted;
    for (std::size_t i = 0; i < births.size(); ++i) {
        weighted.push_back({answer.of_settlement[i], births[i]});
    }
    answer.distribution = coverage::distribution(weighted);
}

}  // namespace

CompetitionAnswer answer_competition(const Snapshot& snapshot, const CompetitionRequest& request,
                                     Instant now, const coverage::Work& work) {
    const coverage::Scenario as_it_is;
    AccessStudy study(snapshot, request.coverage, as_it_is, now, work);
    const triage::CapabilitySet needed = request.coverage.question.needed;
    CompetitionAnswer answer;
    answer.access = study.ask(request.coverage.question);
    bool is_any_known = false;
    for (std::size_t place = 0; place < answer.access.capacities.size(); ++place) {
        is_any_known = is_any_known || (answer.access.capacities[place].has_value() &&
                                        study.clock().offers(place, needed));
    }
    if (!is_any_known) {
        throw InputError("no capacity is given of any place that offers this care");
    }
    add_scores(request, market_of(study, needed, answer), answer);
    return answer;
}

std::vector<std::size_t> least_scores(const CompetitionAnswer& answer, std::size_t most) {
    std::vector<std::size_t> all;
    for (std::size_t i = 0; i < answer.of_settlement.size(); ++i) {
        if (answer.of_settlement[i]) {
            all.push_back(i);
        }
    }
    const auto& settlements = answer.access.settlements;
    std::stable_sort(all.begin(), all.end(), [&](std::size_t a, std::size_t b) {
        return answer.of_settlement[a] != answer.of_settlement[b]
                   ? answer.of_settlement[a] < answer.of_settlement[b]
                   : settlements[a].births_per_year > settlements[b].births_per_year;
    });
    all.resize(std::min(all.size(), most));
    return all;
}

}  // namespace waybourne::server
