#include <doctest/doctest.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "server/cli/commands.hpp"
#include "server/json/value.hpp"
#include "tests/server/guarded_sample.hpp"

// What a planner gets at a terminal, of the invented sample district.

namespace waybourne::server::test {

namespace {

struct Run {
    int code = 0;
    std::string out;
    std::string err;
};

Run run(std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), {"waybourne", "coverage"});
    std::vector<const char*> values;
    values.reserve(arguments.size());
    for (const std::string& argument : arguments) {
        values.push_back(argument.c_str());
    }
    std::istringstream in;
    std::ostringstream out;
    std::ostringstream err;
    Terminal terminal{in, out, err, false};
    const int code = run_command_line(static_cast<int>(values.size()), values.data(), terminal);
    return {code, out.str(), err.str()};
}

const std::vector<std::string> theatre_in_the_wet{"access",   "--needs",   "operative_delivery",
                                                  "--within", "60",        "--now",
                                                  sample_now, "--surface", "wet",
                                                  "--light",  "day"};

std::vector<std::string> with(std::vector<std::string> arguments,
                              const std::vector<std::string>& more) {
    arguments.insert(arguments.end(), more.begin(), more.end());
    return arguments;
}

bool has(const std::string& text, const std::string& part) {
    return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("A planner reads who is in time, who is not, and who has no way at all") {
    const Run answer = run(theatre_in_the_wet);
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

TEST_CASE("The three best places to raise are named, with the births only each of them serves") {
    const std::vector<std::string> three{
        "upgrades", "--needs", "operative_delivery,blood_transfusion",
        "--within", "60",      "--count",
        "3",        "--now",   sample_now};
    const Run answer = run(three);
    REQUIRE(answer.code == 0);
    CHECK(has(answer.out, "(proven)"));
    const JsonValue plan = parse_json(run(with(three, {"--json"})).out);
    CHECK(plan.find("upgrades")->items().size() == 3);
    CHECK(plan.find("births_gained")->number() > 0);
    CHECK(plan.find("births_gained")->number() ==
          doctest::Approx(plan.find("no_plan_gains_more_than")->number()));
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
        const Run answer = run(arguments);
        CAPTURE(answer.err);
        CHECK(answer.code == 2);
        CHECK(answer.out.empty());
    }
    const std::string wrong = run(with(theatre_in_the_wet, {"--settlements", file.string()})).err;
    CHECK(has(wrong, "line 2"));
    CHECK(has(wrong, "off the map"));
    std::filesystem::remove(file);
}

TEST_CASE("The commands for planners explain themselves with an example") {
    for (const char* command : {"access", "upgrades"}) {
        const Run answer = run({command, "--help"});
        CHECK(answer.code == 0);
        CHECK(has(answer.out, "Example"));
    }
}

}  // namespace waybourne::server::test
