#include "tests/server/referral_model.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <random>

#include "server/http/resources.hpp"
#include "server/problem.hpp"
#include "server/security/access.hpp"
#include "tests/server/recorded_sample.hpp"
#include "tests/support/sanitized.hpp"

// Thousands of random sequences of calls by random people, and beside them the model of
// referral_model.hpp: every status and every state must be the one that it gives.

namespace waybourne::server::test {

namespace {

const std::vector<std::string> hospitals{"sorvrith-hospital", "venzhoth-hospital"};

std::vector<Caller> everybody() {
    const auto at_place = [](const char* who, Role role, const char* place, bool practice = false) {
        return Caller{who, role, {FacilityId{place}}, practice};
    };
    return {at_place("clinic-a", Role::health_worker, "kezhiru-clinic"),
            at_place("clinic-b", Role::health_worker, "ammovreth-health-centre"),
            at_place("trainee", Role::health_worker, "kezhiru-clinic", true),
            at_place("hospital-1", Role::facility, "sorvrith-hospital"),
            at_place("hospital-2", Role::facility, "venzhoth-hospital"),
            {"desk", Role::dispatcher, {}, false},
            {"vehicle-1", Role::driver, {}, false},
            {"planner", Role::planner, {}, false},
            {"auditor", Role::auditor, {}, false},
            {"administrator", Role::administrator, {}, false}};
}

constexpr unsigned districts = tests::is_sanitized ? 3 : 41;

/// Where files are quick: what a power cut would lose does not matter here.
std::filesystem::path quick_place() {
    const std::filesystem::path memory = "/dev/shm";
    return std::filesystem::exists(memory) ? memory : std::filesystem::temp_directory_path();
}

/// The server and the model side by side.
class Trial {
public:
    explicit Trial(unsigned seed)
        : random_(seed),
          workers_(1),
          application_{Current<Snapshot>{sample_snapshot()}, sample_.clock(), metrics_, workers_,
                       ""},
          table_((application_.records = &sample_.records(), application_.desk = &sample_.desk(),
                  all_endpoints(application_))) {}

    /// A sequence of its own: a new case, and so many random calls about it and what is opened
    /// meanwhile.
    void run_sequence(std::size_t calls) {
        in_play_.clear();
        open(dispatcher());
        for (std::size_t call = 0; call < calls; ++call) {
            take_a_turn();
        }
    }

    std::size_t below(std::size_t end) { return random_() % end; }

    std::map<int, int> statuses;

private:
    void take_a_turn() {
        sample_.clock().pass(3min);
        const Caller& caller = pick(callers_);
        const auto what = random_() % 20;
        if (what == 0) {
            open(caller);
        } else if (what < 3) {
            look(caller, pick(in_play_));
        } else if (what == 3) {
            list(caller);
        } else if (what == 4) {
            repeat();
        } else {
            // half of the time somebody who sees her, so that her journey goes on
            const std::string& code = pick(in_play_);
            const bool is_desk = random_() % 2 == 0;
            tell(is_desk && !known_.at(code).is_practice ? dispatcher() : caller, code);
        }
    }

    const Caller& dispatcher() const { return callers_.at(5); }

    template <typename T>
    const T& pick(const std::vector<T>& some) {
        return some[random_() % some.size()];
    }

    /// What a client would get: the table of roles first, as in front of every handler.
    HttpResponse send(const Caller& caller, const std::string& method, const std::string& path,
                      const std::string& body = "", const std::string& tag = "",
                      const std::string& key = "") {
        const auto match = table_.find_path(path);
        REQUIRE(match.has_value());
        HttpResponse response;
        try {
            if (!find_access(method, match->pattern)->audience.has(caller.role)) {
                response.status = 403;
            } else {
                HttpRequest request{"t", method, match->path_values, body};
                request.caller = caller;
                request.if_match = tag;
                request.idempotency_key = key;
                response = table_.find(*match, method)->handle(request);
            }
        } catch (...) {
            const Problem problem = to_problem(std::current_exception());
            response.status = problem.status;
            response.body = render_problem(problem);
        }
        ++statuses[response.status];
        return response;
    }

    static bool is_admitted(const Caller& caller) {
        return caller.role != Role::planner && caller.role != Role::auditor &&
               caller.role != Role::administrator;
    }

    static std::string tag_of(const HttpResponse& response) {
        for (const auto& [name, value] : response.headers) {
            if (name == "ETag") {
                return value;
            }
        }
        return "";
    }

    void open(const Caller& caller) {
        const HttpResponse response = send(caller, "POST", "/v1/referrals", opening_body());
        const bool may = caller.role == Role::dispatcher ||
                         (caller.role == Role::health_worker && is_at(caller, "kezhiru-clinic"));
        REQUIRE_MESSAGE(response.status == (may ? 201 : 403), response.body);
        if (may) {
            Known known;
            known.sender = "kezhiru-clinic";
            known.asked = "sorvrith-hospital";
            known.is_practice = caller.practice;
            known.tag = tag_of(response);
            const std::string code = text_at(parse_json(response.body), "code");
            known_.emplace(code, known);
            codes_.push_back(code);
            in_play_.push_back(code);
        }
    }

    void look(const Caller& caller, const std::string& code) {
        const Known& known = known_.at(code);
        const HttpResponse response = send(caller, "GET", "/v1/referrals/" + code);
        const int wanted = !is_admitted(caller) ? 403 : sees(caller, known) ? 200 : 404;
        REQUIRE(response.status == wanted);
        if (wanted == 200) {
            agree(response, known);
        }
    }

    void agree(const HttpResponse& response, const Known& known) {
        const JsonValue body = parse_json(response.body);
        REQUIRE(text_at(body, "state") == state_of(known));
        REQUIRE(text_at(body, "reply") == known.reply);
        REQUIRE(text_at(body, "asked") == known.asked);
        REQUIRE(at(body, "history").items().size() == known.events);
        REQUIRE(at(body, "flags").items().empty());
        REQUIRE(tag_of(response) == known.tag);
        for (const std::string& step : all_steps()) {
            const auto possible = texts_at(body, "possible");
            const bool is_listed =
                std::find(possible.begin(), possible.end(), step) != possible.end();
            REQUIRE_MESSAGE((!is_listed || is_possible(known, step)), step);
        }
    }

    void list(const Caller& caller) {
        const HttpResponse response = send(caller, "GET", "/v1/referrals");
        REQUIRE(response.status == (is_admitted(caller) ? 200 : 403));
        if (response.status != 200) {
            return;
        }
        std::vector<std::string> wanted;
        for (auto code = codes_.rbegin(); code != codes_.rend() && wanted.size() < 50; ++code) {
            if (sees(caller, known_.at(*code))) {
                wanted.push_back(*code);
            }
        }
        std::vector<std::string> listed;
        const JsonValue body = parse_json(response.body);
        for (const JsonValue& one : at(body, "referrals").items()) {
            listed.push_back(text_at(one, "code"));
            REQUIRE(text_at(one, "state") == state_of(known_.at(listed.back())));
        }
        REQUIRE(listed == wanted);
    }

    std::string body_of(const std::string& step, const std::string& place) const {
        std::string body = R"({"step": ")" + step + "\"";
        if (step == "diverted") {
            body += R"(, "place": ")" + place + "\"";
        } else if (step == "vehicle_assigned") {
            body += R"(, "vehicle": "vehicle-1")";
        } else if (step == "declined" || step == "cancelled") {
            body += R"(, "reason": "no theatre")";
        } else if (step == "refused") {
            body += R"(, "ask_again_at": ")" + to_rfc3339(sample_.clock().now() + 1h) + "\"";
        } else if (step == "closed") {
            body += R"(, "persons": [{"person": "mother", "outcome": "alive_well"}])";
        }
        return body + "}";
    }

    void tell(const Caller& caller, const std::string& code) {
        Known& known = known_.at(code);
        std::string step = pick(all_steps());
        for (int i = 0; i < 3 && (!is_possible(known, step) || known.end.size() > 0); ++i) {
            step = pick(all_steps());  // possible ones more often than not
        }
        if (step == "diverted" && known.journey >= 4) {
            return;  // sending her onward has tests of its own in tests/referral
        }
        const std::string place = pick(hospitals);
        const auto sight = random_() % 8;
        const std::string tag = sight == 0 ? "" : sight == 1 ? "\"0\"" : known.tag;
        const std::string key = "call-" + std::to_string(++calls_);
        const std::string path = "/v1/referrals/" + code + "/events";
        const std::string body = body_of(step, place);
        const HttpResponse response = send(caller, "POST", path, body, tag, key);
        const int wanted = !is_admitted(caller)        ? 403
                           : !sees(caller, known)      ? 404
                           : !tells(caller, step)      ? 403
                           : sight == 0                ? 428
                           : sight == 1                ? 412
                           : !is_possible(known, step) ? 409
                                                       : 200;
        REQUIRE_MESSAGE(response.status == wanted, caller.who << " tells " << step << " in "
                                                              << state_of(known) << ": "
                                                              << response.body.substr(0, 300));
        if (wanted == 200) {
            apply(known, step, place);
            known.tag = tag_of(response);
            agree(response, known);
            done_.push_back({caller, code, path, body, tag, key, known});
        }
    }

    struct Done {
        Caller caller;
        std::string code;
        std::string path;
        std::string body;
        std::string tag;
        std::string key;
        Known then;
    };

    /// An old call again: the same answer and no change; under the same key something else: no.
    void repeat() {
        if (done_.empty()) {
            return;
        }
        const Done& done = pick(done_);
        const bool is_seen = sees(done.caller, known_.at(done.code));
        const HttpResponse again =
            send(done.caller, "POST", done.path, done.body, done.tag, done.key);
        REQUIRE(again.status == (is_seen ? 200 : 404));
        if (is_seen) {
            agree(again, done.then);
        }
        const std::string other = R"({"step": "lost_contact", "reason": "other"})";
        const HttpResponse refused =
            send(done.caller, "POST", done.path, other, done.tag, done.key);
        REQUIRE(refused.status == (is_seen ? 422 : 404));
    }

    std::mt19937 random_;
    PrivateFolder folder_{quick_place()};
    mutable RecordedSample sample_{folder_.path()};
    Metrics metrics_;
    Workers workers_;
    Application application_;
    EndpointTable table_;
    std::vector<Caller> callers_ = everybody();
    std::map<std::string, Known> known_;
    std::vector<std::string> codes_;
    std::vector<std::string> in_play_;
    std::vector<Done> done_;
    int calls_ = 0;
};

}  // namespace

TEST_CASE(
    "Whoever calls whatever in whatever order: states, permissions and errors are the model's") {
    constexpr unsigned first_seed = 20260304;
    constexpr std::size_t long_life = 1500;
    std::map<int, int> statuses;
    std::size_t sequences = 0;
    for (unsigned number = 0; number < districts; ++number) {
        CAPTURE(first_seed + number);
        Trial trial{first_seed + number};
        // one district in which much happens at once, many with fifty short stories each
        for (std::size_t story = 0; story < (number == 0 ? 1 : 50); ++story) {
            CAPTURE(story);
            trial.run_sequence(number == 0 ? long_life : 2 + trial.below(6));
            ++sequences;
        }
        for (const auto& [status, count] : trial.statuses) {
            statuses[status] += count;
        }
    }
    CHECK(sequences == 1 + std::size_t{50} * (districts - 1));
    std::string tried;
    for (const auto& [status, count] : statuses) {
        tried += " " + std::to_string(status) + ": " + std::to_string(count);
    }
    MESSAGE(sequences << " sequences; answers by status:" << tried);
    for (const int status : {200, 201, 403, 404, 409, 412, 422, 428}) {
        CHECK(statuses[status] > 0);
    }
}

}  // namespace waybourne::server::test
