#include "server/referrals/replay.hpp"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "journal/open_journal.hpp"
#include "server/json/kept_answer.hpp"
#include "server/json/referral_body.hpp"
#include "server/json/request.hpp"
#include "server/load_district.hpp"
#include "server/program_files.hpp"
#include "tests/server/has.hpp"
#include "tests/server/program_run.hpp"
#include "tests/server/recorded_sample.hpp"
#include "vocabulary/sha256.hpp"

// That any past recommendation can be made again and compared: design.md section 9. The shapes are
// our own (docs/openapi.yaml).

namespace waybourne::server::test {

namespace {

namespace fs = std::filesystem;

ProgramRun run_replay_command(std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), "replay");
    return run_program(std::move(arguments));
}

const JsonValue& only_replay(const JsonValue& body) {
    const auto& all = at(body, "replays").items();
    REQUIRE(all.size() == 1);
    return all.front();
}

JsonValue replayed(const RecordedSample& sample, const std::string& code,
                   const std::string& query = "") {
    const Reply reply = sample.send("GET", "/v1/referrals/" + code + "/replay" + query);
    REQUIRE_MESSAGE(reply.status == 200, reply.body);
    return parse_json(reply.body);
}

bool names(const JsonValue& replay, const std::string& what, const std::string& part) {
    for (const JsonValue& one : at(replay, "changed").items()) {
        if (text_at(one, "what") == what &&
            (has(text_at(one, "then"), part) || has(text_at(one, "now"), part))) {
            return true;
        }
    }
    return false;
}

bool differs_at(const JsonValue& replay, const std::string& pointer) {
    for (const JsonValue& one : at(replay, "differences").items()) {
        if (has(text_at(one, "pointer"), pointer)) {
            return true;
        }
    }
    return false;
}

std::string read_all(const fs::path& file) {
    std::ifstream in{file, std::ios::binary};
    return {std::istreambuf_iterator<char>{in}, {}};
}

/// A copy of the sample district with one file changed, and a manifest that fits.
class ChangedDistrict {
public:
    ChangedDistrict(const std::string& file, const std::string& from, const std::string& to) {
        const fs::path sample = program_folder() / "maps-sample";
        std::string manifest = read_all(sample / "manifest.json");
        for (const auto& entry : fs::directory_iterator(sample)) {
            if (entry.is_regular_file()) {
                fs::copy_file(entry.path(), folder_.path() / entry.path().filename());
            }
        }
        std::string text = read_all(sample / file);
        const std::string before = waybourne::sha256(text);
        const std::string size = "\"bytes\": " + std::to_string(text.size());
        REQUIRE(has(text, from));
        text.replace(text.find(from), from.size(), to);
        std::ofstream{folder_.path() / file, std::ios::binary} << text;
        manifest.replace(manifest.find(before), before.size(), waybourne::sha256(text));
        manifest.replace(manifest.find(size), size.size(),
                         "\"bytes\": " + std::to_string(text.size()));
        std::ofstream{folder_.path() / "manifest.json", std::ios::binary} << manifest;
    }
    std::string path() const { return folder_.path().string(); }

private:
    PrivateFolder folder_;
};

std::string journal_of(const PrivateFolder& folder) {
    return (folder.path() / "journal.db").string();
}

}  // namespace

TEST_CASE("A recommendation made again from its journal entry is identical, after a restart too") {
    const PrivateFolder folder;
    std::string code;
    {
        RecordedSample sample{folder.path()};
        code = sample.open();
        const JsonValue body = replayed(sample, code);
        const JsonValue& replay = only_replay(body);
        CHECK(text_at(replay, "verdict") == "identical");
        CHECK(at(replay, "changed").items().empty());
        CHECK(at(replay, "keeps_the_answer").boolean());
    }
    const RecordedSample again{folder.path()};
    CHECK(text_at(only_replay(replayed(again, code)), "verdict") == "identical");
    // The command starts two days later, when the times of the sample's reports have moved.
    const ProgramRun run =
        run_replay_command({journal_of(folder), code, "--now", "2026-03-06T09:40:00Z"});
    CHECK_MESSAGE(run.code == 0, (run.out + run.err));
    CHECK(has(run.out, "identical"));
}

TEST_CASE("What was reported later does not change what was recommended before") {
    RecordedSample sample;
    const std::string code = sample.open();
    CHECK(sample
              .send("POST", "/v1/facilities/sorvrith-hospital/readiness",
                    R"({"reports": [{"about": "operative_delivery", "state": "not_ready"}]})")
              .status == 200);
    // all of the district
    const Reply flood = sample.send("POST", "/v1/road-conditions",
                                    R"({"where": {"area": {"type": "LineString", "coordinates":
                        [[-60, -10], [-60, 50], [10, 50], [10, -10]]}}, "kind": "closed",
                        "until": "2026-03-05T09:40:00Z", "reason": "flood"})");
    CHECK_MESSAGE(flood.status < 300, flood.body);
    sample.clock().pass(24h);
    CHECK(text_at(only_replay(replayed(sample, code)), "verdict") == "identical");
}

TEST_CASE("With today's knowledge the report and the road that change the answer are named") {
    RecordedSample sample;
    const std::string code = sample.open();
    const Reply before = sample.send("GET", "/v1/referrals/" + code);
    sample.clock().pass(600s);
    REQUIRE(sample
                .send("POST", "/v1/facilities/venzhoth-hospital/readiness",
                      R"({"reports": [{"about": "whole_facility", "state": "not_ready"}]})")
                .status == 200);
    const JsonValue body = replayed(sample, code, "?knowledge=today");
    const JsonValue& replay = only_replay(body);
    CHECK(text_at(replay, "verdict") == "different");
    CHECK_FALSE(at(replay, "program_changed_its_mind").boolean());
    CHECK(names(replay, "report", "venzhoth-hospital whole_facility"));
    CHECK(differs_at(replay, "/answer/stages/0/facility"));

    // a triangle of some hundred metres around the middle of the planned way
    const JsonValue shown = parse_json(before.body);
    const auto& line = at(shown, "plan.geometry.coordinates").items();
    const JsonValue& middle = line.at(line.size() / 2);
    const double x = middle.items().at(0).number();
    const double y = middle.items().at(1).number();
    constexpr double d = 0.004;
    std::ostringstream closed;
    closed.precision(9);
    closed << R"({"where": {"area": {"type": "LineString", "coordinates": [[)" << x - d << ","
           << y - d << "],[" << x + d << "," << y - d << "],[" << x << "," << y + d
           << R"(]]}}, "kind": "closed", "until": "2026-03-05T09:40:00Z", "reason": "bridge out"})";
    const Reply told = sample.send("POST", "/v1/road-conditions", closed.str());
    REQUIRE_MESSAGE(told.status < 300, told.body);
    const JsonValue with_road = replayed(sample, code, "?knowledge=today");
    CHECK(names(only_replay(with_road), "road_change", "bridge out"));
    CHECK(differs_at(only_replay(with_road), "/plan"));
}

TEST_CASE(
    "A protocol, register or map that is no longer the same is named, and the difference shown") {
    const PrivateFolder folder;
    std::string code;
    {
        RecordedSample sample{folder.path()};
        code = sample.open();
    }
    SUBCASE("the register: the telephone of the hospital has changed") {
        const std::string text = read_all(program_folder() / "maps-sample" / "facilities.geojson");
        const std::size_t phone = text.find("\"phones\": [\"");
        const ChangedDistrict other{"facilities.geojson", text.substr(phone, 14),
                                    "\"phones\": [\"99"};
        const ProgramRun run = run_replay_command({journal_of(folder), code, "--district",
                                                   other.path(), "--now", "2026-03-04T09:40:00Z"});
        CHECK(has(run.out, "register of facilities is no longer the same"));
        CHECK_FALSE(has(run.out, "protocol is no longer"));
    }
    SUBCASE("the reports that the district came with") {
        const ChangedDistrict other{"reports.json", "\"ready\"", "\"not_ready\""};
        const ProgramRun run = run_replay_command({journal_of(folder), code, "--district",
                                                   other.path(), "--now", "2026-03-04T09:40:00Z"});
        CHECK(has(run.out, "file of reports is no longer the same"));
    }
    SUBCASE("the district's settings, and JSON") {
        const ChangedDistrict other{"district.json", "Oruvesh", "Oruvish"};
        const ProgramRun run =
            run_replay_command({journal_of(folder), code, "--district", other.path(), "--now",
                                "2026-03-04T09:40:00Z", "--json"});
        CHECK(run.code == 0);
        CHECK(names(only_replay(parse_json(run.out)), "district", ""));
    }
}

TEST_CASE("A changed protocol file is named, with what comes out otherwise") {
    RecordedSample sample;
    const std::string code = sample.open();
    auto other = std::make_shared<Snapshot>(sample.records().base());
    other->protocol.sha256 = "other";
    other->files["protocol"] = "other";
    // as if the district had shortened every limit to a third
    for (auto& rule : other->protocol.rules) {
        if (rule.within) {
            *rule.within /= 3;
        }
    }
    const auto replays = replay(sample.records().journal(), *other, *other, {code, {}, {}});
    REQUIRE(replays.size() == 1);
    REQUIRE(replays.front().changed.size() == 1);
    CHECK(replays.front().changed.front().what == "protocol");
    CHECK(replays.front().changed.front().then == sample_snapshot()->protocol.sha256);
    CHECK_FALSE(replays.front().is_identical());
    CHECK_FALSE(replays.front().program_changed_its_mind());
    // Named as changed, or not: the same answer from another program is its change of mind.
    other->files["protocol"] = sample_snapshot()->protocol.sha256;
    const auto minds = replay(sample.records().journal(), *other, *other, {code, {}, {}});
    CHECK(minds.front().program_changed_its_mind());
}

TEST_CASE("After a diversion both recommendations can be made again, each by its entry") {
    RecordedSample sample;
    const std::string code = sample.open();
    sample.clock().pass(600s);
    REQUIRE(sample.tell(code, R"({"step": "declined", "reason": "theatre_closed"})").status == 200);
    const Reply told = sample.tell(code, R"({"step": "diverted", "place": "venzhoth-hospital",
        "position": {"latitude": 12.345678912, "longitude": -34.1}})");
    const JsonValue kezhiru = sample.show(code);
    if (told.status != 200) {  // that point is off the map: from where she is, then
        REQUIRE(sample.tell(code, R"({"step": "diverted", "place": "venzhoth-hospital"})").status ==
                200);
    }
    const JsonValue body = replayed(sample, code);
    REQUIRE(at(body, "replays").items().size() == 2);
    for (const JsonValue& replay : at(body, "replays").items()) {
        CHECK(text_at(replay, "verdict") == "identical");
    }
    const auto entry = static_cast<int>(at(at(body, "replays").items().at(1), "entry").number());
    const JsonValue second = replayed(sample, code, "?entry=" + std::to_string(entry));
    CHECK(text_at(only_replay(second), "step") == "diverted");
}

TEST_CASE("An entry that holds no recommendation, or no case, does not exist") {
    RecordedSample sample;
    const std::string code = sample.open();
    REQUIRE(sample.tell(code, R"({"step": "informed"})").status == 200);
    const std::string path = "/v1/referrals/" + code + "/replay";
    CHECK(sample.send("GET", path + "?entry=2").status == 404);
    CHECK(sample.send("GET", path + "?entry=x").status == 400);
    CHECK(sample.send("GET", path + "?knowledge=tomorrow").status == 400);
    CHECK(sample.send("GET", "/v1/referrals/22222224/replay").status >= 400);
}

TEST_CASE("A redacted case is not made again: what it was recommended on is no longer kept") {
    const PrivateFolder folder;
    std::string code;
    {
        RecordedSample sample{folder.path()};
        code = sample.open();
        auto journal = journal::open_journal(journal_of(folder));
        journal::Redaction redaction;
        redaction.at = sample.clock().now();
        redaction.who = "retention";
        redaction.reason = "its time is over";
        redaction.subjects = {"referral/" + code};
        journal->redact(redaction);
        sample.records().catch_up();
        const Reply reply = sample.send("GET", "/v1/referrals/" + code + "/replay");
        CHECK(reply.status == 409);
        CHECK(has(reply.body, "redacted"));
    }
    const ProgramRun run = run_replay_command({journal_of(folder), code});
    CHECK(run.code == 2);
    CHECK(has(run.err, "redacted"));
}

TEST_CASE("An entry of an earlier program keeps the plan alone, and that is compared") {
    RecordedSample sample;
    const std::string code = sample.open();
    const auto entry = sample.records().journal().read_subject("referral/" + code, 0, 1).front();
    std::string body = *entry.body;
    const std::size_t from = body.find(",\"recommended\":");
    const std::size_t to = body.find(",\"given\":");
    REQUIRE(from != std::string::npos);
    body.erase(from, to - from);
    const PrivateFolder folder;
    const auto older = journal::open_journal(journal_of(folder));
    older->append({entry.at, entry.who, "", {{entry.kind, entry.subject, body}}});
    const Snapshot& base = *sample_snapshot();
    const auto replays = replay(*older, base, base, {code, {}, {}});
    REQUIRE(replays.size() == 1);
    CHECK_FALSE(replays.front().keeps_the_answer);
    CHECK(replays.front().is_identical());
    CHECK(replays.front().changed.empty());
}

TEST_CASE("A request written down is the same when it is read again") {
    const std::string full = R"({"at": "2026-03-04T09:35:00Z",
      "readings": [{"taken_at": "2026-03-04T09:35:00Z", "systolic_mmhg": 165}],
      "findings": {"status": "pregnant", "gestation_weeks": 34.5, "convulsions": "no",
                   "severe_headache": "yes", "visual_disturbance": "unknown"},
      "available_here": ["oral_antihypertensive"],
      "from": {"latitude": 12.345678912345, "longitude": -3.1},
      "transport": {"means": "motorcycle", "ready_in_minutes": 12},
      "road_conditions": {"surface": "wet", "light": "night"}, "can_phone": false,
      "calls": [{"facility": "a", "answer": "refused"}, {"facility": "b", "answer": "no_answer"}]})";
    const auto request = parse_recommendation_request(full);
    JsonWriter json;
    write_recommendation_request(json, request);
    const auto again = parse_recommendation_request(json.take());
    CHECK(again.findings == request.findings);
    CHECK(again.from == request.from);
    CHECK(again.transport == request.transport);
    CHECK(again.road_conditions == request.road_conditions);
    CHECK(again.can_phone == request.can_phone);
    CHECK(again.calls == request.calls);
}

}  // namespace waybourne::server::test
