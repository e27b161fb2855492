#pragma once
/// The indicators of emergency obstetric care, with what each is made of and what is missing.

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "facilities/service.hpp"
#include "vocabulary/identifier.hpp"

namespace waybourne::coverage {

/// Where a value must lie; equality counts, but for `below`.
struct Acceptable {
    std::optional<double> at_least;
    std::optional<double> at_most;
    std::optional<double> below;
    bool is_stated() const { return at_least || at_most || below; }
    bool contains(double value) const;
    bool operator==(const Acceptable&) const = default;
};

enum class IndicatorKind : std::uint8_t {
    availability,                ///< 1
    availability_comprehensive,  ///< 1
    geographic_distribution,     ///< 2: sub-districts that meet 1
    births_in_facilities,        ///< 3
    met_need,                    ///< 4
    caesarean_share,             ///< 5
    case_fatality,               ///< 6
    early_death_rate,            ///< 7
    indirect_share,              ///< 8
};
inline constexpr std::size_t indicator_count = 9;

/// e.g. `met_need`
std::string_view to_name(IndicatorKind kind);

/// One edition of the indicators: data, never code (coverage/data/indicators.json has that of
/// 2009).
struct IndicatorProfile {
    std::string id;
    std::string source;
    double people_per_unit = 0;
    double facilities_per_unit = 0;
    double comprehensive_per_unit = 0;
    /// Complications expected per birth.
    double complication_share = 0;
    triage::CapabilitySet basic;
    triage::CapabilitySet comprehensive;
    /// Suspicions of the protocol that stand for the edition's direct complications, where they are
    /// counted from referrals. Empty: none are.
    std::vector<std::string> direct_conditions;
    std::array<Acceptable, indicator_count> acceptable;
};

/// @throws InputError with everything that is wrong, missing or unknown
IndicatorProfile parse_indicator_profile(std::string_view json);

/// What is counted. None: not known, which is never 0.
struct Counts {
    std::optional<double> population;
    /// Births a year per 1,000 people.
    std::optional<double> birth_rate;
    std::optional<double> functioning;
    std::optional<double> functioning_comprehensive;
    /// Sub-districts, and those of them that have the facilities that their people need.
    std::optional<double> areas;
    std::optional<double> areas_met;
    std::optional<double> births;
    std::optional<double> caesareans;
    std::optional<double> complications;
    std::optional<double> direct_deaths;
    std::optional<double> indirect_deaths;
    std::optional<double> intrapartum_deaths;
    std::optional<double> first_day_deaths;
};

struct Indicator {
    IndicatorKind kind{};
    std::optional<double> numerator;
    std::optional<double> denominator;
    /// None: not computable: something is missing, or the denominator is 0. Never clipped: met need
    /// above 100 % is shown as it is.
    std::optional<double> value;
    /// None where the edition states no level, or there is no value. Judged before any rounding.
    std::optional<bool> is_acceptable;
    /// Names of what is not known.
    std::vector<std::string> missing;
};

/// In the order of the kinds. Expected births = population × birth rate ÷ 1,000.
std::vector<Indicator> indicators(const IndicatorProfile& profile, const Counts& counts);

/// One sub-district's facilities. Of some it may not be known whether they function.
struct AreaAvailability {
    std::string area;
    std::optional<double> population;
    double functioning = 0;
    double maybe_functioning = 0;
    double comprehensive = 0;
    double maybe_comprehensive = 0;
    bool operator==(const AreaAvailability&) const = default;
};

/// Whether it has as many functioning facilities, and comprehensive ones among them, as the edition
/// asks for its people: the first indicator, of one sub-district. None: what is not known decides.
std::optional<bool> meets_availability(const IndicatorProfile& profile,
                                       const AreaAvailability& area);

/// Whole facilities that are missing: all, and comprehensive ones among them.
struct MissingFacilities {
    std::int64_t all = 0;
    std::int64_t comprehensive = 0;
    bool operator==(const MissingFacilities&) const = default;
};
/// None where the population or a count is not known.
std::optional<MissingFacilities> missing_facilities(const IndicatorProfile& profile,
                                                    const Counts& counts);

/// A month of a year, counted from the year 0.
struct Month {
    int number = 0;
    auto operator<=>(const Month&) const = default;
};
/// `2026-03`
std::string to_text(Month month);
std::optional<Month> find_month(std::string_view text);

/// What one facility reported for one month. A cell left empty is not known.
struct MonthlyCount {
    FacilityId facility;
    Month month;
    Counts counts;
};

/// CSV with `facility`, `month` (2026-03) and any of `births`, `caesareans`, `complications`,
/// `direct_deaths`, `indirect_deaths`, `intrapartum_deaths`, `first_day_deaths`.
/// @throws InputError with every bad row: negative or broken numbers, a month that is none, the
/// same
///         facility and month twice
std::vector<MonthlyCount> read_monthly_counts(std::string_view csv);

struct MonthlySum {
    /// A sum over what was reported; none where nothing was.
    Counts counts;
    /// `FACILITY 2026-03` where no row came, `FACILITY 2026-03 births` where a cell is empty.
    std::vector<std::string> missing;
};

/// Sums the months `first` to `last` over these facilities.
MonthlySum sum_of(std::span<const MonthlyCount> rows, std::span<const FacilityId> facilities,
                  Month first, Month last);

}  // namespace waybourne::coverage
