#include "server/json/coverage.hpp"
#include "server/json/internal/coverage_parts.hpp"

namespace waybourne::server {

namespace {

void write_indicators(JsonWriter& json, const IndicatorAnswer& answer,
                      const std::vector<coverage::Indicator>& indicators) {
    json.key("indicators").begin_list();
    for (const coverage::Indicator& one : indicators) {
        const auto& level = answer.profile.acceptable.at(static_cast<std::size_t>(one.kind));
        json.begin_object().member("indicator", coverage::to_name(one.kind));
        write_maybe(json, "numerator", one.numerator);
        write_maybe(json, "denominator", one.denominator);
        write_maybe(json, "value", one.value, 6);
        json.member("acceptable", one.is_acceptable);
        json.key("level").begin_object();
        write_maybe(json, "at_least", level.at_least);
        write_maybe(json, "at_most", level.at_most);
        write_maybe(json, "below", level.below);
        json.end_object().member("missing", one.missing).end_object();
    }
    json.end_list();
}

void write_area_indicators(JsonWriter& json, const IndicatorAnswer& answer) {
    json.key("areas").begin_list();
    for (const AreaIndicator& one : answer.areas) {
        json.begin_object().member("area", one.availability.area);
        write_maybe(json, "population", one.availability.population, 0);
        for (const auto& [name, count] :
             {std::pair("functioning", one.availability.functioning),
              std::pair("maybe_functioning", one.availability.maybe_functioning),
              std::pair("comprehensive", one.availability.comprehensive),
              std::pair("maybe_comprehensive", one.availability.maybe_comprehensive)}) {
            json.key(name).value(count, 0);
        }
        json.member("met", one.is_met).end_object();
    }
    json.end_list();
}

void write_journal_indicators(JsonWriter& json, const IndicatorAnswer& answer) {
    json.key("from_journal");
    if (!answer.journal) {
        json.null();
        return;
    }
    const JournalCounts& counts = answer.journal->counts;
    json.begin_object().member("received", counts.received);
    json.member("other_conditions", counts.other_conditions);
    json.member("without_findings", counts.without_findings);
    json.member("without_outcome", counts.without_outcome);
    json.member("above_monthly", counts.above_monthly);
    write_indicators(json, answer, answer.journal->indicators);
    json.end_object();
}

}  // namespace

void write_indicator_answer(JsonWriter& json, const IndicatorAnswer& answer) {
    json.begin_object();
    json.key("profile").begin_object().member("id", answer.profile.id);
    json.member("source", answer.profile.source).end_object();
    json.member("first_month", coverage::to_text(answer.first));
    json.member("last_month", coverage::to_text(answer.last));
    write_maybe(json, "population", answer.counts.population, 0);
    write_maybe(json, "births_per_1000", answer.counts.birth_rate);
    write_indicators(json, answer, answer.indicators);
    json.key("missing_facilities");
    if (answer.missing_facilities) {
        json.begin_object().member("all", answer.missing_facilities->all);
        json.member("comprehensive", answer.missing_facilities->comprehensive).end_object();
    } else {
        json.null();
    }
    const auto ids = [&](const char* name, const std::vector<FacilityId>& facilities) {
        json.key(name).begin_list();
        for (const FacilityId& id : facilities) {
            json.value(id);
        }
        json.end_list();
    };
    ids("maybe_basic", answer.maybe_basic);
    ids("maybe_comprehensive", answer.maybe_comprehensive);
    ids("not_functioning", answer.not_functioning);
    write_area_indicators(json, answer);
    write_journal_indicators(json, answer);
    json.member("missing", answer.missing).end_object();
}

void write_trust_answer(JsonWriter& json, const TrustAnswer& answer) {
    json.begin_object().member("settlements", answer.settlements);
    json.key("births_per_year").value(answer.births, 2);
    json.member("settlements_estimated", answer.estimated);
    json.key("births_estimated").value(answer.births_estimated, 2);
    json.key("areas").begin_list();
    for (const coverage::AreaTotal& area : answer.areas) {
        json.begin_object().member("area", area.area);
        json.key("births_per_year").value(area.births_per_year, 2);
        json.member("settlements", area.settlements);
        write_maybe(json, "official_births_per_year", area.official_births_per_year, 2);
        json.end_object();
    }
    json.end_list().key("far_from_road").begin_list();
    for (const TrustAnswer::FarFromRoad& far : answer.far_from_road) {
        json.begin_object().member("settlement", far.settlement).member("name", far.name);
        json.key("births_per_year").value(far.births, 2);
        write_maybe(json, "off_road_m",
                    far.off_road ? std::optional(far.off_road->value()) : std::nullopt, 0);
        json.end_object();
    }
    json.end_list().key("never_confirmed").begin_list();
    for (const TrustAnswer::NeverConfirmed& place : answer.never_confirmed) {
        json.begin_object().member("facility", place.facility).member("name", place.name);
        json.member("hours", place.hours).key("care");
        write_names(json, place.care);
        json.end_object();
    }
    json.end_list().key("speeds").begin_list();
    for (const TrustAnswer::Speeds& speeds : answer.speeds) {
        json.begin_object().member("road_class", speeds.road_class);
        json.key("measured_elsewhere_m").value(speeds.measured.value(), 0);
        json.key("assumed_m").value(speeds.assumed.value(), 0);
        json.key("observed_m").value(speeds.observed.value(), 0).end_object();
    }
    json.end_list().end_object();
}

}  // namespace waybourne::server
