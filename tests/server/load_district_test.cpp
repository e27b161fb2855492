#include "server/load_district.hpp"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "routing/network_file.hpp"
#include "routing/osm_import.hpp"
#include "server/json/district.hpp"
#include "server/languages.hpp"
#include "server/named_place.hpp"
#include "server/program_files.hpp"
#include "server/settlements.hpp"
#include "tests/server/district_copy.hpp"
#include "tests/server/has.hpp"
#include "tests/server/served_sample.hpp"
#include "vocabulary/error.hpp"

namespace waybourne::server::test {

namespace fs = std::filesystem;

namespace {

/// The sample in a folder of its own, to be damaged.
class Copy : public DistrictCopy {
public:
    /// Changes `district.json`.
    template <typename Change>
    void change_district(Change change) const {
        nlohmann::json district = nlohmann::json::parse(read("district.json"));
        change(district);
        put("district.json", district.dump());
    }
    std::shared_ptr<const Snapshot> load() const {
        LoadOptions options;
        options.folder = path();
        options.now = parse_rfc3339(sample_now);
        return load_district(options);
    }
    std::string error() const {
        try {
            load();
        } catch (const DataError& error) {
            return error.what();
        }
        return "";
    }
};

}  // namespace

TEST_CASE("Where women live and how often births go wrong is read once, when the district is") {
    const Copy copy;
    const auto snapshot = copy.load();
    REQUIRE(snapshot->settlements);
    CHECK(snapshot->complications_per_birth == 0.15);  // WHO 1994, dispatch/data/complications.json
    const auto before = settlements_of(*snapshot);
    CHECK(before == *snapshot->settlements);
    fs::remove(copy.file("settlements.geojson"));
    CHECK(settlements_of(*snapshot) == before);
    CHECK(places_like(*snapshot, before.front().name, 1).size() == 1);
    SUBCASE("a district that names none has none, and says so where they are asked for") {
        const Copy without;
        without.change_district([](auto& district) { district["files"].erase("settlements"); });
        const auto loaded = without.load();
        CHECK_FALSE(loaded->settlements);
        CHECK_THROWS_AS(settlements_of(*loaded), InputError);
    }
    SUBCASE("a file that cannot be used as it is hinders nothing but what needs it") {
        const Copy unusable;
        unusable.put("settlements.geojson", "{}");
        const auto loaded = unusable.load();
        CHECK_FALSE(loaded->settlements);
        CHECK_THROWS_AS(settlements_of(*loaded), InputError);
    }
}

TEST_CASE("A file with one byte changed is refused by name") {
    const std::vector<std::string> names{"roads.osm", "facilities.geojson", "reports.json",
                                         "district.json", "vehicles.json"};
    for (const std::string& name : names) {
        CAPTURE(name);
        const Copy copy;
        std::fstream stream{copy.file(name), std::ios::in | std::ios::out | std::ios::binary};
        stream.seekp(40);
        stream.put('~');
        stream.close();
        const std::string error = copy.error();
        CHECK(has(error, name));
        CHECK(has(error, "SHA-256"));
    }
}

TEST_CASE("A district's own rivers are drawn instead of those of its map") {
    const auto rivers_of = [](const Snapshot& snapshot) {
        std::set<std::string> names;
        for (const MapSquare square : {MapSquare{8, 127, 127}, MapSquare{8, 127, 128},
                                       MapSquare{8, 128, 127}, MapSquare{8, 128, 128}}) {
            for (const MapLine& line : snapshot.drawing->lines(square)) {
                if (line.line_class == river_class) {
                    names.emplace(line.name);
                }
            }
        }
        return names;
    };
    const Copy copy;
    CHECK(rivers_of(*copy.load()) == std::set<std::string>{"Ishuvel", "Tlamere"});
    copy.change_district([](auto& district) { district["files"]["rivers"] = "rivers.geojson"; });
    copy.put("rivers.geojson", R"({"type": "FeatureCollection", "features": [{"type": "Feature",
        "properties": {"name": "Invented"}, "geometry": {"type": "LineString",
        "coordinates": [[0.1, 0.1], [0.5, 0.5]]}}]})");
    CHECK(rivers_of(*copy.load()) == std::set<std::string>{"Invented"});
    copy.put("rivers.geojson", R"({"type": "FeatureCollection"})");
    CHECK(has(copy.error(), "rivers.geojson: "));
}

TEST_CASE("A prepared map whose ferries sail by other clocks than the district's is refused") {
    const Copy copy;  // the sample: ferries with timetables, clocks of Etc/UTC
    const auto prepare = [&](const std::string& zone) {
        const routing::SpeedTable speeds = routing::parse_speed_table(
            read_program_file(program_folder() / "routing" / "data" / "speeds.json"));
        routing::ImportSettings settings;
        settings.time_zone = zone;
        const auto map = routing::import_osm(copy.file("roads.osm"), speeds, settings);
        routing::write_network_file(copy.file("made.roads"), map.network, std::string(64, '0'));
        copy.put("sample.roads", copy.read("made.roads"));
        copy.name_file("roads", "sample.roads");
    };
    SUBCASE("other clocks: both zones are named, and the command that makes the map again") {
        prepare("Africa/Blantyre");
        const std::string error = copy.error();
        CHECK(has(error, "sample.roads: "));
        CHECK(has(error, "the clocks of Africa/Blantyre"));
        CHECK(has(error, "those of Etc/UTC"));
        CHECK(has(error, "--output sample.roads --time-zone Etc/UTC"));
    }
    SUBCASE("the district's own zone") {
        prepare("Etc/UTC");
        CHECK(copy.error().empty());
    }
    SUBCASE("another name for the same clocks") {
        prepare("Africa/Abidjan");  // UTC since 1912
        CHECK(copy.error().empty());
    }
}

TEST_CASE("A file cut in half, missing, or unlisted is refused by name") {
    SUBCASE("cut in half") {
        const Copy copy;
        fs::resize_file(copy.file("roads.osm"), fs::file_size(copy.file("roads.osm")) / 2);
        CHECK(has(copy.error(), "roads.osm: has "));
    }
    SUBCASE("missing") {
        const Copy copy;
        fs::remove(copy.file("facilities.geojson"));
        CHECK(has(copy.error(), "facilities.geojson: cannot be read"));
    }
    SUBCASE("unlisted") {
        const Copy copy;
        std::ofstream{copy.file("manifest.json")} << R"({"files": {}})";
        CHECK(has(copy.error(), "district.json: is not in manifest.json"));
    }
    SUBCASE("no manifest at all") {
        const Copy copy;
        fs::remove(copy.file("manifest.json"));
        CHECK(has(copy.error(), "manifest.json"));
    }
    SUBCASE("a manifest that leads out of the folder") {
        const Copy copy;
        std::ofstream{copy.file("manifest.json")}
            << R"({"files": {"../secret": {"bytes": 1, "sha256": "x"}}})";
        CHECK(has(copy.error(), "outside the folder"));
    }
}

TEST_CASE("A district speaks its own language, and a reader another") {
    const Copy copy;
    copy.change_district([](auto& district) { district["language"] = "sw"; });
    const auto snapshot = copy.load();
    CHECK(snapshot->catalogue.language() == "sw");
    CHECK(catalogue_for(*snapshot, "").language() == "sw");
    CHECK(catalogue_for(*snapshot, "fr").language() == "fr");
    copy.change_district([](auto& district) { district["language"] = "xx"; });
    CHECK(has(copy.error(), "language"));
}

TEST_CASE("A district with words of its own for the protocol shows no others in any language") {
    const Copy copy;
    const std::string id = "triage.question.pulse";
    nlohmann::json words = nlohmann::json::parse(
        std::ifstream{program_folder() / "triage" / "protocol" / "texts.en.json"});
    words["texts"][id] = "Pulse, as our own protocol asks for it?";
    copy.put("words.json", words.dump());
    copy.change_district(
        [](auto& district) { district["files"]["protocol_texts"] = "words.json"; });
    const auto text_in = [&](const std::string& language) {
        return catalogue_for(*copy.load(), language).text(std::string_view{id});
    };
    CHECK(text_in("en") == "Pulse, as our own protocol asks for it?");
    CHECK(text_in("fr") == "Pulse, as our own protocol asks for it?");

    words["language"] = "fr";
    words["texts"][id] = "Le pouls, selon notre protocole ?";
    copy.put("mots.json", words.dump());
    copy.change_district(
        [](auto& district) { district["files"]["protocol_texts_fr"] = "mots.json"; });
    CHECK(text_in("fr") == "Le pouls, selon notre protocole ?");
    CHECK(text_in("sw") == "Pulse, as our own protocol asks for it?");

    words["language"] = "sw";
    copy.put("mots.json", words.dump());
    CHECK(has(copy.error(), R"(mots.json: is in "sw", not in "fr")"));
}

TEST_CASE("The sample is as fresh whenever it is started") {
    LoadOptions options;
    options.folder = program_folder() / "maps-sample";
    options.now = parse_rfc3339("2031-07-01T12:00:00Z");
    const auto later = load_district(options);
    const auto first = sample_snapshot()->facilities.reports();
    const auto moved = later->facilities.reports();
    REQUIRE(first.size() == moved.size());
    CHECK(moved.front().at - first.front().at == options.now - parse_rfc3339(sample_now));
}

TEST_CASE("The wet season may go over the turn of the year, and its days are both inside") {
    District district;
    district.wet_season = WetSeason{{11 * 32 + 1}, {4 * 32 + 30}};
    const TimeZone utc;
    const auto is_wet = [&](const char* when) {
        return expected_conditions(district, utc, parse_rfc3339(when)).surface ==
               routing::Surface::wet;
    };
    CHECK_FALSE(is_wet("2026-10-31T23:59:59Z"));
    CHECK(is_wet("2026-11-01T00:00:00Z"));
    CHECK(is_wet("2026-01-01T00:00:00Z"));
    CHECK(is_wet("2026-04-30T23:59:59Z"));
    CHECK_FALSE(is_wet("2026-05-01T00:00:00Z"));
    const auto is_night = [&](const char* when) {
        return expected_conditions(district, utc, parse_rfc3339(when)).light ==
               routing::Light::night;
    };
    CHECK(is_night("2026-03-04T05:59:59Z"));
    CHECK_FALSE(is_night("2026-03-04T06:00:00Z"));
    CHECK(is_night("2026-03-04T18:00:00Z"));
}

TEST_CASE("A district file with several faults names them all") {
    std::vector<std::string> pointers;
    try {
        parse_district(R"({"name": "X", "wet_season": {"from": "02-31", "until": "04-30"},
          "daylight": {"from": "6"}, "files": {"roads": "../roads.osm"}, "colour": "blue"})");
    } catch (const InputError& error) {
        for (const FieldError& field : error.fields()) {
            pointers.push_back(field.pointer);
        }
    }
    CHECK(pointers == std::vector<std::string>{"#/time_zone", "#/wet_season/from",
                                               "#/daylight/from", "#/files/facilities",
                                               "#/files/roads", "#/colour"});
}

}  // namespace waybourne::server::test
