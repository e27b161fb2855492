#include <doctest/doctest.h>
#include <sys/wait.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "server/json/rivers.hpp"
#include "server/json/value.hpp"
#include "server/program_files.hpp"
#include "tests/server/guarded_sample.hpp"
#include "tests/server/has.hpp"
#include "tests/server/program_run.hpp"
#include "tests/server/served_program.hpp"

// What a person at a terminal gets. Exit codes: 0 done, 1 the program's fault, 2 the input's
// (our own rule, docs/architecture.md).

namespace waybourne::server::test {

namespace {

std::vector<std::string> ask_flags() {
    return {"ask",
            "--now",
            sample_now,
            "--from",
            "kezhiru-clinic",
            "--pressure",
            "165/112",
            "--pulse",
            "96",
            "--set",
            "status=pregnant",
            "--set",
            "gestation_weeks=34",
            "--set",
            "severe_headache=yes",
            "--surface",
            "wet",
            "--light",
            "day"};
}

std::vector<std::string> with(std::vector<std::string> some, const std::vector<std::string>& more) {
    some.insert(some.end(), more.begin(), more.end());
    return some;
}

/// What everybody is asked, the danger signs included, and the answers of a woman who is well.
std::vector<std::string> well() {
    std::vector<std::string> flags{"--set", "status=pregnant", "--set", "gestation_weeks=34",
                                   "--set", "avpu=A",          "--set", "bleeding=none"};
    for (const std::string sign : {"convulsions",
                                   "severe_headache",
                                   "visual_disturbance",
                                   "upper_abdominal_pain",
                                   "breathless",
                                   "chest_pain",
                                   "calf_swelling",
                                   "urine_low",
                                   "constant_abdominal_pain",
                                   "feels_unwell",
                                   "fever_reported",
                                   "fainting",
                                   "shoulder_pain",
                                   "offensive_discharge",
                                   "cord_visible",
                                   "severe_pallor",
                                   "vomits_everything",
                                   "jaundice",
                                   "neck_stiffness",
                                   "trauma",
                                   "self_harm_thoughts",
                                   "psychosis_signs",
                                   "baby_not_breathing"}) {
        flags.insert(flags.end(), {"--set", sign + "=no"});
    }
    return flags;
}

std::string content_of(const std::string& file) {
    std::ostringstream content;
    content << std::ifstream{file}.rdbuf();
    return content.str();
}

/// The words of each `waybourne …` line that a document shows, continued lines joined.
std::vector<std::vector<std::string>> commands_shown_in(std::string document) {
    for (std::size_t at = 0; (at = document.find("\\\n", at)) != std::string::npos;) {
        document.replace(at, 2, " ");
    }
    std::vector<std::vector<std::string>> commands;
    std::istringstream lines{document};
    for (std::string line; std::getline(lines, line);) {
        if (!line.starts_with("waybourne ")) {
            continue;
        }
        std::istringstream rest{line.substr(line.find(' '), line.find(" #") - line.find(' '))};
        std::vector<std::string> words;
        for (std::string word; rest >> word && word != "|" && word != ">";) {
            words.push_back(word);
        }
        commands.push_back(std::move(words));
    }
    return commands;
}

/// The program itself, as a shell runs it.
int exit_code_of(const std::string& arguments) {
    const int status =
        std::system(("./" WAYBOURNE_PROGRAM " " + arguments + " >/dev/null 2>&1").c_str());
    return WEXITSTATUS(status);
}

/// The commands that a help text lists.
std::vector<std::string> commands_in(const std::string& help) {
    std::vector<std::string> names;
    std::istringstream lines{help};
    bool is_in_list = false;
    for (std::string line; std::getline(lines, line);) {
        const bool is_name = line.starts_with("  ") && line.size() > 2 && line[2] != ' ';
        if (is_in_list && is_name) {
            names.push_back(line.substr(2, line.find(' ', 2) - 2));
        }
        is_in_list = line == "Subcommands:" || (is_in_list && !line.empty());
    }
    return names;
}

}  // namespace

TEST_CASE("One line of flags gives the whole page") {
    const ProgramRun answer = run_program(ask_flags());
    CHECK(answer.code == 0);
    CHECK(answer.err.empty());
    for (const char* heading : {"What was found", "What to do now", "What she needs",
                                "Where to send her", "If that fails", "Please note"}) {
        CHECK_MESSAGE(has(answer.out, heading), heading);
    }
    // A missing text would show as its id in brackets, an unfilled value in braces.
    CHECK_FALSE(has(answer.out, "["));
    CHECK_FALSE(has(answer.out, "{"));
    CHECK_FALSE(has(answer.out, "chance"));
    std::istringstream lines{answer.out};
    for (std::string line; std::getline(lines, line);) {
        CHECK_MESSAGE(line.size() <= 100, line);
    }
}

TEST_CASE("That nothing calls for transfer is said only when everything that matters is answered") {
    // docs/cautions.md, "What the program will not say"
    const auto place_said = [](const std::vector<std::string>& more) {
        const ProgramRun answer =
            run_program(with({"ask", "--now", sample_now, "--from", "kezhiru-clinic"}, more));
        CAPTURE(answer.out);
        REQUIRE(answer.code == 0);
        const std::string heading = "Where to send her\n  ";
        const std::size_t at = answer.out.find(heading);
        REQUIRE(at != std::string::npos);
        const std::size_t begin = at + heading.size();
        return answer.out.substr(begin, answer.out.find('\n', begin) - begin);
    };
    SUBCASE("nothing is known but that she is pregnant") {
        CHECK(place_said({"--set", "status=pregnant"}) ==
              "No place yet: answer the questions first.");
    }
    SUBCASE("all is well, but the only reading was refused: 82 over 124 cannot be") {
        CHECK(place_said(with(well(), {"--pressure", "82/124", "--pulse", "80"})) ==
              "No place yet: answer the questions first.");
    }
    SUBCASE("all is answered, and well") {
        CHECK(place_said(with(well(), {"--pressure", "118/72", "--pulse", "80"})) ==
              "Nothing entered calls for transfer.");
    }
    SUBCASE("all that she needs can be given where she is") {
        CHECK(place_said({"--set", "status=pregnant", "--set", "gestation_weeks=34", "--pressure",
                          "150/100", "--here", "oral_antihypertensive", "--here",
                          "fetal_monitoring", "--here", "laboratory"}) ==
              "Treat her here: everything she needs can be given here.");
    }
}

TEST_CASE("The JSON of the command line is that of the API") {
    auto flags = ask_flags();
    flags.emplace_back("--json");
    const ProgramRun answer = run_program(flags);
    REQUIRE(answer.code == 0);
    const JsonValue body = parse_json(answer.out);
    CHECK(body.find("outcome") != nullptr);
    CHECK(body.find("stages")->items().size() >= 1);
}

TEST_CASE("A request comes from a file or from standard input, too") {
    const std::string request =
        R"({"findings": {"convulsions": "yes"}, "from": {"facility": "kezhiru-clinic"}})";
    const ProgramRun piped = run_program({"ask", "-", "--now", sample_now, "--json"}, request);
    CHECK(piped.code == 0);
    const ProgramRun missing = run_program({"ask", "no-such-file.json"});
    CHECK(missing.code == 2);
    CHECK(has(missing.err, "no-such-file.json"));
}

TEST_CASE("A request from a file leaves room for no other finding: nothing typed is passed over") {
    const std::string request =
        R"({"findings": {"status": "pregnant"}, "from": {"facility": "kezhiru-clinic"}})";
    const std::vector<std::string> from_input{"ask", "-", "--now", sample_now};
    CHECK(
        run_program(with(from_input, {"--json", "--practice", "--language", "fr"}), request).code ==
        0);
    const std::vector<std::vector<std::string>> beside{
        {"--pressure", "165/112"},
        {"--pulse", "96"},
        {"--taken-at", sample_now},
        {"--at", sample_now},
        {"--set", "convulsions=yes"},
        {"--here", "oral_antihypertensive"},
        {"--from", "kezhiru-clinic"},
        {"--means", "car"},
        {"--ready-in", "10"},
        {"--surface", "wet", "--light", "day"},
        {"--cannot-phone"},
        {"--call", "sorvrith-hospital=accepted"},
        {"--interactive"},
    };
    for (const auto& more : beside) {
        const ProgramRun refused = run_program(with(from_input, more), request);
        CAPTURE(more.front());
        CHECK(refused.code == 2);
        CHECK(refused.out.empty());
        CHECK(has(refused.err, more.front()));
        CHECK(std::count(refused.err.begin(), refused.err.end(), '\n') == 1);
    }
    const ProgramRun both = run_program(
        with(from_input, {"--pressure", "165/112", "--set", "convulsions=yes"}), request);
    CHECK(both.err ==
          "waybourne: a JSON request says everything about her: leave out --pressure, --set\n");
}

TEST_CASE("The dialogue asks only what can still change the answer") {
    // Fits: pregnant, in the dialogue's own order, which starts with the most decisive question.
    const ProgramRun answer = run_program({"ask", "--interactive", "--now", sample_now, "--from",
                                           "kezhiru-clinic", "--set", "convulsions=yes"},
                                          "enough\nnone\n3\n10\n");
    CHECK(answer.code == 0);
    CHECK(has(answer.out, "Where to send her"));
    // What was given is not asked for.
    CHECK_FALSE(has(answer.out, "Has she had a fit"));
}

TEST_CASE("In the dialogue a slip is asked again, and back takes the last answer away") {
    const ProgramRun answer =
        run_program({"ask", "--interactive", "--now", sample_now, "--from", "kezhiru-clinic"},
                    "purple rain\nunknown\nback\nenough\nnone\n3\n10\n");
    CHECK(answer.code == 0);
    CHECK(has(answer.out, "That was not understood"));
    CHECK(has(answer.out, "Where to send her"));
}

TEST_CASE("The way and the places can be asked for alone") {
    const ProgramRun way = run_program(
        {"route", "kezhiru-clinic", "sorvrith-hospital", "--now", sample_now, "--json"});
    REQUIRE(way.code == 0);
    CHECK(parse_json(way.out).find("route")->kind() == JsonKind::object);
    const ProgramRun places = run_program({"places", "operative_delivery", "--from",
                                           "kezhiru-clinic", "--now", sample_now, "--json"});
    REQUIRE(places.code == 0);
    CHECK(parse_json(places.out).find("places")->items().size() >= 20);
    const ProgramRun words = run_program(
        {"places", "blood_transfusion", "--from", "kezhiru-clinic", "--now", sample_now});
    CHECK(has(words.out, "blood transfusion"));
}

TEST_CASE("Other ways and what lies within an hour can be asked for, as words and as JSON") {
    const std::vector<std::string> ways{"alternatives", "luzhenni-clinic", "sorvrith-hospital",
                                        "--now",        sample_now,        "--closed",
                                        "Orchard road"};
    const ProgramRun words = run_program(ways);
    REQUIRE(words.code == 0);
    CHECK(has(words.out, "Leaving 09:40"));
    CHECK(has(words.out, "1. "));
    CHECK_FALSE(has(words.out, "Orchard road"));
    auto as_json = ways;
    as_json.emplace_back("--json");
    CHECK_FALSE(parse_json(run_program(as_json).out).find("routes")->items().empty());

    const std::vector<std::string> reach{"reach", "sorvrith-hospital", "--within", "60",
                                         "--now", sample_now};
    CHECK(has(run_program(reach).out,
              "Within 1 hour of sorvrith-hospital, by car, by the usual time"));
    auto back = reach;
    back.insert(back.end(), {"--to", "--judged-by", "allow"});
    const ProgramRun to = run_program(back);
    REQUIRE(to.code == 0);
    CHECK(has(to.out, "From where sorvrith-hospital is reached within 1 hour"));
    CHECK(has(to.out, "by the time to allow"));
    back.emplace_back("--json");
    CHECK(parse_json(run_program(back).out).find("geometry")->kind() == JsonKind::object);
}

TEST_CASE("Wrong input ends with 2 and one line that says what was wrong") {
    const std::vector<std::vector<std::string>> wrong{
        {},
        {"fly"},
        {"ask", "--colour", "blue"},
        {"ask", "--from", "kezhiru-clinic"},
        {"ask", "--from", "kezhiru-clinc", "--set", "convulsions=yes"},
        {"ask", "--from", "kezhiru-clinic", "--set", "convulsion=yes"},
        {"ask", "--from", "kezhiru-clinic", "--pressure", "high"},
        {"ask", "--from", "48.2,16.4", "--set", "convulsions=yes"},
        {"route", "kezhiru-clinic", "sorvrith-hospital", "--means", "balloon"},
        {"route", "kezhiru-clinic", "sorvrith-hospital", "--surface", "wet"},
        {"places", "operative_deliver", "--from", "kezhiru-clinic"},
        {"alternatives", "kezhiru-clinic", "sorvrith-hospital", "--closed", "No such road"},
        {"reach", "sorvrith-hospital"},
        {"reach", "sorvrith-hospital", "--within", "0"},
        {"reach", "sorvrith-hospital", "--within", "60", "--judged-by", "hope"},
        {"import", "nothing-here.csv"},
        {"import", "what-is-this"},
        {"serve", "--host", "0.0.0.0"},
        {"protocol", "check", "nothing-here.json"},
        {"ask", "--from", "kezhiru-clinic", "--set", "gestation_weeks=034"},
        {"serve", "--journal", "/nowhere/journal.db"},
        {"journal", "shred"},
        {"alternatives", "kezhiru-clinic", "sorvrith-hospital", "--closed", ""},
    };
    for (const auto& arguments : wrong) {
        const ProgramRun answer = run_program(arguments);
        CAPTURE(answer.err);
        CHECK(answer.code == 2);
        CHECK(std::count(answer.err.begin(), answer.err.end(), '\n') == 1);
    }
    CHECK(has(run_program(wrong.at(4)).err, "kezhiru-clinic"));
    CHECK(has(run_program(wrong.at(5)).err, "convulsions"));
    CHECK(has(run_program(wrong.at(10)).err, "operative_delivery"));
    CHECK(has(run_program(wrong.at(17)).err, "--allow-remote-without-keys"));
    CHECK(has(run_program(wrong.at(1)).err, "there is no command \"fly\""));
    CHECK(has(run_program(wrong.at(19)).err, "gestation_weeks"));
    CHECK_FALSE(has(run_program(wrong.at(19)).err, "byte"));
    CHECK(has(run_program(wrong.at(20)).err, "there is no folder /nowhere"));
    CHECK(has(run_program(wrong.at(21)).err, "there is no command \"shred\""));
}

TEST_CASE("Every command explains itself with an example, and answers programs too") {
    std::vector<std::vector<std::string>> left{{}};
    std::size_t commands = 0;
    while (!left.empty()) {
        const std::vector<std::string> command = left.back();
        left.pop_back();
        std::vector<std::string> arguments = command;
        arguments.emplace_back("--help");
        const ProgramRun answer = run_program(arguments);
        CAPTURE(arguments);
        CHECK(answer.code == 0);
        const auto more = commands_in(answer.out);
        for (const std::string& name : more) {
            left.push_back(command);
            left.back().push_back(name);
        }
        if (more.empty()) {
            ++commands;
            CHECK(has(answer.out, "Example"));
            CHECK(has(answer.out, "--json"));
        }
    }
    CHECK(commands > 20);
}

TEST_CASE("Every option that a document shows in a command is one that the command takes") {
    std::size_t options = 0;
    for (const auto& entry :
         std::filesystem::recursive_directory_iterator{program_folder() / "docs"}) {
        if (entry.path().extension() != ".md") {
            continue;
        }
        for (const auto& command : commands_shown_in(content_of(entry.path().string()))) {
            std::vector<std::string> words;  // `journal verify`, without what it is given
            for (const std::string& word : command) {
                const ProgramRun help = run_program(with(words, {word, "--help"}));
                if (word.find_first_not_of("abcdefghijklmnopqrstuvwxyz-") != std::string::npos ||
                    word.starts_with('-') || help.code != 0 || words.size() == 2) {
                    break;
                }
                words.push_back(word);
            }
            const std::string help = run_program(with(words, {"--help"})).out;
            for (const std::string& word : command) {
                if (word.starts_with("--")) {
                    CAPTURE(entry.path().string());
                    CAPTURE(words);
                    CHECK_MESSAGE(has(help, "  " + word + " "), word);
                    ++options;
                }
            }
        }
    }
    CHECK(options > 30);
}

TEST_CASE("An import lists each rejected row and imports nothing, or leaves it out when told so") {
    const auto folder = std::filesystem::temp_directory_path() / "waybourne_import_test";
    std::filesystem::create_directories(folder);
    const std::string file = (folder / "places.csv").string();
    std::ofstream{file} << "id,name,kind,latitude,longitude,time_zone\n"
                        << "good-clinic,Good Clinic,clinic,0.1,0.1,Etc/UTC\n"
                        << "bad-clinic,Bad Clinic,clinic,97.1,0.1,Etc/UTC\n";
    const ProgramRun refused = run_program({"import", file});
    CHECK(refused.code == 2);
    CHECK(has(refused.out, "97.1"));
    const ProgramRun partly = run_program({"import", file, "--leave-out-bad-rows", "--json"});
    CHECK(partly.code == 0);
    CHECK(parse_json(partly.out).find("imported")->number() == 1);
    CHECK(parse_json(partly.out).find("left_out")->items().size() == 1);
    std::filesystem::remove_all(folder);
}

TEST_CASE("A mistyped time zone is refused in one line, and no map is made") {
    const PrivateFolder folder;
    const auto made = folder.path() / "sample.roads";
    const ProgramRun refused =
        run_program({"import", (program_folder() / "maps-sample" / "roads.osm").string(),
                     "--time-zone", "Foo/Bar", "--output", made.string()});
    CHECK(refused.code == 2);
    CHECK(has(refused.err, "Foo/Bar"));
    CHECK(std::count(refused.err.begin(), refused.err.end(), '\n') == 1);
    CHECK_FALSE(std::filesystem::exists(made));
}

TEST_CASE("The map's rivers become a file that a district can name") {
    const PrivateFolder folder;
    const std::string file = (folder.path() / "rivers.geojson").string();
    const ProgramRun made =
        run_program({"import", (program_folder() / "maps-sample" / "roads.osm").string(),
                     "--rivers", file, "--json"});
    CHECK(made.code == 0);
    // the arms of the Ishuvel and the Tlamere (maps-sample/README.md), no banks
    const auto rivers = parse_rivers(content_of(file));
    CHECK(rivers.size() == 5);
    CHECK(parse_json(made.out).find("rivers")->number() == 5);
    CHECK(has(made.err, "rivers.geojson: 5 rivers"));
}

TEST_CASE("An option of another kind of file is refused, not passed over") {
    const PrivateFolder folder;
    const std::string sample = (program_folder() / "maps-sample").string();
    const std::string table = (folder.path() / "places.csv").string();
    std::ofstream{table} << "id,name,latitude,longitude,time_zone\nhill,Hill,0.1,0.1,Etc/UTC\n";
    const std::string rivers = (folder.path() / "rivers.geojson").string();
    const std::vector<std::vector<std::string>> mixed{
        {sample + "/facilities.geojson", "--rivers", rivers, "--draft-register", rivers + ".1"},
        {sample + "/facilities.geojson", "--column", "id=number"},
        {table, "--time-zone", "Africa/Blantyre"},
        {sample + "/roads.osm", "--leave-out-bad-rows"},
    };
    for (const auto& options : mixed) {
        const ProgramRun refused = run_program(with({"import"}, options));
        CAPTURE(options[1]);
        CHECK(refused.code == 2);
        CHECK(has(refused.err, "leave out "));
        CHECK(has(refused.err, options[1]));
    }
    CHECK(has(run_program(with({"import"}, mixed[0])).err, "--draft-register"));
    CHECK_FALSE(std::filesystem::exists(rivers));
    CHECK(run_program({"import", table, "--column", "name=name"}).code == 0);
}

TEST_CASE("An import writes over nobody's file: not what it reads, not what is there already") {
    const PrivateFolder folder;
    const auto in_folder = [&](const char* name) { return (folder.path() / name).string(); };
    const std::string map = in_folder("roads.osm");
    std::filesystem::copy_file(program_folder() / "maps-sample" / "roads.osm", map);
    const std::string map_before = content_of(map);
    const std::string places = in_folder("facilities.geojson");
    std::filesystem::copy_file(program_folder() / "maps-sample" / "facilities.geojson", places);
    const std::string places_before = content_of(places);
    const std::string notes = in_folder("notes");
    std::ofstream{notes} << "mine";
    std::filesystem::create_symlink(map, in_folder("link.roads"));
    const std::string fresh = in_folder("fresh.geojson");
    const std::vector<std::vector<std::string>> wrong{
        {map, "--output", map},
        {map, "--output", in_folder("./roads.osm")},
        {map, "--output", in_folder("link.roads")},
        {map, "--rivers", map},
        {map, "--draft-register", map},
        {map, "--rivers", fresh, "--draft-register", fresh},
        {map, "--output", fresh, "--rivers", fresh},
        {map, "--output", notes},
        {map, "--rivers", notes},
        {map, "--draft-register", notes},
        {map, "--rivers", places},
        {places, "--output", places},
        {places, "--output", notes},
    };
    for (const auto& options : wrong) {
        CAPTURE(options);
        const ProgramRun refused = run_program(with({"import"}, options));
        CHECK(refused.code == 2);
        CHECK(std::count(refused.err.begin(), refused.err.end(), '\n') == 1);
    }
    CHECK(content_of(map) == map_before);
    CHECK(content_of(places) == places_before);
    CHECK(content_of(notes) == "mine");
    CHECK_FALSE(std::filesystem::exists(fresh));

    // the same map made again takes the place of the one before
    const std::string made = in_folder("district.roads");
    CHECK(run_program({"import", map, "--output", made}).code == 0);
    const std::string made_before = content_of(made);
    CHECK(run_program({"import", map, "--output", made}).code == 0);
    CHECK(content_of(made) == made_before);
}

TEST_CASE("A pack takes the place of no other file, least of all of its key") {
    const PrivateFolder folder;
    const std::string key = (folder.path() / "pack.key").string();
    CHECK(run_program({"pack", "--key", key, "--output", key}).code == 2);
    CHECK_FALSE(std::filesystem::exists(key));
    const std::string pack = (folder.path() / "district.pack").string();
    CHECK(run_program({"pack", "--key", key, "--output", pack}).code == 0);
    const std::string before = content_of(pack);
    const ProgramRun again = run_program({"pack", "--key", key, "--output", pack});
    CHECK(again.code == 2);
    CHECK(has(again.err, "district.pack exists already"));
    CHECK(content_of(pack) == before);
}

TEST_CASE("The map's places of care become a draft that nobody takes for a register") {
    const PrivateFolder folder;
    const std::string map = (folder.path() / "roads.osm").string();
    const std::string draft = (folder.path() / "places.geojson").string();
    std::ofstream{map} << R"(<?xml version='1.0'?><osm version="0.6">
        <node id="1" lat="0" lon="0"/><node id="2" lat="0" lon="0.01"/>
        <node id="3" lat="0.001" lon="0.002"><tag k="amenity" v="clinic"/>
          <tag k="name" v="Hill Clinic"/></node>
        <node id="4" lat="0.002" lon="0.003"><tag k="healthcare" v="hospital"/></node>
        <way id="5"><nd ref="1"/><nd ref="2"/><tag k="highway" v="residential"/></way></osm>)";
    const ProgramRun made = run_program(
        {"import", map, "--draft-register", draft, "--time-zone", "Africa/Blantyre", "--json"});
    CHECK(made.code == 0);
    CHECK(has(made.err, "2 places of care, a draft: ask each what it offers"));
    const auto written = parse_json(content_of(draft));
    CHECK(has(written.find("description")->text(), "© OpenStreetMap contributors"));
    const auto& places = written.find("features")->items();
    REQUIRE(places.size() == 2);
    CHECK(places[0].find("id")->text() == "osm-node-3");
    const auto* first = places[0].find("properties");
    CHECK(first->find("name")->text() == "Hill Clinic");
    CHECK(first->find("kind")->text() == "clinic");
    CHECK(first->find("time_zone")->text() == "Africa/Blantyre");
    CHECK(has(first->find("draft")->text(), "Not confirmed by anybody"));
    CHECK(first->find("services") == nullptr);
    CHECK(first->find("hours") == nullptr);
    CHECK(places[1].find("properties")->find("name")->text().empty());
    const ProgramRun refused = run_program({"import", draft});
    CHECK(refused.code == 2);
    CHECK(has(refused.out, "#/features/0/properties/draft: a draft that nobody has confirmed"));
}

TEST_CASE("The program itself keeps the exit codes") {
    CHECK(exit_code_of("--version") == 0);
    CHECK(exit_code_of("ask --help") == 0);
    CHECK(exit_code_of("nonsense") == 2);
    CHECK(exit_code_of("route kezhiru-clinic sorvrith-hospital --district /nowhere") == 1);
}

TEST_CASE("A program that starts the server is told where it listens, in one line of JSON") {
    const ServedProgram program{{"--json", "--practice"}};
    const JsonValue told = parse_json(program.first_line());
    CHECK(told.find("address")->text() == "http://127.0.0.1:" + std::to_string(program.port()));
    CHECK(told.find("this_machine_only")->boolean());
    CHECK_FALSE(told.find("keys")->boolean());
    CHECK(told.find("practice")->boolean());
    RawClient client{program.port()};
    client.send("GET /livez HTTP/1.1\r\nHost: localhost\r\n\r\n");
    CHECK(parse_reply(client.receive()).status == 200);
}

TEST_CASE("A port on which somebody serves is not shared: who comes second is told and ends") {
    const ServedProgram first{{}};
    const PrivateFolder folder;
    const std::string said = (folder.path() / "said").string();
    const std::string port = std::to_string(first.port());
    const int status = std::system(
        ("timeout 20 ./" WAYBOURNE_PROGRAM " serve --port " + port + " >/dev/null 2>" + said)
            .c_str());
    CHECK(WEXITSTATUS(status) == 2);
    CHECK(content_of(said) ==
          "waybourne: cannot listen on 127.0.0.1 port " + port + ": in use, or not ours\n");
    CHECK(get(first.port(), "/livez").status == 200);
}

TEST_CASE(
    "Beyond this machine it serves with keys and TLS, or when somebody says what is missing") {
    const PrivateFolder folder;
    const std::string keys = (folder.path() / "keys.json").string();
    REQUIRE(
        run_program({"keys", "add", "--keys", keys, "--role", "planner", "planning-desk"}).code ==
        0);
    const std::vector<std::string> outside{"serve", "--host", "0.0.0.0", "--port", "0"};
    const auto with = [&](const std::vector<std::string>& more) {
        auto arguments = outside;
        arguments.insert(arguments.end(), more.begin(), more.end());
        const ProgramRun answer = run_program(arguments);
        CHECK(answer.code == 2);
        return answer.err;
    };
    CHECK(has(with({}), "--allow-remote-without-keys"));
    CHECK(has(with({"--keys", keys}), "--allow-remote-without-tls"));
    CHECK(has(with({"--allow-remote-without-keys"}), "--allow-remote-without-tls"));
    CHECK(has(with({"--allow-remote-without-tls"}), "--allow-remote-without-keys"));
    CHECK(has(with({"--keys", keys, "--tls-key", "k.pem"}), "go together"));
    CHECK(
        has(with({"--keys", keys, "--tls-certificate", "nothing.pem", "--tls-key", "nothing.key"}),
            "nothing.key"));
    CHECK(has(with({"--keys", "nothing.json", "--allow-remote-without-tls"}), "nothing.json"));
}

TEST_CASE("Keys are given out, listed without their secrets, and removed by account") {
    const PrivateFolder folder;
    const std::string keys = (folder.path() / "keys.json").string();
    const ProgramRun made = run_program({"keys", "add", "--keys", keys, "--role", "health_worker",
                                         "--facility", "kezhiru-clinic", "kezhiru-phone-1"});
    REQUIRE(made.code == 0);
    const auto parts = parse_key_text(made.out.substr(0, made.out.find('\n')));
    REQUIRE(parts);
    const ProgramRun list = run_program({"keys", "list", "--keys", keys, "--json"});
    CHECK(has(list.out, "kezhiru-phone-1"));
    CHECK_FALSE(has(list.out, parts->secret));
    CHECK_FALSE(has(list.out, "argon2id"));
    CHECK(
        run_program({"keys", "add", "--keys", keys, "--role", "planner", "kezhiru-phone-1"}).code ==
        2);
    CHECK(run_program({"keys", "add", "--keys", keys, "--role", "nurse", "x"}).code == 2);
    CHECK(run_program({"keys", "remove", "--keys", keys, "nobody"}).code == 2);
    CHECK(run_program({"keys", "remove", "--keys", keys, "kezhiru-phone-1"}).code == 0);
    CHECK(run_program({"keys", "list", "--keys", keys}).out.empty());
}

}  // namespace waybourne::server::test
