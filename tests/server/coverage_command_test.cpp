#include <doctest/doctest.h>

#include <cstdio>
#include <filesystem>
#include <fstream>

#include "server/json/value.hpp"
#include "tests/server/district_copy.hpp"
#include "tests/server/guarded_sample.hpp"
#include "tests/server/has.hpp"
#include "tests/server/program_run.hpp"

// What a planner gets at a terminal, of the invented sample district.

namespace waybourne::server::test {

namespace {

ProgramRun run(std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), "coverage");
    return run_program(std::move(arguments));
}

const std::vector<std::string> theatre_in_the_wet{"access",   "--needs",   "operative_delivery",
                                                  "--within", "60",        "--now",
                                                  sample_now, "--surface", "wet",
                                                  "--light",  "day"};

std::string text_of_file(const std::string& path) {
    std::ifstream in{path, std::ios::binary};
    return {std::istreambuf_iterator<char>{in}, {}};
}

std::vector<std::string> with(std::vector<std::string> arguments,
                              const std::vector<std::string>& more) {
    arguments.insert(arguments.end(), more.begin(), more.end());
    return arguments;
}

}  // namespace

TEST_CASE("A planner reads who is in time, who is not, and who has no way at all") {
    const ProgramRun answer = run(theatre_in_the_wet);
    REQUIRE(answer.code == 0);
    CHECK(has(answer.out, "in time: "));
    CHECK(has(answer.out, "in time if only the way is counted: "));
    CHECK(has(answer.out, " births, no way"));
    CHECK(has(answer.out, "Assumed: handing over takes 11 minutes"));
    CHECK_FALSE(has(answer.out, "["));  // no text is missing
}

TEST_CASE("As JSON every figure names its inputs, and the four classes add up to all births") {
    const JsonValue answer = parse_json(run(with(theatre_in_the_wet, {"--json"})).out);
    CHECK(answer.find("inputs")->find("sha256")->find("map") != nullptr);
    CHECK(answer.find("inputs")->find("handover_s")->number() == 660);
    const JsonValue& total = *answer.find("total");
    double sum = 0;
    for (const char* name : {"in_time", "beyond", "no_route", "unknown"}) {
        sum += total.find(name)->number();
    }
    CHECK(sum == doctest::Approx(total.find("births_per_year")->number()));
    CHECK(answer.find("settlements")->items().size() == 172);
    CHECK(answer.find("curve")->items().size() == 25);
    CHECK(answer.find("facilities")->items().size() == 20);
}

TEST_CASE("The settlements come as a table or as points for a map") {
    const std::string table = run(with(theatre_in_the_wet, {"--csv"})).out;
    CHECK(std::count(table.begin(), table.end(), '\n') == 173);
    const JsonValue points = parse_json(run(with(theatre_in_the_wet, {"--geojson"})).out);
    CHECK(points.find("features")->items().size() == 172);
    CHECK(run(with(theatre_in_the_wet, {"--csv", "--geojson"})).code == 2);
}

TEST_CASE("What comes to each place against its room, as text, as a table and as points") {
    const PrivateFolder folder;
    const std::string file = (folder.path() / "room.csv").string();
    std::ofstream{file} << "facility,births_per_year\nsorvrith-hospital,2000\n";
    const std::vector<std::string> question{
        "competition", "--needs", "operative_delivery", "--capacities", file, "--now", sample_now};
    const ProgramRun answer = run(question);
    REQUIRE_MESSAGE(answer.code == 0, answer.err);
    CHECK(has(answer.out, "room for 2000"));
    CHECK(has(answer.out, "nobody says how many it has room for"));
    CHECK(has(answer.out, "Compare these figures only with each other"));
    CHECK(has(answer.out, "Left out since nobody says what they have room for: "));
    CHECK_FALSE(has(answer.out, "[server"));
    const std::string lines = run(with(question, {"--csv"})).out;
    CHECK(std::count(lines.begin(), lines.end(), '\n') == 1 + 172 + 20);
    CHECK(has(lines, "facility,sorvrith-hospital,"));
    const JsonValue points = parse_json(run(with(question, {"--geojson"})).out);
    CHECK(points.find("features")->items().size() == 172 + 20);
    CHECK(run(with(question, {"--zones", "60=1,30=0.5"})).code == 2);
    CHECK(run(with(question, {"--zones", "30=1,60=0.5", "--catchment", "three_step"})).code == 0);
    std::ofstream{file} << "facility,births_per_year\nno-such-place,2000\n";
    CHECK(run(question).code == 2);
    // the report holds both tables
    std::ofstream{file} << "facility,births_per_year\nsorvrith-hospital,2000\n";
    const std::string page = (folder.path() / "report.html").string();
    const ProgramRun report = run({"report", "--needs", "operative_delivery", "--count", "1",
                                   "--capacities", file, "--output", page, "--now", sample_now});
    REQUIRE_MESSAGE(report.code == 0, report.err);
    std::ifstream in{page};
    const std::string text{std::istreambuf_iterator<char>{in}, {}};
    CHECK(has(text, "What comes to each place, against what it has room for"));
    CHECK(has(text, "Where many share little"));
}

TEST_CASE("The three best places to raise are named, with the births only each of them serves") {
    const std::vector<std::string> three{
        "upgrades", "--needs", "operative_delivery,blood_transfusion",
        "--within", "60",      "--count",
        "3",        "--now",   sample_now};
    const ProgramRun answer = run(three);
    REQUIRE(answer.code == 0);
    CHECK(has(answer.out, "(proven)"));
    const JsonValue plan = parse_json(run(with(three, {"--json"})).out);
    CHECK(plan.find("upgrades")->items().size() == 3);
    CHECK(plan.find("births_gained")->number() > 0);
    CHECK(plan.find("births_gained")->number() ==
          doctest::Approx(plan.find("no_plan_gains_more_than")->number()));
}

TEST_CASE("Where settlements have a rank of wealth, whether the poor wait longer is told") {
    const PrivateFolder folder;
    const std::string file = (folder.path() / "villages.csv").string();
    // the poorest is farthest from the hospital of Sorvrith, the richest beside it
    std::ofstream{file} << "id,latitude,longitude,births_per_year,wealth_rank\n"
                           "near,0.0345587,-0.0992648,100,3\nfar,-0.2622173,-0.0363123,100,1\n";
    std::vector<std::string> question{
        "access", "--needs", "operative_delivery", "--settlements", file, "--now", sample_now};
    const JsonValue answer = parse_json(run(with(question, {"--json"})).out);
    const auto& villages = answer.find("settlements")->items();
    const double near = villages[0].find("care_s")->find("allow")->number();
    const double far = villages[1].find("care_s")->find("allow")->number();
    // two of equal weight: C = 2 / (2 μ) (x1 / 4 + x2 · 3 / 4) − 1, the poorer first
    CHECK(answer.find("distribution")->find("concentration")->number() ==
          doctest::Approx((far / 4 + near * 3 / 4) / ((far + near) / 2) - 1).epsilon(1e-3));
    CHECK(has(run(question).out, "concentration index "));
    CHECK(parse_json(run(with(theatre_in_the_wet, {"--json"})).out)
              .find("distribution")
              ->find("concentration")
              ->kind() == JsonKind::null);
    question[0] = "sensitivity";
    const ProgramRun headline = run(question);
    CHECK(std::count(headline.out.begin(), headline.out.end(), '\n') == 5);
    CHECK_FALSE(has(headline.out, "[server"));
}

TEST_CASE("Places to raise and settlements that lose access are points for a map") {
    const JsonValue places = parse_json(run({"upgrades", "--needs", "operative_delivery", "--count",
                                             "2", "--geojson", "--now", sample_now})
                                            .out);
    CHECK(places.find("features")->items().size() == 2);
    const JsonValue lost = parse_json(
        run({"losses", "--needs", "operative_delivery", "--geojson", "--now", sample_now}).out);
    CHECK_FALSE(lost.find("features")->items().empty());
    CHECK(run({"losses", "--needs", "operative_delivery", "--csv", "--geojson"}).code == 2);
}

TEST_CASE("Upgrades for the least mean wait, the least longest wait, or where there is room") {
    const std::vector<std::string> two{"upgrades", "--needs", "operative_delivery", "--count", "2",
                                       "--now",    sample_now};
    for (const auto& [objective, says] :
         {std::pair("median", "shorten the mean time until care from "),
          std::pair("centre", "let whoever waits longest wait "),
          std::pair("capacity", "more births a year in time that find room")}) {
        const ProgramRun answer = run(with(two, {"--objective", objective}));
        REQUIRE_MESSAGE(answer.code == 0, answer.err);
        CHECK(has(answer.out, says));
        CHECK(has(answer.out, "This is proven."));
        CHECK_FALSE(has(answer.out, "[server"));
        const std::string lines = run(with(two, {"--objective", objective, "--csv"})).out;
        CHECK(has(lines, "worth_lost_without_it"));
    }
    CHECK(run(with(two, {"--objective", "best"})).code != 0);
    CHECK(run(with(two, {"--objective", "centre", "--robust"})).code == 2);
}

TEST_CASE("A budget of nothing, an unknown capability and a bad file end with what was wrong") {
    const auto file = std::filesystem::temp_directory_path() / "waybourne_coverage_test.csv";
    std::ofstream{file} << "id,latitude,longitude,births_per_year\na,0,0,-1\nb,60,60,1\n";
    const std::vector<std::string> upgrades{"upgrades", "--needs", "blood_transfusion"};
    for (const auto& arguments :
         {with(upgrades, {}), with(upgrades, {"--count", "0"}), with(upgrades, {"--budget", "0"}),
          with(upgrades, {"--budget", "5", "--costs", "no-such-file.csv"}),
          std::vector<std::string>{"access", "--needs", "magic"},
          std::vector<std::string>{"access"},
          with(theatre_in_the_wet, {"--settlements", file.string()})}) {
        const ProgramRun answer = run(arguments);
        CAPTURE(answer.err);
        CHECK(answer.code == 2);
        CHECK(answer.out.empty());
    }
    const std::string wrong = run(with(theatre_in_the_wet, {"--settlements", file.string()})).err;
    CHECK(has(wrong, "line 2"));
    CHECK(has(wrong, "off the map"));
    std::filesystem::remove(file);
}

TEST_CASE("A planner reads what a change would bring, saves it, and reads exactly that again") {
    const PrivateFolder folder;
    const std::string file = (folder.path() / "blood.json").string();
    const std::vector<std::string> question{"what-if",
                                            "--needs",
                                            "blood_transfusion",
                                            "--within",
                                            "60",
                                            "--service",
                                            "druvaneth-health-centre=blood_transfusion",
                                            "--close",
                                            "Valley road",
                                            "--name",
                                            "Blood nearer",
                                            "--now",
                                            sample_now};
    const ProgramRun answer = run(with(question, {"--save", file}));
    REQUIRE_MESSAGE(answer.code == 0, answer.err);
    CHECK(has(answer.out, "Blood nearer: "));
    CHECK_FALSE(has(answer.out, "["));
    const ProgramRun again = run({"what-if", "--show", file});
    CHECK(again.out == answer.out);
    CHECK(again.code == 0);
    const JsonValue saved = parse_json(run({"what-if", "--show", file, "--json"}).out);
    CHECK(saved.find("answer")->find("inputs")->find("sha256")->find("map") != nullptr);
    CHECK(run(with(question, {"--save", file})).code != 0);  // nothing is overwritten
    CHECK(has(run(with(question, {"--csv"})).out, "\"Blood nearer\","));
    CHECK(run({"what-if", "--needs", "blood_transfusion"}).code == 2);  // nothing changes
    CHECK(run({"what-if", "--show", "no-such-file"}).code == 2);
    // a question beside what was saved would not count, so it is refused
    const ProgramRun beside = run({"what-if", "--show", file, "--needs", "operative_delivery"});
    CHECK(beside.code == 2);
    CHECK(beside.out.empty());
    CHECK(has(beside.err, "leave out --needs"));
    CHECK(run({"what-if", "--show", file, "--csv"}).code == 2);
    CHECK(has(run({"what-if", "--show", file, "--again", "--close", "Valley road"}).err,
              "leave out --close"));
}

TEST_CASE("What was saved reads the same after the map itself has changed") {
    const DistrictCopy district;
    const PrivateFolder folder;
    const std::string file = (folder.path() / "blood.json").string();
    const auto ask = [&](const std::string& save, const std::vector<std::string>& more = {}) {
        std::vector<std::string> question{"what-if",
                                          "--district",
                                          district.path().string(),
                                          "--needs",
                                          "operative_delivery",
                                          "--within",
                                          "60",
                                          "--service",
                                          "druvaneth-health-centre=operative_delivery",
                                          "--name",
                                          "Theatre nearer",
                                          "--surface",
                                          "wet",
                                          "--light",
                                          "day",
                                          "--now",
                                          sample_now};
        return run(with(save.empty() ? question : with(question, {"--save", save}), more));
    };
    const ProgramRun then = ask(file);
    REQUIRE_MESSAGE(then.code == 0, then.err);
    const std::string saved = run({"what-if", "--show", file, "--json"}).out;
    // a map update: main roads turn out to be tracks
    std::string map = district.read("roads.osm");
    for (const std::string old : {"v=\"primary\"", "v=\"secondary\"", "v=\"tertiary\""}) {
        for (std::size_t at = map.find(old); at != std::string::npos; at = map.find(old, at)) {
            map.replace(at, old.size(), "v=\"track\"");
        }
    }
    district.put("roads.osm", map);
    const ProgramRun now = ask("");
    REQUIRE_MESSAGE(now.code == 0, now.err);
    CHECK(now.out != then.out);  // the same question has another answer
    CHECK(run({"what-if", "--show", file}).out == then.out);
    CHECK(run({"what-if", "--show", file, "--json"}).out == saved);
    // and it says which map it was made from
    const JsonValue kept = parse_json(saved);
    const std::string of_then =
        kept.find("answer")->find("inputs")->find("sha256")->find("map")->text();
    CHECK(of_then != sha256(map));
    CHECK(kept.find("request")->find("scenarios")->items().size() == 1);
    // made again it tells that the map alone has changed, and today's figures are those of asking
    const std::vector<std::string> again{"what-if", "--show",     file,
                                         "--again", "--district", district.path().string(),
                                         "--now",   sample_now};
    const ProgramRun told = run(again);
    REQUIRE_MESSAGE(told.code == 0, told.err);
    CHECK(told.out.starts_with(then.out));
    CHECK(has(told.out, "the map: " + of_then.substr(0, 12) + " then, " +
                            sha256(map).substr(0, 12) + " now"));
    CHECK(has(told.out, "By what is known today, beside them:"));
    const JsonValue replay = parse_json(run(with(again, {"--json"})).out);
    CHECK_FALSE(replay.find("inputs_are_the_same")->boolean());
    CHECK_FALSE(replay.find("figures_are_the_same")->boolean());
    REQUIRE(replay.find("changed")->items().size() == 1);
    CHECK(replay.find("changed")->items()[0].find("what")->text() == "map");
    CHECK(to_json(*replay.find("then")) == to_json(*kept.find("answer")));
    CHECK(to_json(*replay.find("now")) == to_json(parse_json(ask("", {"--json"}).out)));
    // what else may change is told apart: births, and a place that is not there any more
    SUBCASE("more births are another input") {
        std::string settlements = district.read("settlements.geojson");
        const std::string births = "\"births_per_year\": ";
        settlements.insert(settlements.find(births) + births.size(), "9");
        district.put("settlements.geojson", settlements);
        const JsonValue both = parse_json(run(with(again, {"--json"})).out);
        REQUIRE(both.find("changed")->items().size() == 2);
        CHECK(both.find("changed")->items()[1].find("what")->text() == "settlements");
    }
    SUBCASE("a place that is gone cannot be asked about: what was saved still stands") {
        const std::string old = "druvaneth-health-centre";
        for (const char* const name : {"facilities.geojson", "reports.json", "vehicles.json"}) {
            std::string places = district.read(name);
            for (auto at = places.find(old); at != std::string::npos; at = places.find(old)) {
                places.replace(at, old.size(), "druvaneth-gone");
            }
            district.put(name, places);
        }
        const ProgramRun gone = run(again);
        CHECK(gone.code == 0);
        CHECK(gone.out.starts_with(then.out));
        CHECK(has(gone.out, "the question cannot be answered"));
        CHECK(parse_json(run(with(again, {"--json"})).out).find("now")->kind() == JsonKind::null);
    }
}

TEST_CASE("What was saved is made again from the recorded inputs, at the recorded moment") {
    const PrivateFolder folder;
    const std::string file = (folder.path() / "blood.json").string();
    const std::string settlements = (folder.path() / "settlements.csv").string();
    std::ofstream{settlements} << "id,name,births_per_year,latitude,longitude\n"
                                  "one,One,40,-0.2622173,-0.0363123\n"
                                  "two,Two,60,0.0345587,-0.0992648\n";
    const ProgramRun then =
        run({"what-if", "--needs", "blood_transfusion", "--within", "60", "--settlements",
             settlements, "--close", "Valley road", "--transport", "sent", "--readiness",
             "as_reported", "--now", sample_now, "--save", file});
    REQUIRE_MESSAGE(then.code == 0, then.err);
    const std::vector<std::string> show{"what-if", "--show", file, "--again", "--now", sample_now};
    SUBCASE("with the same files every figure is the same") {
        const ProgramRun again = run(with(show, {"--settlements", settlements}));
        REQUIRE_MESSAGE(again.code == 0, again.err);
        CHECK(again.out ==
              then.out + "\nWorked out again from the same inputs: every figure is the same.\n");
        const JsonValue json =
            parse_json(run(with(show, {"--settlements", settlements, "--json"})).out);
        CHECK(json.find("inputs_are_the_same")->boolean());
        CHECK(json.find("figures_are_the_same")->boolean());
        CHECK(to_json(*json.find("then")) == to_json(*json.find("now")));
    }
    SUBCASE("with the district's own settlements the births have changed, and nothing else") {
        const JsonValue json = parse_json(run(with(show, {"--json"})).out);
        REQUIRE(json.find("changed")->items().size() == 1);
        CHECK(json.find("changed")->items()[0].find("what")->text() == "settlements");
        // map, speeds, facilities, district, roads, vehicles, reports, program
        CHECK(json.find("unchanged")->items().size() == 8);
    }
    SUBCASE("what an earlier program did not record is not taken for the same") {
        std::string old = text_of_file(file);
        const auto at = old.find("\"settlements\":\"");
        REQUIRE(at != std::string::npos);
        old.erase(at, std::string("\"settlements\":\"\",").size() + 64);
        const std::string older = (folder.path() / "older.json").string();
        std::ofstream{older} << old;
        const ProgramRun again = run({"what-if", "--show", older, "--again", "--settlements",
                                      settlements, "--now", sample_now});
        REQUIRE_MESSAGE(again.code == 0, again.err);
        CHECK(has(again.out, "settlements and births: not recorded then"));
        CHECK(has(again.out, "every figure is the same all the same"));
    }
    SUBCASE("a file that is no saved what-if is refused, and --again alone as well") {
        const std::string bad = (folder.path() / "bad.json").string();
        std::ofstream{bad} << R"({"text": "x", "request": {}})";
        CHECK(run({"what-if", "--show", bad, "--again", "--now", sample_now}).code == 2);
        CHECK(run({"what-if", "--needs", "blood_transfusion", "--again"}).code == 2);
    }
}

TEST_CASE("Several scenarios of a file stand side by side") {
    const PrivateFolder folder;
    const std::string file = (folder.path() / "scenarios.json").string();
    std::ofstream{file} << R"([
        {"name": "first", "changes": [{"kind": "paved", "where": {"road": "Zhelappu track"}}]},
        {"name": "second", "changes": [{"kind": "bridged", "where": {"road": "Ford road"}}]}])";
    const ProgramRun answer =
        run({"what-if", "--needs", "operative_delivery", "--scenarios", file, "--surface", "wet",
             "--light", "day", "--now", sample_now, "--json"});
    REQUIRE_MESSAGE(answer.code == 0, answer.err);
    const JsonValue body = parse_json(answer.out);
    const auto& scenarios = body.find("scenarios")->items();
    REQUIRE(scenarios.size() == 2);
    CHECK(scenarios[1].find("name")->text() == "second");
    CHECK(scenarios[1].find("births_more_in_time")->number() >= 0);
}

TEST_CASE("Roads that matter, indicators, what to trust and the overview are read at a terminal") {
    const ProgramRun links =
        run({"links", "--needs", "operative_delivery", "--within", "60", "--now", sample_now});
    REQUIRE_MESSAGE(links.code == 0, links.err);
    CHECK(has(links.out, "births no longer in time"));
    const std::string lines =
        run({"links", "--needs", "operative_delivery", "--now", sample_now, "--geojson"}).out;
    CHECK(parse_json(lines).find("type")->text() == "FeatureCollection");
    const ProgramRun indicators =
        run({"indicators", "--last-month", "2026-02", "--now", sample_now});
    REQUIRE_MESSAGE(indicators.code == 0, indicators.err);
    CHECK(has(indicators.out, "cannot be told; missing: "));
    const ProgramRun trust = run({"trust", "--now", sample_now});
    REQUIRE_MESSAGE(trust.code == 0, trust.err);
    CHECK(has(trust.out, "Speeds: none was observed"));
    const ProgramRun overview = run({"overview", "--within", "120", "--now", sample_now});
    REQUIRE_MESSAGE(overview.code == 0, overview.err);
    CHECK(has(overview.out, "comprehensive"));
    const ProgramRun losses = run({"losses", "--needs", "operative_delivery", "--now", sample_now});
    REQUIRE_MESSAGE(losses.code == 0, losses.err);
    CHECK(has(losses.out, "On a wet noon "));
    CHECK(has(run({"losses", "--needs", "operative_delivery", "--now", sample_now, "--csv"}).out,
              "wet_day,"));
    CHECK(has(run({"overview", "--now", sample_now, "--csv"}).out, "comprehensive,wet_night,"));
    for (const ProgramRun* const one : {&links, &indicators, &trust, &overview, &losses}) {
        CHECK_FALSE(has(one->out, "[server"));
    }
}

TEST_CASE("With all twelve months the indicators of the handbook's arithmetic come out") {
    // Worked by hand: 640,000 people at 32 births per 1,000 are 20,480 births; 9,216 of them in
    // facilities are 45.0 %, 614 caesareans 2.998 % (below 5), 1,690 of 3,072 women with
    // complications 55.0 %, 22 deaths of 1,690 women 1.30 %.
    const PrivateFolder folder;
    const std::string file = (folder.path() / "months.csv").string();
    std::ofstream{file} << "facility,month,births,caesareans,complications,direct_deaths\n"
                           "sorvrith-hospital,2026-02,9216,614,1690,22\n";
    const ProgramRun answer =
        run({"indicators", "--months", file, "--last-month", "2026-02", "--population", "640000",
             "--births-per-1000", "32", "--functioning", "5", "--functioning-comprehensive", "1",
             "--now", sample_now, "--json"});
    REQUIRE_MESSAGE(answer.code == 0, answer.err);
    const JsonValue body = parse_json(answer.out);
    const auto& all = body.find("indicators")->items();
    REQUIRE(all.size() == 9);
    const auto value = [&](std::size_t i) { return all[i].find("value")->number(); };
    CHECK(value(0) == doctest::Approx(0.78125));
    CHECK(value(3) == doctest::Approx(0.45));
    CHECK(value(4) == doctest::Approx(0.5501).epsilon(0.001));
    CHECK(value(5) == doctest::Approx(0.02998).epsilon(0.001));
    CHECK_FALSE(all[5].find("acceptable")->boolean());
    CHECK(value(6) == doctest::Approx(0.01302).epsilon(0.001));
    CHECK(body.find("missing_facilities")->find("all")->number() == 2);
}

TEST_CASE("Every facility lies in one sub-district, and what is not known of it is not a no") {
    const PrivateFolder folder;
    const std::string file = (folder.path() / "areas.geojson").string();
    const auto half = [](const std::string& id, const std::string& west, const std::string& east) {
        return R"({"type": "Feature", "properties": {"id": ")" + id + R"(", "name": ")" + id +
               R"("}, "geometry": {"type": "Polygon", "coordinates": [[[)" + west + ", -2], [" +
               east + ", -2], [" + east + ", 2], [" + west + ", 2], [" + west + ", -2]]]}}";
    };
    std::ofstream{file} << R"({"type": "FeatureCollection", "features": [)" +
                               half("west", "-2", "-0.1") + ", " + half("east", "-0.1", "2") + "]}";
    const std::vector<std::string> question{"indicators", "--last-month", "2026-02", "--areas",
                                            file,         "--now",        sample_now};
    const JsonValue body = parse_json(run(with(question, {"--json"})).out);
    const auto& areas = body.find("areas")->items();
    REQUIRE(areas.size() == 2);
    double comprehensive = 0;
    for (const JsonValue& area : areas) {
        comprehensive +=
            area.find("comprehensive")->number() + area.find("maybe_comprehensive")->number();
    }
    CHECK(comprehensive == 3);  // three hospitals offer all of it
    const auto& indicators = body.find("indicators")->items();
    CHECK(indicators[2].find("indicator")->text() == "geographic_distribution");
    CHECK(indicators[2].find("denominator")->number() == 2);
    const ProgramRun text = run(question);
    CHECK(has(text.out, "west: "));
    CHECK_FALSE(has(text.out, "[server"));
}

TEST_CASE("The report is written as a new file") {
    const PrivateFolder folder;
    const std::string file = (folder.path() / "report.html").string();
    const std::vector<std::string> question{"report",  "--needs", "operative_delivery",
                                            "--count", "3",       "--output",
                                            file,      "--now",   sample_now};
    const ProgramRun answer = run(question);
    REQUIRE_MESSAGE(answer.code == 0, answer.err);
    CHECK(std::filesystem::file_size(file) > 10'000);
    CHECK(run(question).code != 0);
    // without a journal and without plans it says that these are not known
    const std::string page = text_of_file(file);
    CHECK(has(page, "No journal of referrals was given"));
    CHECK(has(page, "No plan was given to be compared."));
    CHECK(has(page, "from 2025-03 to 2026-02"));  // the twelve months before March 2026
    SUBCASE("with plans and monthly counts it tells of them") {
        const std::string plans = (folder.path() / "plans.json").string();
        const std::string months = (folder.path() / "months.csv").string();
        const std::string second = (folder.path() / "second.html").string();
        std::ofstream{plans} << R"([{"name": "Paved track", "changes": [
            {"kind": "paved", "where": {"road": "Zhelappu track"}}]}])";
        std::ofstream{months} << "facility,month,births,caesareans\n"
                                 "sorvrith-hospital,2026-01,120,18\n";
        const ProgramRun made = run({"report", "--needs", "operative_delivery", "--count", "3",
                                     "--output", second, "--now", sample_now, "--scenarios", plans,
                                     "--months", months, "--last-month", "2026-01"});
        REQUIRE_MESSAGE(made.code == 0, made.err);
        const std::string told = text_of_file(second);
        CHECK(has(told, "<h3>Paved track</h3>"));
        CHECK(has(told, "<li>Zhelappu track: paved</li>"));
        CHECK(has(told, "from 2025-02 to 2026-01"));
        CHECK(has(told, "18 of "));
    }
    SUBCASE("a bad month, counts of no month, and a bad plan are refused; nothing is written") {
        const std::string other = (folder.path() / "other.html").string();
        const std::vector<std::string> start{"report",  "--needs", "operative_delivery",
                                             "--count", "3",       "--output",
                                             other,     "--now",   sample_now};
        CHECK(run(with(start, {"--last-month", "2026-13"})).code == 2);
        CHECK(run(with(start, {"--months", file})).code == 2);
        CHECK(run(with(start, {"--scenarios", file})).code == 2);
        CHECK(run(with(start, {"--journal", (folder.path() / "none.db").string()})).code != 0);
        CHECK_FALSE(std::filesystem::exists(other));
    }
}

TEST_CASE("The commands for planners explain themselves with an example") {
    for (const char* command :
         {"access", "competition", "upgrades", "what-if", "links", "indicators", "trust",
          "overview", "losses", "sensitivity", "journeys", "accept-speeds", "report"}) {
        const ProgramRun answer = run({command, "--help"});
        CHECK(answer.code == 0);
        CHECK(has(answer.out, "Example"));
    }
}

}  // namespace waybourne::server::test
