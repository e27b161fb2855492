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

/// Of those who live there; none where somebody's number is not known.
std::optional<double> population_in(const coverage::Area& area,
                                    const std::vector<coverage::Settlement>& settlements) {
    double sum = 0;
    for (const coverage::Settlement& settlement : settlements) {
        if (settlement.area != area.id) {
            continue;
        }
        if (!settlement.population) {
            return std::nullopt;
        }
        sum += *settlement.population;
    }
    return sum;
}

AreaIndicator area_told(const Snapshot& snapshot, const coverage::Area& area,
                        std::optional<double> population, const coverage::IndicatorProfile& profile,
                        Instant now) {
    coverage::AreaAvailability made{area.id.value(), population};
    for (const facilities::Facility& place : snapshot.facilities.facilities()) {
        if (!coverage::contains(area, place.point)) {
            continue;
        }
        const Functioning basic = functioning(place, profile.basic, now);
        const Functioning all = functioning(place, profile.comprehensive, now);
        made.functioning += basic == Functioning::yes ? 1 : 0;
        made.maybe_functioning += basic == Functioning::unknown ? 1 : 0;
        made.comprehensive += all == Functioning::yes ? 1 : 0;
        made.maybe_comprehensive += all == Functioning::unknown ? 1 : 0;
    }
    return {made, coverage::meets_availability(profile, made)};
}

std::vector<AreaIndicator> areas_told(const Snapshot& snapshot,
                                      const std::vector<coverage::Area>& areas,
                                      const std::vector<coverage::Settlement>& settlements,
                                      const coverage::IndicatorProfile& profile, Instant now) {
    std::vector<AreaIndicator> told;
    told.reserve(areas.size());
    for (const coverage::Area& area : areas) {
        told.push_back(area_told(snapshot, area, population_in(area, settlements), profile, now));
    }
    return told;
}

void count_areas(const std::vector<AreaIndicator>& areas, coverage::Counts& counts) {
    if (areas.empty()) {
        return;
    }
    counts.areas = static_cast<double>(areas.size());
    counts.areas_met = 0.0;
    for (const AreaIndicator& area : areas) {
        if (!area.is_met) {
            counts.areas_met.reset();
            return;
        }
        *counts.areas_met += *area.is_met ? 1 : 0;
    }
}

JournalIndicators journal_told(const Snapshot& snapshot, const IndicatorRequest& request,
                               const IndicatorAnswer& answer, const journal::Journal& journal) {
    JournalIndicators told;
    told.counts = journal_counts(snapshot, journal, answer.profile, request.months, answer.first,
                                 answer.last);
    told.counts.counts.population = answer.counts.population;
    told.counts.counts.birth_rate = answer.counts.birth_rate;
    told.indicators = coverage::indicators(answer.profile, told.counts.counts);
    for (coverage::Indicator& one : told.indicators) {
        one.is_acceptable.reset();
    }
    return told;
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

std::vector<FacilityId> counted_not_functioning(const facilities::FacilityRegister& places,
                                                const IndicatorRequest& request,
                                                triage::CapabilitySet basic, Instant now) {
    std::vector<FacilityId> found;
    for (const facilities::Facility& place : places.facilities()) {
        const bool is_counted =
            std::any_of(request.months.begin(), request.months.end(),
                        [&](const auto& row) { return row.facility == place.id; });
        if (is_counted && functioning(place, basic, now) == Functioning::no) {
            found.push_back(place.id);
        }
    }
    return found;
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
                                  const coverage::IndicatorProfile& profile, Instant now,
                                  const journal::Journal* journal) {
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
    const auto settlements = settlements_of(snapshot, {request.settlements, request.areas, {}});
    answer.counts.population = request.population ? request.population : population_of(settlements);
    answer.counts.birth_rate = request.births_per_1000;
    if (!request.births_per_1000 && answer.counts.population && *answer.counts.population > 0) {
        answer.counts.birth_rate =
            coverage::births_of(settlements) / *answer.counts.population * 1000;
    }
    answer.not_functioning =
        counted_not_functioning(snapshot.facilities, request, profile.basic, now);
    const auto counted =
        count_functioning(snapshot.facilities, profile.basic, now, answer.maybe_basic);
    const auto counted_comprehensive = count_functioning(snapshot.facilities, profile.comprehensive,
                                                         now, answer.maybe_comprehensive);
    answer.counts.functioning = request.functioning ? request.functioning : counted;
    answer.counts.functioning_comprehensive = request.functioning_comprehensive
                                                  ? request.functioning_comprehensive
                                                  : counted_comprehensive;
    answer.areas =
        areas_told(snapshot, areas_of(snapshot, request.areas), settlements, profile, now);
    count_areas(answer.areas, answer.counts);
    answer.indicators = coverage::indicators(profile, answer.counts);
    if (request.from_journal) {
        if (journal == nullptr) {
            throw Unavailable("there is no journal to count in");
        }
        answer.journal = journal_told(snapshot, request, answer, *journal);
    }
    answer.missing_facilities = coverage::missing_facilities(profile, answer.counts);
    return answer;
}

std::vector<Message> what_is_missing(const IndicatorAnswer& answer) {
    std::vector<Message> all;
    if (!answer.missing.empty()) {
        all.push_back({"server.coverage.months_missing",
                       {{"count", std::to_string(answer.missing.size())},
                        {"first", answer.missing.front()}}});
    }
    if (!answer.maybe_basic.empty() || !answer.maybe_comprehensive.empty()) {
        all.push_back({"server.coverage.maybe_functioning",
                       {{"basic", std::to_string(answer.maybe_basic.size())},
                        {"comprehensive", std::to_string(answer.maybe_comprehensive.size())}}});
    }
    if (!answer.not_functioning.empty()) {
        std::string names;
        for (const FacilityId& id : answer.not_functioning) {
            names += (names.empty() ? "" : ", ") + id.value();
        }
        all.push_back({"server.coverage.not_functioning", {{"names", names}}});
    }
    return all;
}

}  // namespace waybourne::server
