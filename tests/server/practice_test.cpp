#include <doctest/doctest.h>

#include <regex>

#include "journal/open_journal.hpp"
#include "server/problem.hpp"
#include "tests/server/has.hpp"
#include "tests/server/program_run.hpp"
#include "tests/server/texting_sample.hpp"

// Practice: whatever somebody who practises does, nobody else is told, nothing real changes, and
// nothing of it can be taken for real. Each case tries to leak a practice case through one exit.

namespace waybourne::server::test {

namespace {

/// A district with keys and a journal: for each role that may see cases one account that is real
/// and one that practises, both for the same places.
class TwoWorlds {
public:
    TwoWorlds() {
        application_.records = &records_;
        application_.desk = &desk_;
        port_ = server_.bind();
        thread_ = std::thread{[this] { server_.run(); }};
    }
    ~TwoWorlds() {
        server_.stop();
        thread_.join();
    }
    TwoWorlds(const TwoWorlds&) = delete;
    TwoWorlds& operator=(const TwoWorlds&) = delete;

    Reply send(const std::string& account, const std::string& method, const std::string& path,
               const std::string& body = "", const std::string& fields = "") {
        RawClient client{port_};
        std::string bytes = method + " " + path +
                            " HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer " +
                            token(account) + "\r\n" + fields;
        if (method == "POST") {
            bytes +=
                "Content-Type: application/json\r\nContent-Length: " + std::to_string(body.size()) +
                "\r\n";
        }
        client.send(bytes + "\r\n" + body);
        return parse_reply(client.receive());
    }
    std::string open(const std::string& account) {
        const Reply reply = send(account, "POST", "/v1/referrals", opening_body());
        REQUIRE_MESSAGE(reply.status == 201, reply.body);
        return text_at(parse_json(reply.body), "code");
    }
    std::string token(const std::string& account) {
        std::string& known = tokens_[account];
        if (known.empty()) {
            known = guard_.exchange("Waybourne-Key " + keys_.at(account), "").session.token;
        }
        return known;
    }
    int port() const { return port_; }
    SettableClock& clock() { return clock_; }
    Records& records() { return records_; }
    Desk& desk() { return desk_; }
    Current<Snapshot>& snapshot() { return application_.snapshot; }
    Log& log() { return log_; }

private:
    std::filesystem::path keys_file() {
        const auto file = folder_.path() / "keys.json";
        std::vector<Key> all;
        for (const Role role : all_roles) {
            for (const bool practises : {false, true}) {
                Caller caller{
                    (practises ? "pupil-" : "") + std::string{to_name(role)}, role, {}, practises};
                if (role == Role::health_worker) {
                    caller.facilities = {FacilityId{"kezhiru-clinic"}};
                } else if (role == Role::facility) {
                    caller.facilities = {FacilityId{"sorvrith-hospital"}};
                }
                NewKey made = make_key(caller, clock_.now(), quick_cost);
                keys_[caller.who] = made.text;
                all.push_back(std::move(made.key));
            }
        }
        change_keys(file, [&](const Keys&) { return Keys{all}; });
        return file;
    }

    PrivateFolder folder_;
    SettableClock clock_;
    std::map<std::string, std::string> keys_;
    std::map<std::string, std::string> tokens_;
    Log log_{std::make_shared<std::string>()};
    Metrics metrics_;
    Workers workers_{2};
    Guard guard_{keys_file(), clock_, log_, quick_settings()};
    Application application_{Current<Snapshot>{sample_snapshot()},
                             clock_,
                             metrics_,
                             workers_,
                             "openapi: 3.1.0\n",
                             &guard_};
    Records records_{journal::open_journal((folder_.path() / "journal.db").string()),
                     application_.snapshot, clock_};
    Desk desk_{records_, application_.snapshot, clock_};
    HttpServer server_{on_free_port({}), all_endpoints(application_), metrics_, log_, &guard_};
    int port_ = 0;
    std::thread thread_;
};

}  // namespace

TEST_CASE("A practice case is seen by those who practise and by nobody else, on any route") {
    TwoWorlds worlds;
    const std::string code = worlds.open("pupil-health_worker");
    const std::string one = "/v1/referrals/" + code;
    const std::string body = R"({"step": "informed"})";
    for (const char* who : {"health_worker", "facility", "dispatcher", "driver"}) {
        CAPTURE(who);
        CHECK(worlds.send(who, "GET", one).status == 404);
        CHECK_FALSE(has(worlds.send(who, "GET", "/v1/referrals").body, code));
        CHECK(worlds.send(who, "POST", one + "/events", body, "If-Match: \"1\"\r\n").status == 404);
    }
    CHECK_FALSE(has(
        worlds.send("facility", "GET", "/v1/facilities/sorvrith-hospital/arrivals").body, code));
    CHECK(
        has(worlds.send("pupil-facility", "GET", "/v1/facilities/sorvrith-hospital/arrivals").body,
            code));
    CHECK(worlds.send("pupil-dispatcher", "GET", one).status == 200);
    // and the other way round: who practises sees nothing real
    const std::string real = worlds.open("health_worker");
    CHECK(worlds.send("pupil-dispatcher", "GET", "/v1/referrals/" + real).status == 404);
    CHECK_FALSE(has(worlds.send("pupil-facility", "GET", "/v1/referrals").body, real));
}

TEST_CASE(
    "Every answer to somebody who practises says so, in its head, its members and its words") {
    TwoWorlds worlds;
    const std::string code = worlds.open("pupil-health_worker");
    const JsonValue request = parse_json(opening_body());
    const std::string findings = to_json(*request.find("request"));
    const std::string note =
        worlds.send("pupil-health_worker", "POST", "/v1/recommendations", findings).body;
    CHECK(has(note, "PRACTICE, NOT A REAL CASE"));
    CHECK(has(note, "PRACTICE: this is not a real case."));
    for (const char* path : {"/v1/referrals", "/v1/facilities", "/v1/road-conditions",
                             "/v1/facilities/sorvrith-hospital/arrivals", "/v1/protocol"}) {
        CAPTURE(path);
        CHECK(worlds.send("pupil-facility", "GET", path).field("Waybourne-Practice") == "yes");
        CHECK(worlds.send("facility", "GET", path).field("Waybourne-Practice").empty());
    }
    for (const std::string& path : {"/v1/referrals/" + code, std::string{"/v1/referrals"},
                                    std::string{"/v1/facilities/sorvrith-hospital/arrivals"}}) {
        CAPTURE(path);
        CHECK(has(worlds.send("pupil-facility", "GET", path).body, R"("practice":true)"));
    }
    // a refusal too
    CHECK(worlds.send("pupil-facility", "GET", "/v1/referrals/ABCDEFGH")
              .field("Waybourne-Practice") == "yes");
    const std::string real =
        worlds.send("health_worker", "POST", "/v1/recommendations", findings).body;
    CHECK_FALSE(has(real, "PRACTICE"));
}

TEST_CASE(
    "Who follows live hears of a practice case only when practising, and hears that it is one") {
    constexpr std::chrono::milliseconds slice{100};
    constexpr int patience = 200;  // slices: a slow machine is no failure
    TwoWorlds worlds;
    const auto follow = [&](const char* who) {
        auto client = std::make_unique<RawClient>(worlds.port());
        client->send("GET /v1/live HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer " +
                     worlds.token(who) + "\r\n\r\n");
        std::string heard;
        for (int i = 0; i < patience && !has(heard, "following"); ++i) {
            heard += client->receive(slice);
        }
        CHECK(has(heard, "following"));
        return client;
    };
    const auto real = follow("dispatcher");
    const auto pupil = follow("pupil-dispatcher");
    const std::string practice = worlds.open("pupil-health_worker");
    const std::string code = worlds.open("health_worker");
    std::string heard;
    std::string heard_by_pupil;
    for (int i = 0; i < patience && !(has(heard, code) && has(heard_by_pupil, practice)); ++i) {
        heard += real->receive(slice);
        heard_by_pupil += pupil->receive(slice);
    }
    CHECK(has(heard, code));
    CHECK(has(heard, R"("practice":false)"));
    CHECK_FALSE(has(heard, practice));
    CHECK(has(heard_by_pupil, practice));
    CHECK(has(heard_by_pupil, R"("practice":true)"));
    CHECK_FALSE(has(heard_by_pupil, code));
}

TEST_CASE("Practising changes no readiness and no road") {
    TwoWorlds worlds;
    const auto before = worlds.snapshot().get();
    const Reply report =
        worlds.send("pupil-facility", "POST", "/v1/facilities/sorvrith-hospital/readiness",
                    R"({"reports": [{"about": "operative_delivery", "state": "not_ready"}]})");
    CHECK(report.status == 403);
    const Reply road =
        worlds.send("pupil-driver", "POST", "/v1/road-conditions",
                    R"({"kind": "closed", "near": {"place": "sorvrith-hospital", "within_m": 500},
            "until": "2026-03-05T09:00:00Z"})");
    CHECK(road.status == 403);
    CHECK(worlds.snapshot().get() == before);
    // answering a practice case is practised all the same
    const std::string code = worlds.open("pupil-health_worker");
    const Reply reply = worlds.send(
        "pupil-facility", "POST", "/v1/facilities/sorvrith-hospital/readiness",
        R"({"reply": {"code": ")" + code + R"(", "answer": "accepted"}})",
        "If-Match: " + worlds.send("pupil-facility", "GET", "/v1/referrals/" + code).field("ETag") +
            "\r\n");
    CHECK_MESSAGE(reply.status == 200, reply.body);
}

TEST_CASE("A practice case is texted to nobody, whatever becomes of it") {
    TwoWorlds worlds;
    FakeGateway gateway;
    const auto keys = std::make_shared<const Keys>(sample_numbers());
    Outbox outbox{worlds.records(),
                  worlds.snapshot(),
                  [&] { return keys; },
                  gateway,
                  worlds.clock(),
                  worlds.log(),
                  {}};
    const std::string code = worlds.open("pupil-health_worker");
    const char* steps[] = {R"({"step": "vehicle_assigned", "vehicle": "vehicle-3"})",
                           R"({"step": "diverted", "place": "venzhoth-hospital"})",
                           R"({"step": "cancelled", "reason": "the exercise is over"})"};
    for (const char* step : steps) {
        CAPTURE(step);
        outbox.work();
        const std::string tag =
            worlds.send("pupil-dispatcher", "GET", "/v1/referrals/" + code).field("ETag");
        CHECK(worlds
                  .send("pupil-dispatcher", "POST", "/v1/referrals/" + code + "/events", step,
                        "If-Match: " + tag + "\r\n")
                  .status == 200);
    }
    outbox.work();
    worlds.clock().pass(1h);
    outbox.work();
    CHECK(gateway.sent().empty());
    CHECK(outbox.counts().empty());
}

TEST_CASE("A text moves a practice case only from a practice phone, and its answer says practice") {
    TwoWorlds worlds;
    const auto keys = std::make_shared<const Keys>(sample_numbers());
    TextAnswers answers{worlds.records(),     worlds.desk(),  worlds.snapshot(),
                        [&] { return keys; }, worlds.clock(), sample_words_file()};
    const std::string code = worlds.open("pupil-health_worker");
    const std::string real = answers.answer({hospital_number, "1 " + code}).value_or("");
    CHECK(has(real, "no open case"));
    const std::string pupil = answers.answer({practice_number, "1"}).value_or("");
    CHECK(pupil.starts_with("PRACTICE, NOT REAL. Noted"));
    const std::string report =
        answers.answer({practice_number, "NOT READY operative_delivery"}).value_or("");
    CHECK(has(report, "changes no readiness"));
    CHECK(worlds.snapshot().get()->version == 1);
}

TEST_CASE("Practice is counted in no figure that is handed out") {
    TwoWorlds worlds;
    const auto figures = [&] {
        const std::string text = worlds.send("administrator", "GET", "/metrics").body;
        // all but the request for the figures themselves, and what time and connections do
        return std::regex_replace(text, std::regex(R"([^\n]*(/metrics|_connections)[^\n]*\n)"), "");
    };
    figures();
    const std::string before = figures();
    const std::string code = worlds.open("pupil-health_worker");
    worlds.send("pupil-facility", "GET", "/v1/referrals/" + code);
    worlds.send("pupil-facility", "GET", "/v1/facilities/sorvrith-hospital/arrivals");
    CHECK(figures() == before);
    worlds.open("health_worker");
    CHECK(figures() != before);
}

TEST_CASE("A real case and a practice case are never offered, nor made, one") {
    RecordedSample real;
    // an administrator of a server without keys sees both
    const Caller pupil{"pupil", Role::health_worker, {FacilityId{"kezhiru-clinic"}}, true};
    const std::string one = real.open();
    const Told told = real.desk().open({pupil}, parse_opening(opening_body(), real.clock().now()),
                                       opening_body());
    const std::string practice = told.record->code;
    CHECK(at(real.show(one), "same_woman.offers").items().empty());
    CHECK(real.tell(one, R"({"step": "merged", "other": ")" + practice + "\"}").status == 409);
    CHECK(has(real.send("GET", "/v1/referrals/" + practice).body, R"("practice":true)"));
}

TEST_CASE("On a server that practises as a whole every case is a practice case") {
    const PrivateFolder folder;
    std::string real;
    {
        const RecordedSample before{folder.path()};
        real = before.open();
    }
    HttpSettings settings;
    settings.is_practice = true;
    const RecordedSample practice{folder.path(), settings};
    const std::string code = practice.open();
    CHECK(has(practice.send("GET", "/v1/referrals/" + code).body, R"("practice":true)"));
    CHECK(practice.send("GET", "/v1/referrals/" + real).status == 404);
    CHECK(practice.send("GET", "/livez").field("Waybourne-Practice") == "yes");
}

TEST_CASE("Practice on the command line says so first") {
    const ProgramRun asked =
        run_program({"ask", "--practice", "--now", sample_now, "--from", "kezhiru-clinic",
                     "--pressure", "165/112", "--set", "status=pregnant"});
    CHECK(asked.code == 0);
    CHECK(asked.out.starts_with("PRACTICE: this is not a real case."));
    const ProgramRun served = run_program(
        {"serve", "--practice", "--messages", "m.json", "--keys", "k.json", "--journal", "j.db"});
    CHECK(served.code == 2);
    CHECK(has(served.err, "practice never leaves the system"));
}

}  // namespace waybourne::server::test
