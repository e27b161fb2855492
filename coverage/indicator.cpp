#include "coverage/indicator.hpp"

#include <algorithm>
#include <cmath>

namespace waybourne::coverage {

namespace {

constexpr std::array<std::string_view, indicator_count> names{"availability",
                                                              "availability_comprehensive",
                                                              "geographic_distribution",
                                                              "births_in_facilities",
                                                              "met_need",
                                                              "caesarean_share",
                                                              "case_fatality",
                                                              "early_death_rate",
                                                              "indirect_share"};

/// A figure by its name, which is told where it is missing.
struct Part {
    std::string name;
    std::optional<double> value;
};

Part sum(const Part& a, const Part& b, std::vector<std::string>& missing) {
    for (const Part* const part : {&a, &b}) {
        if (!part->value) {
            missing.push_back(part->name);
        }
    }
    return {"", a.value && b.value ? std::optional(*a.value + *b.value) : std::nullopt};
}

Part scaled(const Part& part, double factor) {
    return {part.name, part.value ? std::optional(*part.value * factor) : std::nullopt};
}

Indicator indicator(IndicatorKind kind, const IndicatorProfile& profile, const Part& numerator,
                    const Part& denominator, std::vector<std::string> missing = {}) {
    Indicator made{kind, numerator.value, denominator.value, {}, {}, std::move(missing)};
    for (const Part* const part : {&numerator, &denominator}) {
        if (!part->value && !part->name.empty()) {
            made.missing.push_back(part->name);
        }
    }
    if (made.numerator && made.denominator && *made.denominator > 0) {
        made.value = *made.numerator / *made.denominator;
        const Acceptable& level = profile.acceptable.at(static_cast<std::size_t>(kind));
        if (level.is_stated()) {
            made.is_acceptable = level.contains(*made.value);
        }
    }
    return made;
}

}  // namespace

bool Acceptable::contains(double value) const {
    // a share such as 50 of 1,000 is exact only up to the last bit
    const auto is_less = [](double a, double b) { return a < b - 1e-12; };
    return !(at_least && is_less(value, *at_least)) && !(at_most && is_less(*at_most, value)) &&
           !(below && !is_less(value, *below));
}

std::string_view to_name(IndicatorKind kind) {
    return names.at(static_cast<std::size_t>(kind));
}

std::vector<Indicator> indicators(const IndicatorProfile& profile, const Counts& counts) {
    using Kind = IndicatorKind;
    const Part people{"population", counts.population};
    const Part units = scaled(people, 1 / profile.people_per_unit);
    std::vector<std::string> missing;
    for (const auto& [name, value] :
         {std::pair("population", counts.population), std::pair("birth_rate", counts.birth_rate)}) {
        if (!value) {
            missing.emplace_back(name);
        }
    }
    const Part expected{"", counts.population && counts.birth_rate
                                ? std::optional(*counts.population * *counts.birth_rate / 1000)
                                : std::nullopt};
    const Part births{"births", counts.births};
    const Part complications{"complications", counts.complications};
    const Part direct{"direct_deaths", counts.direct_deaths};
    const Part indirect{"indirect_deaths", counts.indirect_deaths};
    std::vector<Indicator> all;
    all.push_back(indicator(Kind::availability, profile, {"functioning", counts.functioning},
                            scaled(units, profile.facilities_per_unit)));
    all.push_back(indicator(Kind::availability_comprehensive, profile,
                            {"functioning_comprehensive", counts.functioning_comprehensive},
                            scaled(units, profile.comprehensive_per_unit)));
    all.push_back(indicator(Kind::geographic_distribution, profile, {"areas_met", counts.areas_met},
                            {"areas", counts.areas}));
    all.push_back(indicator(Kind::births_in_facilities, profile, births, expected, missing));
    all.push_back(indicator(Kind::met_need, profile, complications,
                            scaled(expected, profile.complication_share), missing));
    all.push_back(indicator(Kind::caesarean_share, profile, {"caesareans", counts.caesareans},
                            expected, missing));
    all.push_back(indicator(Kind::case_fatality, profile, direct, complications));
    std::vector<std::string> lacking;
    const Part early = sum({"intrapartum_deaths", counts.intrapartum_deaths},
                           {"first_day_deaths", counts.first_day_deaths}, lacking);
    all.push_back(indicator(Kind::early_death_rate, profile, early, births, lacking));
    std::vector<std::string> unused;
    all.push_back(
        indicator(Kind::indirect_share, profile, indirect,
                  {direct.value ? "" : direct.name, sum(direct, indirect, unused).value}));
    return all;
}

std::optional<bool> meets_availability(const IndicatorProfile& profile,
                                       const AreaAvailability& area) {
    const auto is_enough = [&](double there, double per_unit) {
        // crumbs of a division must not ask for one more
        return there >= *area.population / profile.people_per_unit * per_unit - 1e-9;
    };
    const auto is_met = [&](double functioning, double comprehensive) {
        return is_enough(functioning, profile.facilities_per_unit) &&
               is_enough(comprehensive, profile.comprehensive_per_unit);
    };
    if (!area.population) {
        return std::nullopt;
    }
    const bool at_least = is_met(area.functioning, area.comprehensive);
    const bool at_most = is_met(area.functioning + area.maybe_functioning,
                                area.comprehensive + area.maybe_comprehensive);
    return at_least == at_most ? std::optional(at_least) : std::nullopt;
}

std::optional<MissingFacilities> missing_facilities(const IndicatorProfile& profile,
                                                    const Counts& counts) {
    if (!counts.population || !counts.functioning || !counts.functioning_comprehensive) {
        return std::nullopt;
    }
    const auto lacking = [&](double per_unit, double there) {
        // crumbs of a division must not ask for one more
        const double needed = *counts.population / profile.people_per_unit * per_unit - 1e-9;
        return std::max<std::int64_t>(0, static_cast<std::int64_t>(std::ceil(needed) - there));
    };
    return MissingFacilities{
        lacking(profile.facilities_per_unit, *counts.functioning),
        lacking(profile.comprehensive_per_unit, *counts.functioning_comprehensive)};
}

}  // namespace waybourne::coverage
