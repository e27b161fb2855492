#include "server/coverage_indicators.hpp"

#include <algorithm>

#include "server/program_files.hpp"
#include "server/settlements.hpp"

namespace waybourne::server {

namespace {

/// Three months, at their longest.
constexpr Seconds recently = 92 * 24h;

enum class Functioning { no, yes, unknown };

Functioning functioning(const facilities::Facility& place, triage::CapabilitySet level,
                        Instant now) {
    Functioning all = Functioning::yes;
    for (const triage::Capability one : level.members()) {
        const auto service =
            std::find_if(place.services.begin(), place.services.end(),
                         [&](const auto& offered) { return offered.capability == one; });
        if (service == place.services.end()) {
            return Functioning::no;
        }
        if (!service->last_performed_at) {
            all = Functioning::unknown;
        } else if (*service->last_performed_at < now - recently) {
            return Functioning::no;
        }
    }
    return all;
}

/// How many there are; none where some may be or not, which are then listed.
std::optional<double> count_functioning(const facilities::FacilityRegister& places,
                                        triage::CapabilitySet level, Instant now,
                                        std::vector<FacilityId>& maybe) {
    double sure = 0;
    for (const facilities::Facility& place : places.facilities()) {
        const Functioning state = functioning(place, level, now);
        sure += state == Functioning::yes ? 1 : 0;
        if (state == Functioning::unknown) {
            maybe.push_back(place.id);
        }
    }
    return maybe.empty() ? std::optional(sure) : std::nullopt;
}

std::optional<double> population_of(const std::vector<coverage::Settlement>& settlements) {
    double sum = 0;
    for (const coverage::Settlement& settlement : settlements) {
        if (!settlement.population) {
            return std::nullopt;
        }
        sum += *settlement.population;
    }
    return sum;
}

void check_months(const facilities::FacilityRegister& places, const IndicatorRequest& request) {
    std::vector<FieldError> errors;
    for (const coverage::MonthlyCount& row : request.months) {
        if (places.find_facility(row.facility) == nullptr) {
            errors.push_back({row.facility.value() + " " + coverage::to_text(row.month),
                              "is of no facility of the register"});
        }
    }
    if (!errors.empty()) {
        throw InputError("the monthly counts do not fit the district", errors);
    }
}

}  // namespace

coverage::IndicatorProfile default_indicator_profile() {
    return coverage::parse_indicator_profile(
        read_program_file(program_folder() / "coverage" / "data" / "indicators.json"));
}

IndicatorAnswer answer_indicators(const Snapshot& snapshot, const IndicatorRequest& request,
                                  const coverage::IndicatorProfile& profile, Instant now) {
    check_months(snapshot.facilities, request);
    std::vector<FacilityId> places;
    for (const facilities::Facility& place : snapshot.facilities.facilities()) {
        places.push_back(place.id);
    }
    IndicatorAnswer answer;
    answer.profile = profile;
    answer.last = request.last;
    answer.first = {request.last.number - 11};
    auto sum = coverage::sum_of(request.months, places, answer.first, answer.last);
    answer.counts = sum.counts;
    answer.missing = std::move(sum.missing);
    const auto settlements = settlements_of(snapshot, {request.settlements, {}, {}});
    answer.counts.population = request.population ? request.population : population_of(settlements);
    answer.counts.birth_rate = request.births_per_1000;
    if (!request.births_per_1000 && answer.counts.population && *answer.counts.population > 0) {
        answer.counts.birth_rate =
            coverage::births_of(settlements) / *answer.counts.population * 1000;
    }
    const auto counted =
        count_functioning(snapshot.facilities, profile.basic, now, answer.maybe_basic);
    const auto counted_comprehensive = count_functioning(snapshot.facilities, profile.comprehensive,
                                                         now, answer.maybe_comprehensive);
    answer.counts.functioning = request.functioning ? request.functioning : counted;
    answer.counts.functioning_comprehensive = request.functioning_comprehensive
                                                  ? request.functioning_comprehensive
                                                  : counted_comprehensive;
    answer.indicators = coverage::indicators(profile, answer.counts);
    answer.missing_facilities = coverage::missing_facilities(profile, answer.counts);
    return answer;
}

}  // namespace waybourne::server
