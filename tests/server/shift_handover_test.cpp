#include "server/referrals/shift_handover.hpp"

#include <doctest/doctest.h>

#include "journal/open_journal.hpp"
#include "server/json/recorded.hpp"
#include "server/json/shift_handover.hpp"
#include "server/problem.hpp"
#include "server/referrals/recorded.hpp"
#include "server/referrals/retention.hpp"
#include "tests/server/program_run.hpp"
#include "tests/server/recorded_sample.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"

// A shift handed over as a signed list. Rules and shapes are our own (docs/dispatch.md,
// docs/openapi.yaml). Preconditions: RFC 9110 section 13.1.1 and RFC 6585 section 3. The clock
// stands at 2026-03-04T09:40:00Z.

namespace waybourne::server::test {

namespace {

struct Seen {
    JsonValue body;
    std::string if_match;
};

Seen seen(const Reply& reply) {
    REQUIRE_MESSAGE((reply.status == 200 || reply.status == 201), reply.body);
    return {parse_json(reply.body), "If-Match: " + reply.field("ETag") + "\r\n"};
}

Seen open_now(const RecordedSample& sample) {
    return seen(sample.send("GET", "/v1/shift-handovers/now"));
}

Call as(const std::string& who, const std::string& sha256, bool practice = false) {
    return {{who, Role::dispatcher, {}, practice}, {}, "\"" + sha256 + "\"", "fingerprint"};
}

/// The status with which the desk refuses.
template <typename Work>
int refused_with(const Work& work) {
    try {
        work();
    } catch (const HttpRefusal& refusal) {
        return refusal.problem().status;
    } catch (const Conflict&) {
        return 409;
    } catch (const NotFound&) {
        return 404;
    }
    return 0;
}

const JsonValue& her(const JsonValue& body) {
    REQUIRE(at(body, "list.referrals").items().size() == 1);
    return at(body, "list.referrals").items()[0];
}

}  // namespace

TEST_CASE("The list holds what the next one must know, and of a woman what she needs alone") {
    RecordedSample sample;
    const std::string code = sample.open();
    REQUIRE(sample.tell(code, R"({"step": "vehicle_assigned", "vehicle": "venzhoth-1"})").status ==
            200);
    REQUIRE(sample
                .send("POST", "/v1/vehicles/sorvrith-2/reports",
                      R"({"state": "repair", "until": "2026-03-04T15:00:00Z"})")
                .status == 200);
    sample.clock().pass(11min);  // informing is due after 5 minutes, setting out after 10
    const Seen now = open_now(sample);
    const JsonValue& woman = her(now.body);
    CHECK(text_at(woman, "code") == code);
    CHECK(text_at(woman, "deadline") == text_at(at(woman, "needs").items().at(0), "deadline"));
    CHECK_FALSE(text_at(at(woman, "needs").items().at(0), "text").empty());
    CHECK(texts_at(woman, "vehicles") == std::vector<std::string>{"venzhoth-1"});
    std::vector<std::string> overdue;
    for (const JsonValue& alert : at(woman, "alerts").items()) {
        overdue.push_back(text_at(alert, "what"));
        CHECK(text_at(alert, "text").find("09:") != std::string::npos);  // due since
    }
    CHECK(overdue == std::vector<std::string>{"inform", "set_out"});
    std::size_t sent = 0;
    for (const JsonValue& vehicle : at(now.body, "list.vehicles").items()) {
        const std::string id = text_at(vehicle, "id");
        CHECK(text_at(vehicle, "state") == (id == "sorvrith-2" ? "repair" : "free"));
        if (text_at(vehicle, "referral") == code) {
            CHECK(id == "venzhoth-1");
            ++sent;
        }
    }
    CHECK(sent == 1);
    const std::string all = sample.send("GET", "/v1/shift-handovers/now").body;
    for (const char* found : {"165", "112", "severe_headache", "gestation"}) {
        CHECK(all.find(found) == std::string::npos);  // nothing of what was found on her
    }
}

TEST_CASE("Who leaves signs what was read, who comes acknowledges it, and both stay readable") {
    RecordedSample sample;
    const std::string code = sample.open();
    const Seen now = open_now(sample);
    sample.clock().pass(2min);  // time alone changes nothing of what was read
    CHECK(sample.send("POST", "/v1/shift-handovers", "{}").status == 428);
    CHECK(sample.send("POST", "/v1/shift-handovers", "{}", "If-Match: *\r\n").status == 428);
    CHECK(sample.send("POST", "/v1/shift-handovers", R"({"note": "x"})", now.if_match).status ==
          400);
    const Reply reply = sample.send("POST", "/v1/shift-handovers", "{}", now.if_match);
    const Seen left = seen(reply);
    CHECK(reply.status == 201);
    const std::string id = text_at(left.body, "id");
    CHECK(reply.field("Location") == "/v1/shift-handovers/" + id);
    CHECK(text_at(left.body, "left_by") == "local");
    CHECK(text_at(left.body, "left_at") == "2026-03-04T09:42:00Z");
    CHECK(at(left.body, "taken_at").kind() == JsonKind::null);
    CHECK(text_at(left.body, "sha256") == text_at(now.body, "sha256"));
    REQUIRE(sample.tell(code, R"({"step": "informed"})").status == 200);
    sample.clock().pass(1min);
    const std::string acknowledge = "/v1/shift-handovers/" + id + "/acknowledgement";
    CHECK(sample.send("POST", acknowledge, "{}").status == 428);
    CHECK(sample.send("POST", acknowledge, "{}", open_now(sample).if_match).status == 412);
    const Seen taken = seen(sample.send("POST", acknowledge, "{}", left.if_match));
    CHECK(text_at(taken.body, "taken_at") == "2026-03-04T09:43:00Z");
    CHECK(sample.send("POST", acknowledge, "{}", left.if_match).status == 409);  // only once
    const Seen again = seen(sample.send("GET", "/v1/shift-handovers/" + id));
    CHECK(to_json(at(again.body, "list")) == to_json(at(left.body, "list")));  // as it was signed
    CHECK(text_at(her(again.body), "state") == "opened");
    CHECK(sample.send("GET", "/v1/shift-handovers/no-such-one").status == 404);
    const Reply listed = sample.send("GET", "/v1/shift-handovers");
    REQUIRE(at(parse_json(listed.body), "handovers").items().size() == 1);
    CHECK(text_at(at(parse_json(listed.body), "handovers").items()[0], "taken_by") == "local");
}

TEST_CASE("What has changed since it was read is not signed") {
    RecordedSample sample;
    const std::string code = sample.open();
    const Seen now = open_now(sample);
    SUBCASE("a step was told") {
        REQUIRE(sample.tell(code, R"({"step": "informed"})").status == 200);
    }
    SUBCASE("a step is overdue meanwhile") {
        sample.clock().pass(6min);
    }
    SUBCASE("a vehicle broke down") {
        REQUIRE(sample.send("POST", "/v1/vehicles/sorvrith-1/reports", R"({"state": "breakdown"})")
                    .status == 200);
    }
    SUBCASE("another woman was referred") {
        sample.open();
    }
    CHECK(sample.send("POST", "/v1/shift-handovers", "{}", now.if_match).status == 412);
    CHECK(sample.records().handovers(false, 10).empty());
    CHECK(sample.send("POST", "/v1/shift-handovers", "{}", open_now(sample).if_match).status ==
          201);
}

TEST_CASE("Nobody acknowledges the own list, nor an old one, and of two who come one does") {
    RecordedSample sample;
    Desk& desk = sample.desk();
    const auto sign = [&](const std::string& who) {
        return desk.leave_shift(as(who, desk.open_now({who, Role::dispatcher, {}, false}).sha256));
    };
    const ShiftHandover first = sign("anyone");
    const std::string sha256 = signed_list(sample.records().journal(), first.id)->sha256;
    CHECK(refused_with([&] { desk.take_shift(as("anyone", sha256), first.id); }) == 409);
    const ShiftHandover second = sign("another");
    CHECK(refused_with([&] { desk.take_shift(as("third", sha256), first.id); }) == 409);
    CHECK(desk.take_shift(as("third", sha256), second.id).taken_by == "third");
    CHECK(refused_with([&] { desk.take_shift(as("fourth", sha256), second.id); }) == 409);
    CHECK(sample.records().find_handover(second.id)->taken_by == "third");
}

TEST_CASE("Who practises signs and sees the lists of practice alone; others may not sign at all") {
    RecordedSample sample;
    Desk& desk = sample.desk();
    const Caller pupil{"pupil", Role::dispatcher, {}, true};
    const Caller dispatcher{"desk", Role::dispatcher, {}, false};
    sample.open();
    CHECK(desk.open_now(pupil).list.women.empty());
    CHECK(desk.open_now(dispatcher).list.women.size() == 1);
    const ShiftHandover practised =
        desk.leave_shift(as("pupil", desk.open_now(pupil).sha256, true));
    CHECK(practised.is_practice);
    CHECK(sample.records().handovers(false, 10).empty());
    CHECK(sample.records().handovers(true, 10).size() == 1);
    CHECK(refused_with([&] { desk.handover(dispatcher, practised.id); }) == 404);
    for (const Role role :
         {Role::driver, Role::facility, Role::health_worker, Role::planner, Role::auditor}) {
        CHECK(refused_with([&] { desk.open_now({"someone", role}); }) == 403);
    }
}

TEST_CASE("A call that comes twice signs once, and the lists are there after a restart") {
    const PrivateFolder folder;
    std::string id;
    {
        RecordedSample sample{folder.path()};
        const Seen now = open_now(sample);
        const std::string fields = now.if_match + "Idempotency-Key: once\r\n";
        const Seen first = seen(sample.send("POST", "/v1/shift-handovers", "{}", fields));
        const Seen again = seen(sample.send("POST", "/v1/shift-handovers", "{}", fields));
        id = text_at(first.body, "id");
        CHECK(text_at(again.body, "id") == id);
        CHECK(sample.records().handovers(false, 10).size() == 1);
        // what the fold keeps of itself, read again
        const Recorded kept = read_recorded(
            write_recorded(journal::load(sample.records().journal(), recorded_fold()).state));
        CHECK(kept.handovers.at(id).left_by == "local");
    }
    const RecordedSample again{folder.path()};
    CHECK(seen(again.send("GET", "/v1/shift-handovers/" + id)).body.find("list") != nullptr);
    const Reply listed = again.send("GET", "/v1/shift-handovers");
    CHECK(listed.body.find(id) != std::string::npos);
}

TEST_CASE("After a month the list is erased, and who signed it stays") {
    const PrivateFolder folder;
    RecordedSample sample{folder.path()};
    sample.open();
    const Seen now = open_now(sample);
    const Seen left = seen(sample.send("POST", "/v1/shift-handovers", "{}", now.if_match));
    const std::string id = text_at(left.body, "id");
    const auto journal = journal::open_journal((folder.path() / "journal.db").string());
    const RetentionSettings settings;
    sample.clock().pass(settings.cases_for - 1h);
    CHECK(run_retention(*journal, settings, sample.clock().now()).of_shifts == 0);
    sample.clock().pass(2h);
    CHECK(run_retention(*journal, settings, sample.clock().now()).of_shifts == 1);
    const Reply reply = sample.send("GET", "/v1/shift-handovers/" + id);
    CHECK(reply.status == 200);
    CHECK(at(parse_json(reply.body), "list").kind() == JsonKind::null);
    CHECK(text_at(parse_json(reply.body), "left_by") == "local");
    CHECK(sample.send("POST", "/v1/shift-handovers/" + id + "/acknowledgement", "{}", left.if_match)
              .status == 409);
}

TEST_CASE("On the command line: all handovers, and the list that was signed") {
    const PrivateFolder folder;
    std::string id;
    std::string code;
    {
        RecordedSample sample{folder.path()};
        code = sample.open();
        const Seen now = open_now(sample);
        id = text_at(seen(sample.send("POST", "/v1/shift-handovers", "{}", now.if_match)).body,
                     "id");
    }
    const std::string file = (folder.path() / "journal.db").string();
    const auto run = [&](const std::vector<std::string>& more) {
        std::vector<std::string> arguments{"shifts", file, "--now", sample_now};
        arguments.insert(arguments.end(), more.begin(), more.end());
        const ProgramRun done = run_program(arguments);
        return std::pair{done.code, done.out + done.err};
    };
    CHECK(run({}).second.find(id + "  Signed by local") == 0);
    const auto one = run({id});
    CHECK(one.first == 0);
    CHECK(one.second.find(code) != std::string::npos);
    CHECK(one.second.find("Nobody has taken over yet.") != std::string::npos);
    CHECK(text_at(her(parse_json(run({id, "--json"}).second)), "code") == code);
    CHECK(at(parse_json(run({"--json"}).second), "handovers").items().size() == 1);
    CHECK(run({"no-such-one"}).first == 2);
}

TEST_CASE("What is stored reads back as it was") {
    ShiftList list;
    ShiftList::Woman woman;
    woman.code = "23456789";
    woman.state = referral::State::departed;
    woman.sender = FacilityId{"kezhiru-clinic"};
    woman.deadline = parse_rfc3339("2026-03-04T13:40:00Z");
    woman.needs.push_back({{triage::Capability::magnesium_sulfate}, true, woman.deadline});
    woman.vehicles = {VehicleId{"sorvrith-1"}, VehicleId{"venzhoth-1"}};
    woman.waits = true;
    woman.expected_by = woman.deadline;
    woman.alerts.push_back({"e1-inform", "inform", *woman.deadline, {}});
    list.women.push_back(woman);
    list.vehicles.push_back({VehicleId{"sorvrith-1"}, "Sorvrith 1", dispatch::Hold::no_fuel,
                             woman.deadline, "23456789"});
    const SignedList made = to_be_signed(list, 7);
    CHECK(parse_stored_shift(to_stored(made, "fingerprint")) == made);
    CHECK(made.sha256 == sha256(to_stored(list)));
    CHECK_THROWS_AS(parse_stored_shift("{}"), InputError);
}

}  // namespace waybourne::server::test
