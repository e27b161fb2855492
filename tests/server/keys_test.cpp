#include <doctest/doctest.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/stat.h>

#include <fstream>
#include <sstream>

#include "server/security/private_text.hpp"
#include "server/security/process.hpp"
#include "tests/server/guarded_sample.hpp"
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

TEST_CASE("While the server holds keys the process leaves no core dump") {
    const PrivateMemory memory;
    rlimit limit{};
    REQUIRE(::getrlimit(RLIMIT_CORE, &limit) == 0);
    CHECK(limit.rlim_cur == 0);
    CHECK(::prctl(PR_GET_DUMPABLE, 0, 0, 0, 0) == 0);
}

}  // namespace waybourne::server::test
