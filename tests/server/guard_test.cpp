#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>

#include "tests/server/guarded_sample.hpp"
#include "vocabulary/error.hpp"

// Tokens, lost phones, limits. Spans and rates are our own (server/security/guard.hpp).

namespace waybourne::server::test {

namespace {

using std::chrono::steady_clock;

const char* const wrong_secret = "0123456789012345678901234567890123456789012";

std::string wrong_key(const GuardedSample& sample, Role role) {
    const std::string& right = sample.key(role);
    return "Waybourne-Key " + right.substr(0, right.find('.') + 1) + wrong_secret;
}

int look(const GuardedSample& sample, const std::string& token) {
    return sample.send({"GET", "/v1/protocol", "Bearer " + token}).status;
}

double middle(std::vector<double> values) {
    const auto half = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), half, values.end());
    return *half;
}

double time_ms(const std::function<void()>& request) {
    const auto began = steady_clock::now();
    request();
    return std::chrono::duration<double, std::milli>(steady_clock::now() - began).count();
}

}  // namespace

TEST_CASE("A token is good for a quarter of an hour and no longer") {
    GuardedSample sample;
    const std::string token = sample.token(Role::health_worker);
    CHECK(look(sample, token) == 200);
    sample.clock().pass(15min - 1s);
    CHECK(look(sample, token) == 200);
    sample.clock().pass(1s);
    CHECK(look(sample, token) == 401);
}

TEST_CASE("A phone that was offline for 14 days sends again without anybody typing its key") {
    GuardedSample sample;
    const Reply first = sample.exchange("Waybourne-Key " + sample.key(Role::health_worker));
    const std::string refresh = text_member(first.body, "refresh_secret");
    for (int trip = 0; trip < 4; ++trip) {  // the span begins anew with each use
        sample.clock().pass(14 * 24h);
        const Reply again = sample.exchange("Waybourne-Refresh " + refresh);
        REQUIRE(again.status == 200);
        CHECK(text_member(again.body, "refresh_secret") == refresh);
        CHECK(look(sample, text_member(again.body, "token")) == 200);
    }
    sample.clock().pass(31 * 24h);
    CHECK(sample.exchange("Waybourne-Refresh " + refresh).status == 401);
}

TEST_CASE("A refresh secret outlives a restart, and its file holds only its digest") {
    const PrivateFolder folder;
    const auto file = folder.path() / "sessions";
    const Instant now = parse_rfc3339(sample_now);
    Session session;
    {
        Sessions before{file, now};
        session = before.open("key-1", now);
        before.renew(session.refresh, now + 14 * 24h);
    }
    std::ifstream in{file};
    const std::string text{std::istreambuf_iterator<char>{in}, {}};
    CHECK(text.find(session.refresh) == std::string::npos);
    CHECK(text.find(session.token) == std::string::npos);
    const Sessions after{file, now + 14 * 24h};
    CHECK(after.key_of_refresh(session.refresh, now + 14 * 24h) == "key-1");
    CHECK_FALSE(after.key_of_token(session.token, now + 1s));
    CHECK_FALSE(after.key_of_refresh(session.refresh, now + 45 * 24h));
}

TEST_CASE("A line that a killed process did not finish locks nobody else out") {
    const PrivateFolder folder;
    const auto file = folder.path() / "sessions";
    const Instant now = parse_rfc3339(sample_now);
    const Session session = Sessions{file, now}.open("key-1", now);
    std::ofstream{file, std::ios::app} << "0123abc";
    const Sessions after{file, now};
    CHECK(after.key_of_refresh(session.refresh, now) == "key-1");
}

TEST_CASE("A lost phone is shut out at its next contact, whatever it holds") {
    GuardedSample sample;
    const Reply given = sample.exchange("Waybourne-Key " + sample.key(Role::health_worker));
    const std::string other = sample.token(Role::dispatcher);
    sample.remove_key(Role::health_worker);
    CHECK(look(sample, text_member(given.body, "token")) == 401);
    CHECK(
        sample.exchange("Waybourne-Refresh " + text_member(given.body, "refresh_secret")).status ==
        401);
    CHECK(sample.exchange("Waybourne-Key " + sample.key(Role::health_worker)).status == 401);
    CHECK(look(sample, other) == 200);
}

TEST_CASE("In production a removal is noticed within a minute") {
    CHECK(GuardSettings{}.look_at_keys_every < std::chrono::minutes{1});
}

TEST_CASE("A keys file damaged by a slip leaves the keys before in force") {
    GuardedSample sample;
    const std::string token = sample.token(Role::health_worker);
    std::ofstream{sample.keys_file()} << "{";
    CHECK(look(sample, token) == 200);
    CHECK(sample.stop().find("keys_unreadable") != std::string::npos);
}

TEST_CASE("Whatever is wrong with a key, a token or a refresh secret, the answer is the same") {
    const GuardedSample sample;
    const std::string body =
        sample.exchange("Waybourne-Key nobody00." + std::string{wrong_secret}).body;
    for (const std::string& authorization :
         {wrong_key(sample, Role::planner), std::string{"Waybourne-Key x"},
          "Waybourne-Refresh " + std::string{wrong_secret}, std::string{"Basic YTpi"},
          std::string{}}) {
        CAPTURE(authorization);
        const Reply reply = sample.exchange(authorization);
        CHECK(reply.status == 401);
        CHECK(reply.body == body);
        CHECK(reply.field("Cache-Control") == "no-store");
    }
    CHECK(look(sample, wrong_secret) == 401);
}

TEST_CASE("An unknown account takes as long as a wrong secret, so that nobody can ask who exists") {
    GuardSettings settings = quick_settings();
    settings.cost = {1, 4UL * 1024 * 1024};  // milliseconds, so that a hash left out would show
    GuardedSample sample{settings};
    const std::string unknown = "Waybourne-Key nobody00." + std::string{wrong_secret};
    const std::string wrong = wrong_key(sample, Role::planner);
    std::vector<double> of_unknown;
    std::vector<double> of_wrong;
    for (int i = 0; i < 41; ++i) {  // by turns: other work on this machine meets both alike
        of_unknown.push_back(time_ms([&] { sample.exchange(unknown); }));
        of_wrong.push_back(time_ms([&] { sample.exchange(wrong); }));
    }
    const double a = middle(of_unknown);
    const double b = middle(of_wrong);
    MESSAGE("unknown account: " << a << " ms, wrong secret: " << b << " ms");
    // Without a hash to compare with, an unknown account would be answered in a fraction of the
    // time; half or double leaves room for a busy machine.
    CHECK(a < 2 * b);
    CHECK(b < 2 * a);
}

TEST_CASE("Twenty wrong keys from one address, and that address waits; another does not") {
    GuardSettings settings = quick_settings();
    settings.failures = GuardSettings{}.failures;
    const GuardedSample sample{settings};
    const std::string wrong = wrong_key(sample, Role::planner);
    int refused = 0;
    for (int i = 0; i < 20; ++i) {
        refused += sample.exchange(wrong, "127.0.0.2").status == 401 ? 1 : 0;
    }
    CHECK(refused == 20);
    const std::string right = "Waybourne-Key " + sample.key(Role::planner);
    Reply last;
    for (int i = 0; i < 5 && last.status != 429; ++i) {  // a busy machine may give some back
        last = sample.exchange(wrong, "127.0.0.2");
    }
    CHECK(last.status == 429);
    CHECK_FALSE(last.field("Retry-After").empty());
    const Reply elsewhere = sample.exchange(right, "127.0.0.3");
    REQUIRE(elsewhere.status == 200);
    // Who holds a token or a refresh secret already is let in from there too.
    const Ask from_there{"GET", "/v1/protocol", "Bearer " + text_member(elsewhere.body, "token"),
                         "", "127.0.0.2"};
    CHECK(sample.send(from_there).status == 200);
    CHECK(sample
              .exchange("Waybourne-Refresh " + text_member(elsewhere.body, "refresh_secret"),
                        "127.0.0.2")
              .status == 200);
}

TEST_CASE("One key's storm is answered with 429 and when to come back; others are not touched") {
    GuardSettings settings = quick_settings();
    settings.ordinary = {0.01, 5};
    settings.urgent = {0.01, 2};
    GuardedSample sample{settings};
    const std::string noisy = sample.token(Role::health_worker);
    for (int i = 0; i < 5; ++i) {
        CHECK(look(sample, noisy) == 200);
    }
    const Reply refused = sample.send({"GET", "/v1/protocol", "Bearer " + noisy});
    CHECK(refused.status == 429);
    // One hundredth of a request a second; a slow machine may have waited some of it already.
    const int wait = std::stoi(refused.field("Retry-After"));
    CHECK(wait <= 100);
    CHECK(wait > 50);
    const auto assess = [&](const std::string& token) {
        return sample.send({"POST", "/v1/assessments", "Bearer " + token, R"({"findings": {}})"})
            .status;
    };
    CHECK(assess(noisy) == 200);  // a woman is waiting: polling has not used this up
    CHECK(assess(noisy) == 200);
    CHECK(assess(noisy) == 429);
    CHECK(look(sample, sample.token(Role::dispatcher)) == 200);
}

TEST_CASE("The gateway that shows its secret has an allowance of its own, a stranger has not") {
    GuardSettings settings = quick_settings();
    settings.gateway_secret = BearerSecret{"what-the-gateway-shows"};
    settings.gateway = {0.01, 30};
    settings.anonymous = {0.01, 5};
    const GuardedSample sample{settings};
    const auto bring = [&](const std::string& shown, const std::string& path,
                           const std::string& from) {
        return sample.send({"POST", path, shown, "{}", from});
    };
    const std::string right = "Bearer what-the-gateway-shows";
    // This sample takes no texts: whoever is let in gets 503.
    for (const char* shown : {"Bearer guessed", "", "Basic what-the-gateway-shows",
                              "Bearer what-the-gateway-show", "Bearer "}) {
        CHECK(bring(shown, "/v1/texts", "127.0.0.2").status == 503);
    }
    CHECK(bring("Bearer guessed", "/v1/texts", "127.0.0.2").status == 429);
    CHECK(bring("Bearer guessed", "/v1/receipts", "127.0.0.2").status == 429);
    // The gateway is let in beside him, its texts and its receipts from one allowance, wherever it
    // is.
    for (int i = 0; i < 15; ++i) {
        CHECK(bring(right, "/v1/texts", "127.0.0.2").status == 503);
        CHECK(bring(right, "/v1/receipts", "127.0.0.3").status == 503);
    }
    const Reply refused = bring(right, "/v1/texts", "127.0.0.2");
    CHECK(refused.status == 429);
    CHECK(std::stoi(refused.field("Retry-After")) >= 1);
    // Its secret opens nothing else, and is no way round a stranger's limit.
    CHECK(sample.send({"GET", "/v1/protocol", right, "", "127.0.0.4"}).status == 401);
    CHECK(sample.send({"GET", "/livez", right, "", "127.0.0.2"}).status == 429);
}

TEST_CASE("A guard without a gateway lets nobody in as one") {
    CHECK_FALSE(BearerSecret{}.is_shown_in("Bearer "));
    CHECK_FALSE(BearerSecret{}.is_shown_in(""));
    CHECK(BearerSecret{"a"}.is_shown_in("bearer a"));
    CHECK_FALSE(BearerSecret{"a"}.is_shown_in("Bearer a "));
}

TEST_CASE("One key has only so many requests under way at once") {
    GuardSettings settings = quick_settings();
    settings.concurrent = 1;
    GuardedSample sample{settings};
    const std::string token = sample.token(Role::health_worker);
    RawClient slow{sample.port()};
    slow.send("POST /v1/assessments HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer " + token +
              "\r\nContent-Type: application/json\r\nContent-Length: 16\r\n"
              "Expect: 100-continue\r\n\r\n");
    REQUIRE(parse_reply(slow.receive()).status == 100);  // it is under way
    CHECK(look(sample, token) == 429);
    CHECK(look(sample, sample.token(Role::dispatcher)) == 200);
    slow.send(R"({"findings": {}})");
    CHECK(parse_reply(slow.receive()).status == 200);
    CHECK(look(sample, token) == 200);
}

TEST_CASE("While one key storms, others wait at most twice as long as in peace") {
    GuardSettings settings = quick_settings();
    settings.urgent = {10, 200};  // the quiet key asks some hundred times in all
    GuardedSample sample{settings};
    const std::string body = R"({"from": {"facility": "kezhiru-clinic"}})";
    const Ask noisy{"POST", "/v1/recommendations", "Bearer " + sample.token(Role::health_worker),
                    body};
    const Ask quiet{"POST", "/v1/recommendations", "Bearer " + sample.token(Role::dispatcher),
                    body};
    REQUIRE(sample.send(quiet).status == 200);
    while (sample.send(noisy).status != 429) {  // until what it may ask is used up
    }
    std::atomic<bool> is_storming{false};
    std::atomic<bool> is_over{false};
    std::atomic<int> refused{0};
    std::thread storm{[&] {
        while (!is_over) {
            if (is_storming) {
                refused += sample.send(noisy).status == 429 ? 1 : 0;
            } else {
                std::this_thread::sleep_for(std::chrono::microseconds{200});
            }
        }
    }};
    // Peace and storm by turns, so that whatever else this machine does meets both alike.
    std::vector<double> in_peace;
    std::vector<double> in_storm;
    constexpr int turns = 45;
    for (int turn = 0; turn < 2 * turns; ++turn) {
        is_storming = turn % 2 == 1;
        std::this_thread::sleep_for(std::chrono::milliseconds{2});
        (is_storming ? in_storm : in_peace).push_back(time_ms([&] { sample.send(quiet); }));
    }
    is_over = true;
    storm.join();
    const double peace = middle(in_peace);
    const double in_it = middle(in_storm);
    MESSAGE("in peace " << peace << " ms, in the storm " << in_it << " ms, " << refused.load()
                        << " requests refused");
    CHECK(refused > 0);
    // The storm's client takes its time from the same processors here, which makes this stricter.
    CHECK(in_it < 2 * peace);
}

TEST_CASE("Keys being checked wait in a short queue, and what is over is turned away") {
    Seats seats{1, 1, std::chrono::milliseconds{20}};
    auto first = seats.sit();
    REQUIRE(first != nullptr);
    CHECK(seats.sit() == nullptr);  // patience ran out
    first.reset();
    CHECK(seats.sit() != nullptr);
    Concurrency two{2};
    const auto a = two.enter("here");
    const auto b = two.enter("here");
    CHECK(two.enter("here") == nullptr);
    CHECK(two.enter("there") != nullptr);
}

TEST_CASE("A million invented addresses do not fill the memory or free the one that was limited") {
    RateLimiter limiter{{1, 2}};
    const auto now = steady_clock::now();
    for (std::size_t i = 0; i < 3 * RateLimiter::most_names; ++i) {
        limiter.take("address " + std::to_string(i), now + std::chrono::microseconds{i});
    }
    const auto later = now + std::chrono::microseconds{3 * RateLimiter::most_names};
    limiter.take("noisy", later);
    limiter.take("noisy", later);
    CHECK(limiter.take("noisy", later).count() == 1);
    CHECK(limiter.take("noisy", later + std::chrono::seconds{2}).count() == 0);
}

TEST_CASE("Secrets stand in no log line and no refusal") {
    GuardedSample sample;
    const std::string key = sample.key(Role::health_worker);
    const Reply given = sample.exchange("Waybourne-Key " + key);
    const std::string token = text_member(given.body, "token");
    const Reply refused = sample.send({"GET", "/metrics", "Bearer " + token});
    CHECK(refused.status == 403);
    CHECK(refused.body.find(token) == std::string::npos);
    const Reply in_address = sample.send({"GET", "/v1/protocol?token=" + token, ""});
    CHECK(in_address.status >= 400);
    CHECK(in_address.body.find(token) == std::string::npos);
    const std::string log = sample.stop();
    CHECK(log.find("/v1/tokens") != std::string::npos);
    for (const std::string& secret :
         {key.substr(key.find('.') + 1), token, text_member(given.body, "refresh_secret"),
          std::string{"127.0.0.1"}}) {
        CHECK(log.find(secret) == std::string::npos);
    }
}

}  // namespace waybourne::server::test
