#include "tests/sample/sample_district.hpp"

#include <fstream>
#include <sstream>

#include "facilities/register_file.hpp"
#include "maps-sample/generator/reports.hpp"
#include "routing/metric.hpp"
#include "routing/osm_import.hpp"
#include "routing/reference_router.hpp"
#include "routing/speed_rules.hpp"
#include "triage/assess.hpp"
#include "triage/protocol_file.hpp"

namespace waybourne::sample {

namespace {

const std::string root = WAYBOURNE_SOURCE_DIR;
const std::string folder = root + "/maps-sample/";

std::string read(const std::string& path) {
    std::ifstream file{path, std::ios::binary};
    if (!file) {
        throw InputError("cannot read " + path);
    }
    std::ostringstream content;
    content << file.rdbuf();
    return content.str();
}

std::shared_ptr<const routing::RoadNetwork> load_roads(const routing::SpeedTable& speeds) {
    routing::ImportSettings settings;
    settings.time_zone = "Etc/UTC";
    return std::make_shared<const routing::RoadNetwork>(
        routing::import_osm(folder + "roads.osm", speeds, settings).network);
}

Catalogue load_texts() {
    Catalogue texts = parse_catalogue(read(root + "/triage/protocol/texts.en.json"));
    for (const char* room : {"facilities", "referral"}) {
        texts = texts.with(parse_catalogue(read(root + "/" + room + "/texts.en.json")));
    }
    return texts;
}

void move(std::optional<Instant>& instant, Seconds by) {
    if (instant) {
        *instant += by;
    }
}

}  // namespace

struct SampleDistrict::Ways {
    std::shared_ptr<const routing::Metric> metric;
    std::vector<std::optional<routing::Snap>> snaps;
};

SampleDistrict::SampleDistrict()
    : speeds_(routing::parse_speed_table(read(root + "/routing/data/speeds.json"))),
      network_(load_roads(speeds_)),
      index_(network_),
      protocol_(triage::parse_protocol(read(root + "/triage/protocol/protocol.json"))),
      reports_(facilities::load_reports(folder + "reports.json")),
      sample_now_(parse_rfc3339(sample_now)),
      catalogue_(load_texts()) {
    facilities::Import import = facilities::load_facilities(folder + "facilities.geojson");
    facilities_ = std::move(import.facilities);
    holidays_ = std::move(import.holidays);
}

facilities::FacilityRegister SampleDistrict::register_at(Instant moment) const {
    const Seconds by = moment - sample_now_;
    std::vector<facilities::Facility> places = facilities_;
    for (facilities::Facility& place : places) {
        move(place.hours_confirmed_at, by);
    }
    std::vector<facilities::Report> reports = reports_;
    for (facilities::Report& report : reports) {
        report.at += by;
        move(report.since, by);
        move(report.until, by);
        move(report.backup_until, by);
        move(report.expires_at, by);
    }
    return facilities::FacilityRegister{std::move(places), holidays_}.with(reports);
}

SampleDistrict::Ways SampleDistrict::ways(const facilities::FacilityRegister& places,
                                          routing::RoadConditions conditions) const {
    Ways ways;
    ways.metric = std::make_shared<const routing::Metric>(
        network_, routing::speed_rules(speeds_, routing::Means::car, conditions));
    for (const facilities::Facility& place : places.facilities()) {
        ways.snaps.push_back(index_.snap(place.point, *ways.metric));
    }
    return ways;
}

LineAnswer SampleDistrict::answer(const Case& woman) const {
    const facilities::FacilityRegister places = register_at(woman.now);
    const Ways prepared = ways(places, woman.conditions);
    routing::ReferenceRouter router{prepared.metric};
    const FacilityId here{woman.at_facility};
    referral::Start start;
    start.from = prepared.snaps.at(places.position(here)).value();
    start.at_facility = here;
    LineAnswer answer;
    answer.assessment = triage::assess(protocol_, woman.findings, woman.now);
    answer.recommendation = referral::recommend(answer.assessment, places, prepared.snaps, router,
                                                start, referral::ChoiceSettings{}, woman.now);
    return answer;
}

std::optional<routing::TravelTime> SampleDistrict::travel_time(const std::string& from,
                                                               const std::string& to,
                                                               routing::RoadConditions conditions,
                                                               Instant at) const {
    const facilities::FacilityRegister places = register_at(at);
    const Ways prepared = ways(places, conditions);
    routing::ReferenceRouter router{prepared.metric};
    const auto snap = [&](const std::string& id) {
        return prepared.snaps.at(places.position(FacilityId{id})).value();
    };
    const std::vector<routing::Snap> targets{snap(to)};
    return router.travel_times({snap(from), at}, targets, 24h).front();
}

std::string SampleDistrict::words(const std::vector<Message>& messages) const {
    std::string words;
    for (const Message& message : messages) {
        words += (words.empty() ? "" : "; ") + catalogue_.text(message);
    }
    return words;
}

}  // namespace waybourne::sample
