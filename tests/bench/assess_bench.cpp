// What an assessment costs: without its questions (goal: under 20 µs) and with them (under 1 ms).

#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "tests/bench/figure.hpp"
#include "triage/assess.hpp"
#include "triage/protocol_file.hpp"

namespace {

using namespace waybourne;
using namespace waybourne::bench;

std::string text_of(const std::string& path) {
    std::ifstream stream{std::string(WAYBOURNE_SOURCE_DIR) + "/" + path, std::ios::binary};
    return {std::istreambuf_iterator<char>(stream), {}};
}

triage::FindingValue to_value(const nlohmann::json& given) {
    if (given.is_number()) {
        return given.get<double>();
    }
    const auto text = given.get<std::string>();
    if (text == "yes" || text == "no") {
        return text == "yes" ? triage::Answer::yes : triage::Answer::no;
    }
    return text;
}

/// The worked cases as findings: real questions, neither the cheapest nor the dearest.
std::vector<triage::Findings> worked_cases(Instant at) {
    std::vector<triage::Findings> cases;
    const auto table = nlohmann::json::parse(text_of("tests/sources/worked_cases.json"));
    for (const auto& row : table.at("rows")) {
        triage::Findings findings;
        triage::Reading reading{at, {}, {}, {}};
        for (const auto& [field, value] : row.at("findings").items()) {
            if (field == "sys_bp") {
                reading.systolic = value.get<int>();
            } else if (field == "dia_bp") {
                reading.diastolic = value.get<int>();
            } else if (field == "pulse") {
                reading.pulse = value.get<int>();
            } else {
                findings.values[field] = to_value(value);
            }
        }
        if (reading.systolic || reading.diastolic || reading.pulse) {
            findings.readings.push_back(reading);
        }
        cases.push_back(std::move(findings));
    }
    return cases;
}

/// Microseconds of each assessment, ten rounds over all cases.
std::vector<double> measure(const triage::Protocol& protocol,
                            const std::vector<triage::Findings>& cases, triage::Questions questions,
                            Instant now) {
    std::vector<double> microseconds;
    for (int round = 0; round < 11; ++round) {
        for (const triage::Findings& findings : cases) {
            std::size_t needs = 0;
            const double taken = seconds(
                [&] { needs = triage::assess(protocol, findings, now, questions).needs.size(); });
            keep(needs);
            if (round > 0) {
                microseconds.push_back(taken * 1e6);
            }
        }
    }
    return microseconds;
}

}  // namespace

int main(int count, char** values) {
    const Arguments arguments = parse_arguments(count, values);
    const triage::Protocol protocol =
        triage::parse_protocol(text_of("triage/protocol/protocol.json"));
    const Instant now = parse_rfc3339("2026-03-04T09:40:00Z");
    const auto cases = worked_cases(now);
    if (arguments.wants("assess")) {
        const auto times = measure(protocol, cases, triage::Questions::leave_out, now);
        print({"assess", "one assessment without questions, median", median(times), "us", "",
               "< 20", "worked cases"});
        print({"assess", "the same, 99th percentile", percentile(times, 0.99), "us", "", "",
               "worked cases"});
    }
    if (arguments.wants("questions")) {
        const auto times = measure(protocol, cases, triage::Questions::work_out, now);
        print({"questions", "one assessment with its questions, median", median(times), "us", "",
               "< 1000", "worked cases"});
        print({"questions", "the same, 99th percentile", percentile(times, 0.99), "us", "",
               "< 1000", "worked cases"});
    }
    return 0;
}
