#include "facilities/register_file.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "tests/facilities/places.hpp"
#include "vocabulary/csv.hpp"

namespace waybourne::facilities {
namespace {

using triage::Capability;

/// Every error of a refusal as `pointer: detail`.
template <typename Read>
std::vector<std::string> errors_of(Read read) {
    std::vector<std::string> all;
    try {
        read();
    } catch (const InputError& error) {
        if (error.fields().empty()) {
            all.emplace_back(error.what());
        }
        for (const FieldError& field : error.fields()) {
            all.push_back(field.pointer + ": " + field.detail);
        }
    }
    return all;
}

/// One line each.
std::string joined(const std::vector<std::string>& errors) {
    std::string all;
    for (const std::string& error : errors) {
        all.append(error).append("\n");
    }
    return all;
}

std::vector<std::string> csv_errors(const std::string& text, const ImportOptions& options = {}) {
    return errors_of([&] { read_facilities_csv(text, options); });
}

std::vector<std::string> geojson_errors(const std::string& text) {
    return errors_of([&] { read_facilities_geojson(text); });
}

const std::string headings =
    "id,name,latitude,longitude,kind,phones,time_zone,capabilities,hours\n";

/// A GeoJSON file with one facility with these geometry and properties.
std::string one_feature(
    const std::string& properties,
    const std::string& geometry = R"({"type":"Point","coordinates":[0.4,-0.1]})") {
    return R"({"type":"FeatureCollection","features":[{"type":"Feature","id":"a","geometry":)" +
           geometry + R"(,"properties":{"name":"A","time_zone":"Etc/GMT")" + properties + "}}]}";
}

std::string text_of(const std::filesystem::path& path) {
    std::ifstream file(path);
    REQUIRE_MESSAGE(file, path.string());
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

/// The code blocks of one language in the guide.
std::vector<std::string> blocks_of_guide(const std::string& language) {
    const std::string guide =
        text_of(std::filesystem::path(WAYBOURNE_SOURCE_DIR) / "docs/howto/import-facilities.md");
    std::vector<std::string> blocks;
    const std::string opening = "```" + language + "\n";
    for (std::size_t at = guide.find(opening); at != std::string::npos;
         at = guide.find(opening, at)) {
        at += opening.size();
        blocks.push_back(guide.substr(at, guide.find("```", at) - at));
    }
    return blocks;
}

TEST_CASE("What the guide shows can be imported, and means what it says") {
    const auto json = blocks_of_guide("json");
    REQUIRE(json.size() == 2);
    const Import made = read_facilities_geojson(json[0]);
    REQUIRE(made.facilities.size() == 1);
    const Facility& hospital = made.facilities[0];
    CHECK(hospital.id.value() == "mbenje-district-hospital");
    CHECK(hospital.point.longitude().degrees == 0.412);
    CHECK(hospital.point.latitude().degrees == -0.137);
    CHECK(hospital.phones.size() == 2);
    CHECK(hospital.resources.size() == 8);
    CHECK(hospital.resources[2].call_in == 30min);
    CHECK(hospital.services[1].needs ==
          std::vector<Dependency>{{"lab", 1}, {"blood_o_negative", 2}});
    CHECK(made.holidays.size() == 2);
    CHECK(made.warnings.empty());

    FacilityRegister facilities(made.facilities, made.holidays);
    facilities = facilities.with(read_reports(json[1]));
    CHECK(facilities.report_count() == 5);
    const auto caesarean = readiness(facilities, hospital.id, Capability::operative_delivery,
                                     at("2026-03-04T09:00:00Z"), at("2026-03-04T08:00:00Z"));
    CHECK(caesarean.state == ReadinessState::not_ready);
    CHECK(words(caesarean).find("generator out since 04:10, back-up until 06:30") !=
          std::string::npos);

    const auto csv = blocks_of_guide("csv");
    REQUIRE(csv.size() == 1);
    const Import rows = read_facilities_csv(csv[0]);
    REQUIRE(rows.facilities.size() == 2);
    CHECK(rows.facilities[0].phones == std::vector<std::string>{"+99900000103", "+99900000104"});
    CHECK(rows.facilities[0].services.size() == 3);
    CHECK(rows.facilities[1].hours->is_always_open());
}

TEST_CASE("Every bad row of a list is named with its line, its column and what is allowed") {
    const std::string text = headings +
                             "good,Good,-0.1,0.4,clinic,,Etc/GMT,uterotonics,24/7\n"
                             "bad id,,97.1,0.4,clinic,,Etc/GMT,uterotonic,always\n"
                             "good,Twin,-0.1,x,clinic,,Nowhere,,\n"
                             "short,Short\n"
                             "\"open,Open,1,2\n";
    const auto errors = csv_errors(text);
    CHECK(joined(errors) ==
          "line 3, column latitude: latitude 97.1 is outside -90 to 90; latitude and longitude "
          "look swapped"
          "\n"
          "line 3, column hours: opening hours 'always': at 'always': not a weekday (Mo), a "
          "month (Jan), PH, off, closed or open"
          "\n"
          "line 3, column capabilities: 'uterotonic' is not a capability; did you mean "
          "'uterotonics'?"
          "\n"
          "line 3, column id: 'bad id' is not an id: 1 to 100 of a-z, 0-9, _ and -"
          "\n"
          "line 3, column name: a name of 1 to 300 bytes is needed"
          "\n"
          "line 4, column longitude: 'x' is not a number of degrees such as -13.75"
          "\n"
          "line 4, column time_zone: 'Nowhere' is not a time zone such as Africa/Blantyre or "
          "Etc/GMT"
          "\n"
          "line 4, column id: 'good' is already the id of row 2"
          "\n"
          "line 5: has 2 values, the headings are 9"
          "\n"
          "line 6: a quote is opened and never closed"
          "\n");
    SUBCASE("told to leave bad rows out, the good one comes in and the others are listed") {
        ImportOptions options;
        options.bad_rows = BadRows::leave_out;
        const Import made = read_facilities_csv(text, options);
        REQUIRE(made.facilities.size() == 1);
        CHECK(made.facilities[0].name == "Good");
        CHECK(made.left_out.size() == errors.size());
        CHECK(to_text(made.left_out[5]) ==
              "row 4 (Twin), longitude: 'x' is not a number of degrees such as -13.75");
    }
}

TEST_CASE("Headings that are wrong stop everything, with the nearest that is right") {
    CHECK(csv_errors("") == std::vector<std::string>{"line 1: the file is empty"});
    CHECK(csv_errors("id,name,latitude,longitud,time_zone\n") ==
          std::vector<std::string>{
              "line 1: column 'longitud' is not known; did you mean 'longitude'?",
              "line 1: column 'longitude' is missing"});
    CHECK(csv_errors("id,id,name,latitude,longitude,time_zone\n") ==
          std::vector<std::string>{"line 1: column 'id' stands twice"});
    ImportOptions options;
    options.bad_rows = BadRows::leave_out;
    options.columns = {{"latitud", "lat"}};
    CHECK(csv_errors("id,name,latitude,longitude,time_zone,lat\n", options).at(0) ==
          "options: 'latitud' is not a column of ours; did you mean 'latitude'?");
    CHECK(csv_errors("id,name,\xff\n").at(0) == "nothing was imported: the file is not UTF-8 text");
}

TEST_CASE("Quotes, line ends and marks are read as RFC 4180 has them") {
    const Import made = read_facilities_csv(
        "\xEF\xBB\xBFid,name,latitude,longitude,time_zone\r\n"
        "a,\"Clinic \"\"Hope\"\", Hill\",-0.1,0.4,Etc/GMT\r\n"
        "\r\n"
        "b,\"two\nlines\",-0.1,0.4,Etc/GMT");
    REQUIRE(made.facilities.size() == 2);
    CHECK(made.facilities[0].name == "Clinic \"Hope\", Hill");
    CHECK(made.facilities[1].name == "two\nlines");
    CHECK(csv_errors("id,name,latitude,longitude,time_zone\na,b\"c,1,2,Etc/GMT\n") ==
          std::vector<std::string>{"line 2: a quote inside a value that does not begin with one"});
    CHECK(csv_errors("id,name,latitude,longitude,time_zone\na,\"b\"c,1,2,Etc/GMT\n") ==
          std::vector<std::string>{"line 2: text follows a closing quote"});
}

TEST_CASE("The public facilities of Malawi come in, and the nine without a place are named") {
    // Source: Maina et al., Scientific Data 6:134 (2019), CC BY 4.0, as retrieved for the tests;
    // the file itself is not part of this project, so the case needs WAYBOURNE_DATA to point at it.
    const char* const data = std::getenv("WAYBOURNE_DATA");
    const std::string path =
        std::string(data == nullptr ? "" : data) + "/planning/malawi/malawi_public_facilities.csv";
    if (!std::filesystem::exists(path)) {
        MESSAGE("not run: WAYBOURNE_DATA does not hold planning/malawi");
        return;
    }
    ImportOptions options;
    options.columns = {{"latitude", "lat"}, {"longitude", "lon"}, {"kind", "type"}};
    options.ignored_columns = {"country", "admin1", "ownership", "coordinate_source"};
    options.defaults = {{"time_zone", "Africa/Blantyre"}};
    options.make_ids = true;
    CHECK_THROWS_WITH_AS(load_facilities(path, options), "nothing was imported: 9 rows are bad",
                         InputError);
    options.bad_rows = BadRows::leave_out;
    const Import made = load_facilities(path, options);
    CHECK(made.facilities.size() == 639);
    std::vector<std::string> nameless;
    for (const RowRemark& remark : made.left_out) {
        if (remark.column == "latitude") {
            nameless.push_back(std::to_string(remark.row) + " " + remark.name);
        }
    }
    // Counted in the file with Python's csv module.
    CHECK(nameless == std::vector<std::string>{
                          "18 Centre 3 Clinic", "104 Kasasa Clinic", "478 Magamba Dispensary",
                          "502 Maureen Murray Health Centre", "527 Mkomaula Health Centre",
                          "565 Namisu Health Centre", "600 Ntholowa Health Centre",
                          "613 Sable Health Centre", "626 St. Peters Health Centre (Utale I)"});
    const FacilityRegister facilities(made.facilities);
    CHECK(facilities.find_facility(FacilityId("bua-dispensary-2")) != nullptr);
}

TEST_CASE("A place whose coordinates look swapped is a doubt, out of range it is an error") {
    std::string text = headings;
    for (int i = 0; i < 5; ++i) {
        text += "p" + std::to_string(i) + ",P,-13." + std::to_string(i) +
                ",33.8,clinic,,Africa/Blantyre,,\n";
    }
    const Import made =
        read_facilities_csv(text + "odd,Odd,33.8,-13.2,clinic,,Africa/Blantyre,,\n");
    REQUIRE(made.warnings.size() == 1);
    CHECK(to_text(made.warnings[0]) ==
          "row 7 (Odd), latitude: latitude and longitude look swapped: the other way round it lies "
          "among the other facilities");
    CHECK(
        geojson_errors(one_feature("", R"({"type":"Point","coordinates":[-13.2,133.8]})")) ==
        std::vector<std::string>{
            "#/features/0/geometry/coordinates: latitude 133.8 is outside -90 to 90; latitude and "
            "longitude look swapped"});
}

TEST_CASE("A property nobody knows is refused with the nearest that is known") {
    CHECK(geojson_errors(one_feature(R"(,"servises":{})")) ==
          std::vector<std::string>{"#/features/0/properties/servises: is not known here; did you "
                                   "mean 'services'?"});
    CHECK(geojson_errors(one_feature(R"(,"services":{"uterotonic":{}})")) ==
          std::vector<std::string>{"#/features/0/properties/services/uterotonic: is not a "
                                   "capability; did you mean 'uterotonics'?"});
    CHECK(joined(geojson_errors(one_feature(
              R"(,"resources":{"lab":{"kind":"stuff","hourz":"24/7"}},)"
              R"("services":{"laboratory":{"needs":["labb",3,{"resource":"lab","units":0}]}})"))) ==
          "#/features/0/properties/resources/lab/hourz: is not known here; did you mean "
          "'hours'?"
          "\n"
          "#/features/0/properties/resources/lab/kind: 'stuff' is none of staff, stock, blood, "
          "equipment, power, space"
          "\n"
          R"(#/features/0/properties/services/laboratory/needs/1: is neither "name" nor )"
          R"({"resource": "name", "units": 2})"
          "\n"
          "#/features/0/properties/services/laboratory/needs/0: 'labb' is not a resource of "
          "this facility; did you mean 'lab'?"
          "\n"
          "#/features/0/properties/services/laboratory/needs/1/units: is 1 to 1000"
          "\n");
}

TEST_CASE("A place that is still a draft is refused, and the reader told what to do") {
    const std::string places = R"({"type": "FeatureCollection", "features": [
        {"type": "Feature", "id": "osm-node-1",
         "geometry": {"type": "Point", "coordinates": [0.4, -0.1]},
         "properties": {"draft": "Not confirmed.", "name": "Hill Clinic", "kind": "clinic",
                        "time_zone": "Etc/GMT"}},
        {"type": "Feature", "id": "osm-node-2",
         "geometry": {"type": "Point", "coordinates": [0.5, -0.1]},
         "properties": {"name": "Mbenje Clinic", "kind": "clinic", "time_zone": "Etc/GMT",
                        "services": {"uterotonics": {}}}}]})";
    CHECK(joined(geojson_errors(places)) ==
          "#/features/0/properties/draft: a draft that nobody has confirmed: write the services, "
          "hours and phones that the place itself names, then take 'draft' out\n");
    const Import confirmed = read_facilities_geojson(places, {.bad_rows = BadRows::leave_out});
    REQUIRE(confirmed.facilities.size() == 1);
    CHECK(confirmed.facilities.front().id == FacilityId("osm-node-2"));
    CHECK(confirmed.left_out.size() == 1);
}

TEST_CASE("A file of the wrong types is refused type by type, and never half read") {
    CHECK(geojson_errors("{") == std::vector<std::string>{"this is no JSON: at byte 2"});
    CHECK(geojson_errors("[]") ==
          std::vector<std::string>{
              R"(#/type: "FeatureCollection" with a list "features" is needed)"});
    CHECK(geojson_errors(R"({"type":"FeatureCollection","features":[],"features":[]})") ==
          std::vector<std::string>{"the JSON has the name 'features' twice in one object"});
    CHECK(geojson_errors(R"({"type":"FeatureCollection","holidays":["25.12."],"features":[]})") ==
          std::vector<std::string>{"#/holidays: entry 1 is not a date such as 2026-12-25"});
    CHECK(joined(geojson_errors(
              R"({"type":"FeatureCollection","features":[7,{"type":"Feature"}]})")) ==
          "#/features/0: is not a GeoJSON Feature"
          "\n"
          "#/features/1/geometry: is needed: a point"
          "\n"
          "#/features/1/properties: is needed: an object"
          "\n"
          "#/features/1/id: '' is not an id: 1 to 100 of a-z, 0-9, _ and -"
          "\n"
          "#/features/1/properties/name: a name of 1 to 300 bytes is "
          "needed"
          "\n"
          "#/features/1/properties/time_zone: '' is not a time zone such "
          "as Africa/Blantyre or Etc/GMT"
          "\n");
    CHECK(geojson_errors(one_feature(R"(,"phones":[1],"kind":2,"hours":3)")) ==
          std::vector<std::string>{"#/features/0/properties/kind: 2 is not a text",
                                   "#/features/0/properties/hours: 3 is not a text",
                                   "#/features/0/properties/phones: phone 1 is not a text"});
    CHECK(geojson_errors(std::string(40, '[')).at(0) == "the JSON is nested deeper than 32");
    CHECK(geojson_errors(std::string(64 * 1024 * 1024 + 1, ' ')).at(0) ==
          "the file is larger than 64 MiB");
    CHECK_THROWS_WITH_AS(load_facilities("/nowhere/at/all.csv"),
                         "cannot read '/nowhere/at/all.csv'", InputError);
    CHECK_THROWS_AS(load_facilities("facilities.xls"), InputError);
}

TEST_CASE("A file cut anywhere, or with any byte changed, is read or refused, never a crash") {
    const std::string whole = blocks_of_guide("json").at(0);
    for (std::size_t cut = 0; cut < whole.size(); cut += 7) {
        CHECK(!geojson_errors(whole.substr(0, cut)).empty());
    }
    for (std::size_t at = 0; at < whole.size(); at += 11) {
        std::string changed = whole;
        changed[at] = static_cast<char>(changed[at] ^ 0x15);
        geojson_errors(changed);
        csv_errors(changed);
    }
}

TEST_CASE("What an error quotes never ends inside a letter") {
    // "ß" takes two bytes of UTF-8, so every limit on bytes meets the middle of one, sooner or
    // later.
    std::string letters;
    for (int i = 0; i < 120; ++i) {
        letters += "ß";
        for (const std::string& quoted : {letters, "x" + letters}) {
            CAPTURE(quoted);
            const auto filled = [&](std::string text) {
                for (std::size_t at = text.find('@'); at != std::string::npos;
                     at = text.find('@')) {
                    text.replace(at, 1, quoted);
                }
                return text;
            };
            const auto from_json = geojson_errors(one_feature(
                filled(R"(,"services":{"@":{}},"hours":"@","kind":["x"],"time_zones":"@")")));
            const auto from_csv = csv_errors(headings + filled("@,@,ß,x@,k,,@,@,@\n"));
            REQUIRE(from_json.size() == 4);
            REQUIRE(from_csv.size() == 6);
            REQUIRE(is_utf8(joined(from_json)));
            REQUIRE(is_utf8(joined(from_csv)));
        }
    }
}

TEST_CASE("What is written out is read back the same") {
    const Import made = read_facilities_geojson(blocks_of_guide("json").at(0));
    const Import again = read_facilities_geojson(to_geojson(made.facilities, made.holidays));
    CHECK(again.facilities == made.facilities);
    CHECK(again.holidays == made.holidays);
    const auto reports = read_reports(blocks_of_guide("json").at(1));
    CHECK(read_reports(to_json(reports)) == reports);
}

TEST_CASE("Bad reports are named one by one, and none is taken") {
    const auto errors = errors_of([] {
        read_reports(R"({"reports":[
            {"facility":"a","about":"oxytocin","state":"ready","at":"2026-03-04T06:00:00Z","by":"x"},
            {"facility":"a","about":"oxytocin","state":"redy","at":"yesterday","by":"x","units":-3},
            {"about":"oxytocin","state":"ready","at":"2026-03-04T06:00:00Z","untill":"x"},
            5]})");
    });
    CHECK(joined(errors) ==
          "#/reports/1/state: 'redy' is neither ready nor not_ready"
          "\n"
          "#/reports/1/at: 'yesterday' is not an RFC 3339 instant such as "
          "2026-03-04T09:40:00Z"
          "\n"
          "#/reports/1/units: -3 is outside 0 to 1000000"
          "\n"
          "#/reports/2/untill: is not known here; did you mean 'until'?"
          "\n"
          "#/reports/2/facility: is needed"
          "\n"
          "#/reports/2/by: is needed"
          "\n"
          "#/reports/3: is not an object"
          "\n");
    CHECK(errors_of([] { read_reports("{}"); }).at(0) == "#/reports: a list of reports is needed");
}

}  // namespace
}  // namespace waybourne::facilities
