#include <doctest/doctest.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/stat.h>

#include <fstream>
#include <sstream>

#include "server/security/private_text.hpp"
#include "server/security/process.hpp"
#include "tests/server/guarded_sample.hpp"
#include "tests/server/program_run.hpp"
#include "vocabulary/error.hpp"

// Keys as they are made, kept and taken away. Cost of argon2id: OWASP Password Storage Cheat Sheet;
// the rest is our own.

namespace waybourne::server::test {

namespace {

Caller phone(const std::string& account) {
    return {account, Role::health_worker, {FacilityId{"kezhiru-clinic"}}, false};
}

std::string text_of(const std::filesystem::path& file) {
    std::ifstream in{file};
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

void add(const std::filesystem::path& file, const Key& key) {
    change_keys(file, [&](const Keys& keys) {
        auto all = keys.all();
        all.push_back(key);
        return Keys{all};
    });
}

}  // namespace

TEST_CASE("A key is shown once: the file keeps what cannot be turned back into it") {
    const PrivateFolder folder;
    const auto file = folder.path() / "keys.json";
    const NewKey made = make_key(phone("kezhiru-phone-1"), parse_rfc3339(sample_now), quick_cost);
    add(file, made.key);
    const auto parts = parse_key_text(made.text);
    REQUIRE(parts);
    CHECK(parts->secret.size() == 43);  // 256 bits in base64url (RFC 4648, section 5)
    CHECK(text_of(file).find(parts->secret) == std::string::npos);
    CHECK(is_secret(made.key.hash, parts->secret));
    CHECK_FALSE(is_secret(made.key.hash, parts->secret + "a"));
    CHECK_FALSE(is_secret(made.key.hash, ""));
    CHECK(read_keys(file) == Keys{{made.key}});
}

TEST_CASE("In production a key costs a guesser 19 MiB and two passes each time") {
    const std::string hash = hash_secret("a secret", production_cost);
    CHECK(hash.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"));
    CHECK(is_of_cost(hash, production_cost));
    CHECK_FALSE(is_of_cost(hash_secret("a secret", quick_cost), production_cost));
}

TEST_CASE("A server does not start with keys that were hashed too cheaply") {
    const PrivateFolder folder;
    const auto file = folder.path() / "keys.json";
    add(file, make_key(phone("kezhiru-phone-1"), parse_rfc3339(sample_now), quick_cost).key);
    Log log{std::make_shared<std::string>()};
    CHECK_THROWS_AS((KeyRing{file, production_cost, log}), InputError);
}

TEST_CASE("A keys file that others may read is refused, and ours is made for its owner alone") {
    const PrivateFolder folder;
    const auto file = folder.path() / "keys.json";
    add(file, make_key(phone("kezhiru-phone-1"), parse_rfc3339(sample_now), quick_cost).key);
    struct stat about {};
    REQUIRE(::stat(file.c_str(), &about) == 0);
    CHECK((about.st_mode & 0777U) == 0600U);
    ::chmod(file.c_str(), 0640);
    CHECK_THROWS_AS(read_keys(file), InputError);
}

TEST_CASE("A keys file with a slip in it is refused as a whole, and no hash is repeated") {
    const PrivateFolder folder;
    const auto file = folder.path() / "keys.json";
    const NewKey made = make_key(phone("kezhiru-phone-1"), parse_rfc3339(sample_now), quick_cost);
    add(file, made.key);
    const std::string good = text_of(file);
    const std::vector<std::pair<std::string, std::string>> slips{
        {"health_worker", "health_wroker"},
        {"\"form\": 1", "\"form\": 2"},
        {"argon2id", "argon2i"},
        {"kezhiru-phone-1", "Kezhiru phone"},
        {"\"kezhiru-clinic\"", ""},
        {"}", ""},
        {"account", "acount"}};
    for (const auto& slip : slips) {
        const std::string right = slip.first;
        std::string bad = good;
        bad.replace(bad.find(right), right.size(), slip.second);
        CAPTURE(right);
        replace_private_text(file, bad);
        try {
            read_keys(file);
            FAIL_CHECK("was taken");
        } catch (const DataError& error) {
            CHECK(std::string{error.what()}.find("$argon2") == std::string::npos);
        }
    }
}

TEST_CASE("One account has one key, and a clinic's or facility's key names its place") {
    const Instant now = parse_rfc3339(sample_now);
    const Key first = make_key(phone("phone"), now, quick_cost).key;
    const Key second = make_key(phone("phone"), now, quick_cost).key;
    CHECK(first.id != second.id);
    CHECK_THROWS_AS((Keys{{first, second}}), InputError);
    CHECK_THROWS_AS(make_key({"desk", Role::facility, {}, false}, now, quick_cost), InputError);
    CHECK_THROWS_AS(make_key(phone("Amina B."), now, quick_cost), InputError);
    CHECK_THROWS_AS(parse_role("nurse"), InputError);
}

TEST_CASE("A number is registered once, for one account, and for those who act by text") {
    const Instant now = parse_rfc3339(sample_now);
    const auto number = [&](const char* digits, const Caller& caller) {
        return Number{digits, caller, now};
    };
    const Caller driver{"vehicle-3", Role::driver, {}, false};
    const Caller other{"vehicle-4", Role::driver, {}, false};
    const Keys keys{{}, {number("+99955500003", driver), number("+99955500004", other)}};
    CHECK(keys.find_number("+99955500003")->caller == driver);
    CHECK(keys.find_number("+99955500009") == nullptr);
    CHECK(keys.find_number_of("vehicle-4")->number == "+99955500004");
    CHECK_THROWS_AS((Keys{{}, {number("+99955500003", driver), number("+99955500003", other)}}),
                    InputError);
    CHECK_THROWS_AS((Keys{{}, {number("+99955500003", driver), number("+99955500004", driver)}}),
                    InputError);
    CHECK_THROWS_AS((Keys{{}, {number("+99955500003", {"desk", Role::planner, {}, false})}}),
                    InputError);
    CHECK_THROWS_AS((Keys{{}, {number("+99955500003", {"ward", Role::facility, {}, false})}}),
                    InputError);
    // there are words in three languages
    Number other_language = number("+99955500003", driver);
    other_language.language = "sw";
    CHECK(Keys{{}, {other_language}}.numbers().front().language == "sw");
    other_language.language = "de";
    CHECK_THROWS_AS((Keys{{}, {other_language}}), InputError);
    // one account is one thing, by key and by text
    const Key key = make_key({"vehicle-3", Role::driver, {}, true}, now, quick_cost).key;
    CHECK_THROWS_AS((Keys{{key}, {number("+99955500003", driver)}}), InputError);
}

TEST_CASE("A number is taken however it is written, but only with the code of its country") {
    CHECK(parse_number("+999 555 000-03") == "+99955500003");
    CHECK(parse_number("+999(555)000.03") == "+99955500003");
    for (const char* text : {"", "+", "0555 000 03", "99955500003", "+0999555000", "+99955x00003",
                             "+999555", "+9995550000000003", "++99955500003", "Airtime"}) {
        CAPTURE(text);
        CHECK_THROWS_AS(parse_number(text), InputError);
    }
}

TEST_CASE("Numbers stay in the file when keys come and go, and the other way round") {
    const PrivateFolder folder;
    const auto file = folder.path() / "keys.json";
    const auto run = [&](std::vector<std::string> words) {
        words.insert(words.end(), {"--keys", file.string()});
        return run_program(std::move(words)).code;
    };
    CHECK(run({"numbers", "add", "+999 555 000 03", "vehicle-3", "--role", "driver"}) == 0);
    CHECK(run({"keys", "add", "desk", "--role", "dispatcher"}) == 0);
    CHECK(run({"numbers", "add", "+99955500004", "plans", "--role", "planner"}) == 2);
    CHECK(read_keys(file).numbers().size() == 1);
    CHECK(read_keys(file).all().size() == 1);
    CHECK(run({"keys", "remove", "desk"}) == 0);
    CHECK(read_keys(file).find_number("+99955500003")->caller.who == "vehicle-3");
    CHECK(run({"numbers", "remove", "+99955500003"}) == 0);
    CHECK(run({"numbers", "remove", "+99955500003"}) == 2);
    CHECK(read_keys(file).numbers().empty());
}

TEST_CASE("While the server holds keys the process leaves no core dump") {
    const PrivateMemory memory;
    rlimit limit{};
    REQUIRE(::getrlimit(RLIMIT_CORE, &limit) == 0);
    CHECK(limit.rlim_cur == 0);
    CHECK(::prctl(PR_GET_DUMPABLE, 0, 0, 0, 0) == 0);
}

}  // namespace waybourne::server::test
