#include "server/coverage.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <sstream>

#include "server/settlements.hpp"
#include "server/ways.hpp"
#include "vocabulary/csv.hpp"

namespace waybourne::server {

namespace {

std::vector<coverage::Weighted> times_of(const CoverageAnswer& answer) {
    std::vector<coverage::Weighted> times;
    for (std::size_t i = 0; i < answer.settlements.size(); ++i) {
        const auto& care = answer.accesses[i].care;
        times.push_back(
            {care ? std::optional(static_cast<double>(care->allow.count())) : std::nullopt,
             answer.settlements[i].births_per_year});
    }
    return times;
}

/// The cost of each facility, in the register's order.
std::vector<double> costs_of(const facilities::FacilityRegister& places, const std::string& file) {
    std::vector<double> costs(places.facilities().size(), 1);
    if (file.empty()) {
        return costs;
    }
    std::ifstream stream(file, std::ios::binary);
    std::ostringstream text;
    if (!stream || !(text << stream.rdbuf())) {
        throw InputError("cannot read '" + file + "'");
    }
    std::vector<FieldError> errors;
    const std::vector<CsvRow> rows = read_csv(text.str());
    const std::vector<std::string> headings{"facility", "cost"};
    if (rows.empty() || rows[0].values != headings) {
        throw InputError("nothing was read: the headings must be facility,cost");
    }
    for (std::size_t i = 1; i < rows.size(); ++i) {
        const std::string line = "line " + std::to_string(rows[i].line);
        const auto& values = rows[i].values;
        const auto* const place = values.size() == 2 && rows[i].problem.empty()
                                      ? places.find_facility(FacilityId(values[0]))
                                      : nullptr;
        char* end = nullptr;
        const double cost = place == nullptr ? -1 : std::strtod(values[1].c_str(), &end);
        if (place == nullptr) {
            errors.push_back({line, "is not a facility of the register and its cost"});
        } else if (end != values[1].c_str() + values[1].size() || !(cost >= 0) ||
                   values[1].empty()) {
            errors.push_back({line + ", column cost", "is not a number of at least 0"});
        } else {
            costs[places.position(place->id)] = cost;
        }
    }
    if (!errors.empty()) {
        throw InputError("nothing was read: some costs are bad", errors);
    }
    return costs;
}

}  // namespace

CoverageAnswer answer_coverage(const Snapshot& snapshot, const CoverageRequest& request,
                               Instant now, const coverage::Work& work) {
    CoverageAnswer answer;
    answer.settlements =
        settlements_of(snapshot, {request.settlements, request.areas, request.births_per_1000});
    answer.leave_at = request.leave_at.value_or(now);
    answer.road_conditions = conditions_of(snapshot, request.road_conditions, answer.leave_at);
    Roads::Lease lease =
        snapshot.roads->lend({request.means, answer.road_conditions}, answer.leave_at);
    std::vector<std::optional<routing::Snap>> snaps;
    std::vector<bool> is_on_the_map;
    for (std::size_t i = 0; i < answer.settlements.size(); ++i) {
        snaps.push_back(lease.snap(answer.settlements[i].point));
        is_on_the_map.push_back(snaps.back().has_value());
        if (!snaps.back()) {
            answer.off_the_road.push_back(i);
        }
    }
    answer.ways = std::make_shared<const coverage::TravelTimes>(coverage::travel_times(
        lease.router(), snaps, lease.facility_snaps(), answer.leave_at, work));
    coverage::CareClock clock(answer.ways, snapshot.facilities, answer.leave_at, request.readiness,
                              answer.assumptions);
    answer.accesses = coverage::access(clock, request.question, is_on_the_map);
    const Seconds standard = request.question.standard;
    answer.total = coverage::total(answer.settlements, answer.accesses, standard);
    answer.areas = coverage::total_by_area(answer.settlements, answer.accesses, standard);
    answer.loads = coverage::loads(answer.settlements, answer.accesses, clock.places());
    answer.curve = coverage::curve(answer.settlements, answer.accesses);
    answer.distribution = coverage::distribution(times_of(answer));
    return answer;
}

UpgradeAnswer answer_upgrades(const Snapshot& snapshot, const UpgradeRequest& request, Instant now,
                              const coverage::Work& work) {
    UpgradeAnswer answer;
    answer.before = answer_coverage(snapshot, request.coverage, now, work);
    const coverage::CareClock clock(answer.before.ways, snapshot.facilities, answer.before.leave_at,
                                    coverage::ReadinessAssumption::as_registered);
    std::vector<double> births;
    std::vector<bool> covered;
    for (std::size_t i = 0; i < answer.before.settlements.size(); ++i) {
        births.push_back(answer.before.settlements[i].births_per_year);
        covered.push_back(answer.before.accesses[i].access == coverage::AccessClass::in_time);
    }
    const coverage::CareAssumptions& assumed = answer.before.assumptions;
    const Seconds way = request.coverage.question.standard - assumed.preparation - assumed.handover;
    coverage::LocationModel model = coverage::covering(*answer.before.ways, births, way, covered);
    const std::vector<double> costs = costs_of(snapshot.facilities, request.costs);
    bool is_any_free = false;
    for (std::size_t place = 0; place < model.options.size(); ++place) {
        model.options[place].cost = costs[place];
        const bool is_there = clock.offers(place, request.coverage.question.needed);
        model.options[place].choice =
            is_there ? coverage::Choice::forced_out : coverage::Choice::free;
        is_any_free = is_any_free || !is_there;
    }
    if (!is_any_free) {
        throw InputError("every facility offers all of it already");
    }
    answer.plan = coverage::exact_plan(model, request.limit, request.time, 0, work);
    for (const std::uint32_t option : answer.plan.options) {
        std::vector<std::uint32_t> others = answer.plan.options;
        std::erase(others, option);
        answer.facilities.push_back(option);
        answer.births_of_each.push_back(answer.plan.value - coverage::value_of(model, others));
    }
    return answer;
}

}  // namespace waybourne::server
