#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>

#include "server/json/complications.hpp"
#include "server/json/value.hpp"
#include "server/program_files.hpp"
#include "tests/server/guarded_sample.hpp"
#include "tests/server/has.hpp"
#include "tests/server/program_run.hpp"
#include "vocabulary/error.hpp"

// What a planner gets at a terminal, of the invented sample district.

namespace waybourne::server::test {

namespace {

ProgramRun simulate(std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), {"simulate", "--now", sample_now});
    return run_program(std::move(arguments));
}

const JsonValue& at(const JsonValue& value, const std::string& name) {
    const JsonValue* found = value.find(name);
    REQUIRE_MESSAGE(found != nullptr, name);
    return *found;
}

}  // namespace

TEST_CASE(
    "A planner reads what a policy would give, with its range and where the rates come from") {
    const ProgramRun answer = simulate({"--days", "20"});
    REQUIRE_MESSAGE(answer.code == 0, answer.err);
    CHECK(has(answer.out, "all she needs in time: "));
    CHECK(has(answer.out, "Sorvrith ambulance 1: "));
    CHECK(has(answer.out, "WHO 1994"));
    CHECK(answer.out == simulate({"--days", "20"}).out);
    CHECK_FALSE(answer.out == simulate({"--days", "20", "--seed", "2"}).out);
}

TEST_CASE("Policies meet the same women and are compared woman by woman") {
    const ProgramRun answer =
        simulate({"--days", "20", "--policy", "one_plan,nearest_free", "--json"});
    REQUIRE_MESSAGE(answer.code == 0, answer.err);
    const JsonValue body = parse_json(answer.out);
    const auto& policies = at(body, "policies").items();
    REQUIRE(policies.size() == 2);
    const auto number = [](const JsonValue& value) { return value.number(); };
    CHECK(number(at(policies[0], "women")) == number(at(policies[1], "women")));
    CHECK(policies[0].find("against_the_first") == nullptr);
    const JsonValue& share = at(at(policies[1], "against_the_first"), "share_in_time");
    CHECK(number(at(share, "from")) <= number(at(share, "mean")));
    CHECK(number(at(share, "mean")) <= number(at(share, "until")));
    // 15 of 100 births, 9731 births a year: of 20 days 533 births and 80 women.
    CHECK(number(at(policies[0], "births")) == doctest::Approx(533).epsilon(0.15));
    CHECK(number(at(policies[0], "women")) == doctest::Approx(80).epsilon(0.4));
    CHECK(at(policies[0], "vehicles").items().size() == 8);
}

TEST_CASE("Without vehicles and transport nobody is fetched") {
    const std::string file = "build/no_vehicles.json";
    std::ofstream(file) << R"({"vehicles": []})";
    const ProgramRun answer = simulate({"--days", "20", "--vehicles", file, "--json"});
    REQUIRE_MESSAGE(answer.code == 0, answer.err);
    const JsonValue body = parse_json(answer.out);
    const JsonValue& one = at(body, "policies").items()[0];
    CHECK(at(one, "never_carried").number() == at(one, "women").number());
}

TEST_CASE("What makes no sense is refused in one line") {
    for (const std::vector<std::string>& wrong : {std::vector<std::string>{"--policy", "best"},
                                                  {"--own-transport", "2"},
                                                  {"--vehicles", "no/such/file.json"},
                                                  {"--days", "0"}}) {
        const ProgramRun answer = simulate(wrong);
        CAPTURE(answer.err);
        CHECK(answer.code == 2);
        CHECK(std::count(answer.err.begin(), answer.err.end(), '\n') == 1);
    }
}

TEST_CASE("The program's file of complications is sound, and a wrong one says what is wrong") {
    const ComplicationRates rates = parse_complication_rates(
        read_program_file(program_folder() / "dispatch" / "data" / "complications.json"));
    CHECK(rates.per_birth == doctest::Approx(0.15));  // MEASURE compendium, citing WHO 1994
    CHECK(rates.kinds.size() == 4);
    CHECK_THROWS_AS(parse_complication_rates(R"({"per_birth": 2, "complications": []})"),
                    InputError);
    CHECK_THROWS_AS(parse_complication_rates(
                        R"({"per_birth": 0.1, "source": "s", "shares": "s", "findings": "s",
                "complications": [{"id": "a", "weight": 1, "findings": {"status": 7, "x": []}}]})"),
                    InputError);
}

}  // namespace waybourne::server::test
