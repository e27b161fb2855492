#include "server/speed_offer.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>

#include "routing/speed_table.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

namespace {

using Json = nlohmann::ordered_json;
using coverage::ClassCalibration;

/// The fastest that a speed table holds (routing/speed_table.hpp).
constexpr double fastest_kmh = 150;

double rounded(double value) {
    constexpr double thousand = 1000;
    return std::round(value * thousand) / thousand;
}

/// What is offered for one class in one season. What is not offered stays as it is.
struct SeasonChange {
    /// Of times: by day, or of day and night together; none: not offered.
    std::optional<double> day;
    /// At night, where it is told apart.
    std::optional<double> night;
    bool is_told_apart = false;
    std::size_t night_journeys = 0;

    /// How many times longer a night takes, against a day, than by the table.
    double night_ratio() const { return night.value_or(1) / day.value_or(1); }
};

SeasonChange season_change(const SpeedOffer& offer, const std::string& road_class,
                           routing::Surface surface) {
    SeasonChange made;
    for (const ClassCalibration& one : offer.changes) {
        if (one.road_class != road_class || one.surface != surface || !one.time_factor) {
            continue;
        }
        made.is_told_apart = made.is_told_apart || one.light.has_value();
        if (one.light == routing::Light::night) {
            made.night = one.time_factor;
            made.night_journeys = one.journeys;
        } else {
            made.day = one.time_factor;
        }
    }
    return made;
}

/// How a row reads for one class with its own speeds.
class RowChange {
public:
    RowChange(const SpeedOffer& offer, const std::string& road_class, const std::string& source,
              std::set<std::string>& cut_off)
        : dry_(season_change(offer, road_class, routing::Surface::dry)),
          wet_(season_change(offer, road_class, routing::Surface::wet)),
          road_class_(road_class),
          source_(source),
          cut_off_(cut_off) {}

    Json of(Json row) const {
        row["road_classes"] = Json::array({road_class_});
        const double dry = 1 / dry_.day.value_or(1);
        const double wet = 1 / wet_.day.value_or(1);
        if (dry_.day) {
            for (const char* const name : {"low", "central", "high"}) {
                auto& speed = row.at("dry_day_kmh").at(name).get_ref<double&>();
                speed = within(rounded(speed * dry), fastest_kmh);
            }
            row["source"] = source_;
        }
        // what is not offered for the wet stays as fast in the wet as it was
        row["wet_factor"] = within(rounded(row.at("wet_factor").get<double>() * wet / dry), 1);
        if (dry_.is_told_apart || wet_.is_told_apart) {
            row["night_factor"] =
                within(rounded(row.at("night_factor").get<double>() / night_ratio()), 1);
        }
        row["factor_source"] = source_;
        return row;
    }

private:
    /// A table has one night for both seasons: each counts by its journeys at night, and a season
    /// in which day and night are not told apart says nothing.
    double night_ratio() const {
        double sum = 0;
        double weights = 0;
        for (const SeasonChange* const season : {&dry_, &wet_}) {
            if (season->is_told_apart) {
                const auto weight = static_cast<double>(
                    std::max<std::size_t>(season->night_journeys, coverage::fewest_to_calibrate));
                sum += weight * season->night_ratio();
                weights += weight;
            }
        }
        return weights > 0 ? sum / weights : 1;
    }
    double within(double value, double most) const {
        if (value > most) {
            cut_off_.insert(road_class_);
        }
        return std::min(value, most);
    }

    SeasonChange dry_;
    SeasonChange wet_;
    const std::string& road_class_;
    const std::string& source_;
    std::set<std::string>& cut_off_;
};

bool is_for(const Json& row, const std::string& road_class) {
    const auto classes = row.find("road_classes");
    return classes == row.end() || classes->empty() ||
           std::find(classes->begin(), classes->end(), road_class) != classes->end();
}

/// Whole numbers become decimal ones, so that they can be changed in place.
void loosen(Json& row) {
    for (auto& [name, speed] : row.at("dry_day_kmh").items()) {
        speed = speed.get<double>();
    }
}

Json rows_with(const Json& rows, const SpeedOffer& offer, const std::string& source,
               std::set<std::string>& cut_off) {
    std::set<std::string> classes;
    for (const ClassCalibration& one : offer.changes) {
        classes.insert(one.road_class);
    }
    Json made = Json::array();
    for (const Json& row : rows) {
        for (const std::string& road_class : classes) {
            if (is_for(row, road_class)) {
                Json changed = row;
                loosen(changed);
                made.push_back(RowChange(offer, road_class, source, cut_off).of(changed));
            }
        }
        made.push_back(row);
    }
    return made;
}

std::string source_text(const SpeedOffer& offer, const Acceptance& acceptance) {
    std::string text = fmt::format("{} journeys of this district's own, until {}", offer.journeys,
                                   to_rfc3339(offer.made_at));
    for (const ClassCalibration& one : offer.changes) {
        text += fmt::format("; {} {}{}: {} journeys took {:.3g} times as long as by table {}",
                            one.road_class, one.surface == routing::Surface::wet ? "wet" : "dry",
                            !one.light                            ? ""
                            : *one.light == routing::Light::night ? " at night"
                                                                  : " by day",
                            one.journeys, *one.time_factor, offer.table_version);
    }
    return text + fmt::format(". Accepted by {} at {}: {}", acceptance.by,
                              to_rfc3339(acceptance.at), acceptance.why);
}

void check(const std::string& table_text, const SpeedOffer& offer, const Acceptance& acceptance) {
    if (acceptance.by.empty() || acceptance.why.empty()) {
        throw InputError("say who accepts the speeds, and why");
    }
    if (offer.changes.empty()) {
        throw InputError(
            "the offer changes nothing: there are too few journeys, or the table holds");
    }
    if (sha256(table_text) != offer.table_sha256) {
        throw InputError("the offer is about another speed table: ask the journeys again");
    }
}

}  // namespace

AcceptedTable accepted_table(const std::string& table_text, const SpeedOffer& offer,
                             const Acceptance& acceptance) {
    check(table_text, offer, acceptance);
    Json table = Json::parse(table_text);
    const std::string source = std::string(own_journeys) + to_rfc3339(acceptance.at).substr(0, 10);
    if (table.at("sources").contains(source)) {
        throw InputError("this table has speeds accepted on that day already");
    }
    std::set<std::string> cut_off;
    table["sources"][source] = {{"text", source_text(offer, acceptance)}, {"is_measured", true}};
    table["rows"] = rows_with(table.at("rows"), offer, source, cut_off);
    table["version"] = table.at("version").get<std::string>() + "+" + source;
    constexpr int indent = 2;
    AcceptedTable made{table.dump(indent) + '\n', {cut_off.begin(), cut_off.end()}};
    routing::parse_speed_table(made.text);  // a table that cannot be read is written nowhere
    return made;
}

}  // namespace waybourne::server
