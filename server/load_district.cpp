#include "server/load_district.hpp"

#include <algorithm>

#include "dispatch/vehicle_file.hpp"
#include "facilities/register_file.hpp"
#include "routing/boat_ways.hpp"
#include "routing/network_file.hpp"
#include "routing/osm_import.hpp"
#include "routing/prepared_metric.hpp"
#include "server/json/boat_ways.hpp"
#include "server/json/complications.hpp"
#include "server/json/district.hpp"
#include "server/json/rivers.hpp"
#include "server/problem.hpp"
#include "server/program_files.hpp"
#include "server/settlements.hpp"
#include "triage/protocol_file.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"
#include "vocabulary/time_zone.hpp"

namespace waybourne::server {

namespace fs = std::filesystem;

namespace {

/// What `parse` makes of a file; what is wrong with the file's content is damage to a stored file.
template <typename Parse>
auto parsed(const fs::path& file, const Parse& parse) {
    try {
        return parse();
    } catch (const InputError&) {
        throw DataError(file.string() + ": " + to_line(to_problem(std::current_exception())));
    }
}

void verify(const fs::path& file, const std::string& content, const ManifestEntry& expected) {
    if (content.size() != expected.bytes) {
        throw DataError(file.string() + ": has " + std::to_string(content.size()) +
                        " bytes; its manifest says " + std::to_string(expected.bytes));
    }
    const std::string found = sha256(content);
    if (found != expected.sha256) {
        throw DataError(file.string() + ": its SHA-256 is " + found + "; its manifest says " +
                        expected.sha256);
    }
}

/// A district's folder whose files all are what the manifest says.
class Folder {
public:
    explicit Folder(const fs::path& folder) : folder_(folder) {
        const fs::path manifest_file = folder / "manifest.json";
        const std::string text = read_program_file(manifest_file);
        manifest_ = parsed(manifest_file, [&] { return parse_manifest(text); });
        for (const auto& [name, entry] : manifest_) {
            if (name.find('/') != std::string::npos || name.starts_with('.')) {
                throw DataError(manifest_file.string() + ": names a file outside the folder");
            }
            verify(folder_ / name, read_program_file(folder_ / name), entry);
        }
    }
    fs::path path(const std::string& name) const { return folder_ / name; }
    const ManifestEntry& entry(const std::string& name) const {
        const auto found = manifest_.find(name);
        if (found == manifest_.end()) {
            throw DataError(path(name).string() + ": is not in manifest.json");
        }
        return found->second;
    }
    /// The content again, as it was verified.
    std::string content(const std::string& name) const {
        std::string text = read_program_file(path(name));
        verify(path(name), text, entry(name));
        return text;
    }

private:
    fs::path folder_;
    Manifest manifest_;
};

void move(std::optional<Instant>& instant, Seconds by) {
    if (instant) {
        *instant += by;
    }
}

void move_times(std::vector<facilities::Report>& reports, std::vector<facilities::Facility>& places,
                Seconds by) {
    for (facilities::Report& report : reports) {
        report.at += by;
        move(report.since, by);
        move(report.until, by);
        move(report.backup_until, by);
        move(report.expires_at, by);
    }
    for (facilities::Facility& place : places) {
        move(place.hours_confirmed_at, by);
        for (facilities::Service& service : place.services) {
            move(service.last_performed_at, by);
        }
    }
}

void move_times(std::vector<dispatch::Vehicle>& vehicles, Seconds by) {
    for (dispatch::Vehicle& vehicle : vehicles) {
        for (dispatch::Duty& duty : vehicle.roster) {
            duty.from += by;
            duty.until += by;
        }
        if (vehicle.last_position) {
            vehicle.last_position->at += by;
        }
        if (vehicle.busy) {
            move(vehicle.busy->until, by);
        }
    }
}

facilities::FacilityRegister load_register(const Folder& folder, const District& district,
                                           const LoadOptions& options) {
    const std::string& name = district.files.at("facilities");
    const fs::path file = folder.path(name);
    const std::string text = folder.content(name);
    auto import = parsed(file, [&] {
        return file.extension() == ".csv" ? facilities::read_facilities_csv(text)
                                          : facilities::read_facilities_geojson(text);
    });
    std::vector<facilities::Report> reports;
    const auto named = district.files.find("reports");
    if (named != district.files.end()) {
        const std::string reports_text = folder.content(named->second);
        reports = parsed(folder.path(named->second),
                         [&] { return facilities::read_reports(reports_text); });
    }
    if (district.times_move_with_the_clock) {
        move_times(reports, import.facilities, options.now - *district.now);
    }
    return parsed(file, [&] {
        return facilities::FacilityRegister{std::move(import.facilities), import.holidays}.with(
            reports);
    });
}

std::vector<dispatch::Vehicle> load_vehicles(const Folder& folder, const District& district,
                                             const LoadOptions& options) {
    const auto named = district.files.find("vehicles");
    if (named == district.files.end()) {
        return {};
    }
    const std::string text = folder.content(named->second);
    auto vehicles =
        parsed(folder.path(named->second), [&] { return dispatch::read_vehicles(text); });
    if (district.times_move_with_the_clock) {
        move_times(vehicles, options.now - *district.now);
    }
    return vehicles;
}

/// A file without births, for which a birth rate must be given, is no fault of the district:
/// whoever asks for them is told then.
std::shared_ptr<const std::vector<coverage::Settlement>> load_settlements(
    const Snapshot& snapshot) {
    if (snapshot.district.files.count("settlements") == 0) {
        return nullptr;
    }
    try {
        return std::make_shared<const std::vector<coverage::Settlement>>(
            read_settlements(snapshot));
    } catch (const InputError&) {
        return nullptr;
    }
}

/// Complications expected in each birth.
double load_complication_rate() {
    const fs::path file = program_folder() / "dispatch" / "data" / "complications.json";
    const std::string text = read_program_file(file);
    return parsed(file, [&] { return parse_complication_rates(text).per_birth; });
}

/// A network, its hierarchy where it has one already, and the rivers that its file knows.
struct LoadedNetwork {
    std::shared_ptr<const routing::RoadNetwork> network;
    std::shared_ptr<const routing::Hierarchy> hierarchy;
    std::vector<routing::River> rivers;
};

bool same_clocks(const TimeZone& a, const TimeZone& b) {
    return std::equal(a.periods().begin(), a.periods().end(), b.periods().begin(),
                      b.periods().end(), [](const OffsetPeriod& one, const OffsetPeriod& other) {
                          return one.from == other.from && one.offset == other.offset;
                      });
}

/// A prepared map keeps its ferries' timetables in the time zone that its import was told: in
/// another zone than the district's they would be hours off. Two names for the same clocks are
/// fine.
void check_zone(const fs::path& file, const routing::RoadNetwork& network,
                const District& district) {
    const TimeZone zone = load_time_zone(district.time_zone);
    for (const routing::Ferry& ferry : network.ferries()) {
        if (ferry.timetable && ferry.timetable->zone() != zone.name() &&
            !same_clocks(load_time_zone(ferry.timetable->zone()), zone)) {
            throw DataError(file.string() + ": its ferries sail by the clocks of " +
                            ferry.timetable->zone() + ", the district's clocks are those of " +
                            zone.name() +
                            "; make it again: waybourne import MAP.osm.pbf --output " +
                            file.filename().string() + " --time-zone " + zone.name());
        }
    }
}

/// A prepared map (`.roads`, written by `waybourne import`), or OpenStreetMap data.
LoadedNetwork load_network(const fs::path& file, const routing::SpeedTable& speeds,
                           const District& district, const Progress& progress) {
    if (file.extension() == ".roads") {
        const routing::NetworkFile prepared = routing::NetworkFile::open(file);
        prepared.verify();
        LoadedNetwork loaded{prepared.network(), prepared.hierarchy(), {}};
        check_zone(file, *loaded.network, district);
        return loaded;
    }
    routing::ImportSettings settings;
    settings.time_zone = district.time_zone;
    return parsed(file, [&]() -> LoadedNetwork {
        routing::ImportedMap map = routing::import_osm(file, speeds, settings, progress);
        return {std::make_shared<const routing::RoadNetwork>(std::move(map.network)), nullptr,
                std::move(map.rivers)};
    });
}

/// The district's own where it names one, such as a table that was made from its journeys; else the
/// one that comes with the program.
fs::path speeds_file(const Folder& folder, const District& district) {
    const auto named = district.files.find("speeds");
    if (named == district.files.end()) {
        return program_folder() / "routing" / "data" / "speeds.json";
    }
    folder.entry(named->second);  // throws when its content was not verified
    return folder.path(named->second);
}

/// The district's own file of rivers goes before those of its map.
std::shared_ptr<const MapDrawing> load_drawing(const Folder& folder, const District& district,
                                               const routing::RoadNetwork& network,
                                               std::vector<routing::River> rivers) {
    const auto named = district.files.find("rivers");
    if (named != district.files.end()) {
        const std::string text = folder.content(named->second);
        rivers = parsed(folder.path(named->second), [&] { return parse_rivers(text); });
    }
    return std::make_shared<const MapDrawing>(network, std::move(rivers));
}

struct LoadedRoads {
    std::shared_ptr<const Roads> roads;
    std::vector<routing::River> rivers;
};

LoadedRoads load_roads(const Folder& folder, const District& district,
                       const std::string& speeds_text, const facilities::FacilityRegister& places,
                       const LoadOptions& options) {
    RoadSources sources;
    sources.speeds = std::make_shared<const routing::SpeedTable>(parsed(
        speeds_file(folder, district), [&] { return routing::parse_speed_table(speeds_text); }));
    const fs::path roads_file = folder.path(district.files.at("roads"));
    LoadedNetwork loaded = load_network(roads_file, *sources.speeds, district, options.progress);
    sources.network = loaded.network;
    if (engine_for(options.engine, sources.network->node_count()) == Engine::hierarchy) {
        sources.hierarchy = loaded.hierarchy
                                ? loaded.hierarchy
                                : routing::make_hierarchy(*sources.network, options.progress);
    }
    for (const facilities::Facility& place : places.facilities()) {
        sources.facility_points.push_back(place.point);
    }
    return {std::make_shared<const Roads>(std::move(sources), options.most_routers),
            std::move(loaded.rivers)};
}

void load_boat_ways(const Folder& folder, const LoadOptions& options, Snapshot& snapshot) {
    const auto named = snapshot.district.files.find("boat_ways");
    if (named == snapshot.district.files.end()) {
        return;
    }
    const std::string text = folder.content(named->second);
    routing::BoatWays boats = parsed(folder.path(named->second), [&] {
        return parse_boat_ways(text, snapshot.district.time_zone);
    });
    const RoadSources& roads = snapshot.roads->sources();
    RoadSources sources;
    sources.network = std::make_shared<const routing::RoadNetwork>(routing::network_of(boats));
    sources.speeds = roads.speeds;
    sources.facility_points = roads.facility_points;
    snapshot.boat_ways = std::make_shared<const Roads>(sources, options.most_routers);
    snapshot.landings = std::move(boats.landings);
}

/// One language's words, and the text of the files they stand in, for a fingerprint.
struct LoadedCatalogue {
    Catalogue catalogue;
    std::string text;
};

/// @param protocol_texts none: no words for the protocol
LoadedCatalogue load_catalogue(const std::string& language,
                               const std::optional<fs::path>& protocol_texts) {
    std::vector<fs::path> files;
    if (protocol_texts) {
        files.push_back(*protocol_texts);
    }
    for (const char* room : {"facilities", "referral", "dispatch", "server"}) {
        files.push_back(program_folder() / room / ("texts." + language + ".json"));
    }
    LoadedCatalogue all;
    for (const fs::path& file : files) {
        const std::string text = read_program_file(file);
        const Catalogue one = parsed(file, [&] { return parse_catalogue(text); });
        if (one.language() != language) {
            throw DataError(file.string() + ": is in \"" + one.language() + "\", not in \"" +
                            language + "\"");
        }
        all.text += text;
        all.catalogue = all.text.size() == text.size()
                            ? one
                            : parsed(file, [&] { return all.catalogue.with(one); });
    }
    return all;
}

/// Where a district's protocol is put into words. Words that come with the program belong to the
/// protocol that comes with the program: a district with a protocol or words of its own says
/// everything about it in these, in other languages too unless it brings those as well.
class ProtocolTexts {
public:
    ProtocolTexts(const Folder& folder, const District& district)
        : folder_(folder), district_(district) {}

    std::optional<fs::path> in(const std::string& language) const {
        for (const std::string& name :
             {"protocol_texts_" + language, std::string("protocol_texts")}) {
            const auto named = district_.files.find(name);
            if (named != district_.files.end() &&
                (name != "protocol_texts" || language == district_.language)) {
                folder_.entry(named->second);  // throws when its content was not verified
                return folder_.path(named->second);
            }
        }
        if (has_own() && language != district_.language) {
            return std::nullopt;
        }
        return program_folder() / "triage" / "protocol" / ("texts." + language + ".json");
    }

private:
    bool has_own() const {
        return district_.files.contains("protocol") || district_.files.contains("protocol_texts");
    }

    const Folder& folder_;
    const District& district_;
};

void load_catalogues(const Folder& folder, const std::string& wanted, Snapshot& snapshot) {
    const ProtocolTexts protocol_texts{folder, snapshot.district};
    const std::string& own = snapshot.district.language;
    const std::string& first = wanted.empty() ? own : wanted;
    std::vector<LoadedCatalogue> all;
    for (const std::string_view name : catalogue_languages) {
        const std::string language{name};
        all.push_back(load_catalogue(language, protocol_texts.in(language)));
    }
    const auto in = [&](std::string_view language) {
        return std::find_if(
                   all.begin(), all.end(),
                   [&](const LoadedCatalogue& one) { return one.catalogue.language() == language; })
            ->catalogue;
    };
    // What a language does not say is said as the district says it, and else in English.
    const Catalogue below = in(own).over(in("en"));
    for (const LoadedCatalogue& loaded : all) {
        if (loaded.catalogue.language() == first) {
            snapshot.catalogue = loaded.catalogue.over(below);
            snapshot.files["texts"] = sha256(loaded.text);
        } else {
            snapshot.other_languages.push_back(loaded.catalogue.over(below));
        }
    }
}

}  // namespace

facilities::FacilityRegister load_register(const fs::path& folder, Instant now) {
    const Folder files{folder};
    const fs::path file = files.path("district.json");
    const std::string text = files.content("district.json");
    LoadOptions options;
    options.folder = folder;
    options.now = now;
    return load_register(files, parsed(file, [&] { return parse_district(text); }), options);
}

triage::Protocol load_protocol(const fs::path& file) {
    const std::string text = read_program_file(file);
    return parsed(file, [&] { return triage::parse_protocol(text); });
}

std::shared_ptr<const Snapshot> load_district(const LoadOptions& options) {
    report(options.progress, "checking the files", 0);
    const Folder folder{options.folder};
    auto snapshot = std::make_shared<Snapshot>();
    snapshot->district_text = folder.content("district.json");
    snapshot->district = parsed(folder.path("district.json"),
                                [&] { return parse_district(snapshot->district_text); });
    snapshot->zone = parsed(folder.path("district.json"),
                            [&] { return load_time_zone(snapshot->district.time_zone); });
    report(options.progress, "reading the protocol", 0.1);
    const auto& files = snapshot->district.files;
    const auto named_protocol = files.find("protocol");
    if (named_protocol != files.end()) {
        folder.entry(named_protocol->second);  // throws when its content was not verified
    }
    const fs::path protocol_file = named_protocol == files.end()
                                       ? program_folder() / "triage" / "protocol" / "protocol.json"
                                       : folder.path(named_protocol->second);
    snapshot->protocol_text = read_program_file(protocol_file);
    snapshot->protocol =
        parsed(protocol_file, [&] { return triage::parse_protocol(snapshot->protocol_text); });
    report(options.progress, "reading the facilities", 0.2);
    snapshot->facilities = load_register(folder, snapshot->district, options);
    snapshot->report_count = snapshot->facilities.report_count();
    snapshot->vehicles = load_vehicles(folder, snapshot->district, options);
    report(options.progress, "reading the roads", 0.3);
    snapshot->speeds_text = read_program_file(speeds_file(folder, snapshot->district));
    LoadedRoads loaded = load_roads(folder, snapshot->district, snapshot->speeds_text,
                                    snapshot->facilities, options);
    snapshot->roads = std::move(loaded.roads);
    load_boat_ways(folder, options, *snapshot);
    snapshot->drawing = load_drawing(folder, snapshot->district, snapshot->roads->network(),
                                     std::move(loaded.rivers));
    snapshot->map_sha256 = folder.entry(files.at("roads")).sha256;
    snapshot->made_at = options.now;
    snapshot->read_at = options.now;
    snapshot->folder = options.folder;
    snapshot->settlements = load_settlements(*snapshot);
    snapshot->complications_per_birth = load_complication_rate();
    snapshot->files = {{"map", snapshot->map_sha256},
                       {"protocol", snapshot->protocol.sha256},
                       {"facilities", folder.entry(files.at("facilities")).sha256},
                       {"district", folder.entry("district.json").sha256},
                       {"speeds", sha256(snapshot->speeds_text)}};
    load_catalogues(folder, options.language, *snapshot);
    if (files.count("reports") != 0) {
        snapshot->files["reports"] = folder.entry(files.at("reports")).sha256;
    }
    report(options.progress, "ready", 1);
    return snapshot;
}

}  // namespace waybourne::server
