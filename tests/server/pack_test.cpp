#include <doctest/doctest.h>
#include <zlib.h>

#include <random>

#include "server/answer_json.hpp"
#include "server/json/request.hpp"
#include "server/pack/make_pack.hpp"
#include "server/pack/pack_content.hpp"
#include "server/pack/pack_file.hpp"
#include "server/pack/pack_shelf.hpp"
#include "server/problem.hpp"
#include "tests/server/guarded_sample.hpp"
#include "tests/server/served_sample.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"

// The layout is our own (server/pack/pack_file.hpp); the signature is RFC 8032's, by libsodium. The
// 2,000 cases on the phone itself are in tests/browser/core_test.mjs.

namespace waybourne::server::test {

namespace {

const PackKey& pack_key() {
    static const PackKey key{std::string(64, '7')};
    return key;
}

const std::string& sample_pack() {
    static const std::string pack = make_pack(*sample_snapshot(), pack_key());
    return pack;
}

/// The sample with a road closed, another slower, and a place that says it has no blood.
std::shared_ptr<const Snapshot> changed_sample() {
    const Instant now = parse_rfc3339(sample_now);
    auto changed = std::make_shared<Snapshot>(*sample_snapshot());
    routing::RoadChange closed;
    closed.id = "closed-1";
    const routing::RoadNetwork& network = changed->roads->network();
    closed.where = routing::RoadId{network.pieces()[17].road};
    closed.period = {now - 1h, now + 48h};
    closed.reason = "bridge out";
    routing::RoadChange slower;
    slower.id = "slower-1";
    const GeoPoint middle = changed->facilities.facilities().front().point;
    const double latitude = middle.latitude().degrees;
    const double longitude = middle.longitude().degrees;
    const auto corner = [&](double north, double east) {
        return GeoPoint{Latitude{latitude + north}, Longitude{longitude + east}};
    };
    slower.where = routing::Area{{corner(-0.02, -0.02), corner(-0.02, 0.02), corner(0.02, 0.02)}};
    slower.slower_by = 2.125;
    slower.period = {now - 2h, std::nullopt};
    changed->roads = changed->roads->with_changes({closed, slower}, now);
    facilities::Report report;
    report.facility = changed->facilities.facilities().front().id;
    report.about = facilities::WholeFacility{};
    report.at = now - 10min;
    report.by = "facility";
    report.until = now + 3h;
    changed->facilities = changed->facilities.with(report);
    changed->report_count = changed->facilities.report_count();
    changed->version = 7;
    return changed;
}

/// Something about a woman, in numbers that reach many rules, from somewhere in the district.
std::string random_request(const Snapshot& snapshot, std::mt19937& random) {
    const auto below = [&](unsigned end) { return static_cast<unsigned>(random() % end); };
    const auto among = [&](std::initializer_list<const char*> all) {
        return std::string(*(all.begin() + below(static_cast<unsigned>(all.size()))));
    };
    const auto all = snapshot.facilities.facilities();
    const auto& place = all[below(static_cast<unsigned>(all.size()))];
    JsonWriter json;
    json.begin_object().key("readings").begin_list().begin_object();
    json.member("taken_at", parse_rfc3339(sample_now) - std::chrono::minutes{below(90)});
    json.member("systolic_mmhg", 70 + static_cast<int>(below(110)));
    json.member("diastolic_mmhg", 40 + static_cast<int>(below(80)));
    json.member("pulse_per_minute", 50 + static_cast<int>(below(100))).end_object().end_list();
    json.key("findings").begin_object();
    json.member("status", among({"pregnant", "in_labour", "postpartum"}));
    json.member("convulsions", among({"yes", "no", "unknown"}));
    json.member("severe_headache", among({"yes", "no", "unknown"}));
    json.key("temp_c").value(35 + below(60) / 10.0, 1).end_object();
    json.key("from").begin_object();
    if (below(2) == 0) {
        json.member("facility", place.id.value());
    } else {
        json.key("latitude").value(place.point.latitude().degrees + below(100) / 2000.0, 6);
        json.key("longitude").value(place.point.longitude().degrees - below(100) / 2000.0, 6);
    }
    json.end_object().key("transport").begin_object();
    json.member("means", among({"on_foot", "motorcycle", "car", "four_wheel_drive"}));
    return json.end_object().end_object().take();
}

/// What the server says to a request, or its refusal.
std::string said(const Snapshot& snapshot, const std::string& request) {
    const Instant now = parse_rfc3339(sample_now);
    try {
        return recommendation_json(snapshot, parse_recommendation_request(request), now,
                                   snapshot.catalogue);
    } catch (const std::exception&) {
        return render_problem(to_problem(std::current_exception()));
    }
}

std::string why_refused(const std::string& file, const std::string& key = pack_key().public_key()) {
    try {
        open_pack(file, key);
    } catch (const DataError& error) {
        return error.what();
    }
    return "taken";
}

/// The same pack with another payload, all hashes and the signature set right.
std::string with_sections(const PackSections& sections) {
    const std::string payload = write_sections(sections);
    std::string packed(compressBound(static_cast<uLong>(payload.size())), '\0');
    auto size = static_cast<uLongf>(packed.size());
    REQUIRE(compress(reinterpret_cast<Bytef*>(packed.data()), &size,
                     reinterpret_cast<const Bytef*>(payload.data()),
                     static_cast<uLong>(payload.size())) == Z_OK);
    packed.resize(size);
    PackHeader header;
    header.packed_bytes = packed.size();
    header.unpacked_bytes = payload.size();
    header.payload_sha256 = sha256(packed);
    header.public_key = pack_key().public_key();
    const std::string head = signed_part(header);
    return head + pack_key().sign(head) + packed;
}

/// The endpoints without a network in between.
class AskedDirectly {
public:
    explicit AskedDirectly(PackShelf* shelf) { application_.packs = shelf; }

    HttpResponse get(const std::string& path, const std::string& if_none_match = "") const {
        const EndpointTable table = all_endpoints(application_);
        const auto match = table.find_path(path);
        REQUIRE(match);
        HttpRequest request{"1", "GET", match->path_values};
        request.if_none_match = if_none_match;
        return table.find(*match, "GET")->handle(request);
    }

private:
    ClockFrom clock_{parse_rfc3339(sample_now)};
    Metrics metrics_;
    mutable Workers workers_{1};
    Application application_{Current<Snapshot>{sample_snapshot()}, clock_, metrics_, workers_, ""};
};

std::string field(const HttpResponse& response, const std::string& name) {
    for (const auto& [own, value] : response.headers) {
        if (own == name) {
            return value;
        }
    }
    return "";
}

}  // namespace

TEST_CASE("Whoever takes the pack along gets the server's answers, byte for byte") {
    const auto server = changed_sample();
    const auto phone = open_pack(make_pack(*server, pack_key()), pack_key().public_key());
    CHECK(protocol_json(*phone, phone->catalogue) == protocol_json(*server, server->catalogue));
    CHECK(facilities_json(*phone) == facilities_json(*server));
    CHECK(phone->roads->changes() == server->roads->changes());
    CHECK(phone->facilities.reports() == server->facilities.reports());
    const Instant now = parse_rfc3339(sample_now);
    for (const facilities::Facility& place : server->facilities.facilities()) {
        CHECK(facility_json(*phone, place.id) == facility_json(*server, place.id));
        CHECK(readiness_json(*phone, place.id, now, phone->catalogue) ==
              readiness_json(*server, place.id, now, server->catalogue));
    }
    REQUIRE(phone->other_languages.size() == server->other_languages.size());
    for (std::size_t i = 0; i < server->other_languages.size(); ++i) {
        CHECK(phone->other_languages[i].language() == server->other_languages[i].language());
        CHECK(protocol_json(*phone, phone->other_languages[i]) ==
              protocol_json(*server, server->other_languages[i]));
    }
    std::mt19937 random{20260304};
    constexpr int cases = 60;
    for (int i = 0; i < cases; ++i) {
        const std::string request = random_request(*server, random);
        CAPTURE(request);
        CHECK(said(*phone, request) == said(*server, request));
    }
}

TEST_CASE("A district's pack is small enough for a bad connection: under 3 MB") {
    MESSAGE("the sample's pack has " << sample_pack().size() << " bytes");
    CHECK(sample_pack().size() < 3'000'000);
}

TEST_CASE("The same district makes the same pack, so that a phone need not load it twice") {
    CHECK(make_pack(*sample_snapshot(), pack_key()) == sample_pack());
}

TEST_CASE("A pack with any bit changed is refused, wherever the change is") {
    std::mt19937 random{20260304};
    std::vector<std::size_t> places;
    for (std::size_t i = 0; i < pack_header_bytes; ++i) {
        places.push_back(i);
    }
    for (int i = 0; i < 50; ++i) {
        places.push_back(random() % sample_pack().size());
    }
    for (const std::size_t place : places) {
        CAPTURE(place);
        std::string changed = sample_pack();
        changed[place] =
            static_cast<char>(static_cast<unsigned char>(changed[place]) ^ (1U << random() % 8));
        CHECK(why_refused(changed) != "taken");
    }
}

TEST_CASE("A pack that is not one is refused with the reason") {
    CHECK(why_refused("") == "the pack cannot be used: this is no district pack of Waybourne");
    CHECK(why_refused("{\"name\": \"something else\"}").find("no district pack") !=
          std::string::npos);
    CHECK(why_refused(sample_pack().substr(0, 100)).find("cut short") != std::string::npos);
    CHECK(why_refused(sample_pack().substr(0, 5000)).find("cut short") != std::string::npos);
    CHECK(why_refused(sample_pack() + "x").find("after its end") != std::string::npos);
    CHECK(why_refused(sample_pack()) == "taken");
}

TEST_CASE("A pack of an older or newer version says so") {
    for (const std::uint32_t version : {pack_version - 1, pack_version + 1}) {
        std::string other = sample_pack();
        other[8] = static_cast<char>(version);
        CHECK(why_refused(other).find(version < pack_version
                                          ? "an older version"
                                          : "a newer version") != std::string::npos);
    }
}

TEST_CASE("A pack of another district's server is refused, even though it is whole") {
    const PackKey other{std::string(64, '8')};
    CHECK(why_refused(make_pack(*sample_snapshot(), other)).find("signed by another server") !=
          std::string::npos);
    // Somebody puts our key into a pack that they signed with theirs.
    std::string forged = make_pack(*sample_snapshot(), other);
    forged.replace(72, 32, from_hex(pack_key().public_key()));
    CHECK(why_refused(forged) == "the pack cannot be used: its signature is not the server's");
}

TEST_CASE("A signed pack whose parts make no sense is refused with the part's name") {
    for (const char* missing : {pack_section::about, pack_section::roads, pack_section::reports}) {
        PackSections sections{{"other", "content"}};
        for (const char* name :
             {pack_section::about, pack_section::district, pack_section::protocol, "texts.en.json",
              pack_section::facilities, pack_section::reports, pack_section::speeds,
              pack_section::roads}) {
            if (name != missing) {
                sections.emplace_back(name, "{}");
            }
        }
        CHECK(why_refused(with_sections(sections)).find("pack") != std::string::npos);
    }
}

TEST_CASE("The key is kept in a file of its own and stays the same") {
    const PrivateFolder folder;
    const std::filesystem::path file = folder.path() / "pack.key";
    const std::string first = load_pack_key(file).public_key();
    CHECK(load_pack_key(file).public_key() == first);
    CHECK(PackKey{}.public_key() != first);
    std::filesystem::permissions(
        file, std::filesystem::perms::owner_all | std::filesystem::perms::others_read);
    CHECK_THROWS_AS(load_pack_key(file), InputError);
    CHECK_THROWS_AS(PackKey{"abc"}, InputError);
}

TEST_CASE("The pack that is in force is made once, and the one before can still be had") {
    PackShelf shelf{pack_key()};
    const auto first = shelf.pack_of(sample_snapshot());
    CHECK(shelf.pack_of(sample_snapshot()) == first);
    CHECK(first->bytes == sample_pack());
    const auto second = shelf.pack_of(changed_sample());
    CHECK(second->sha256 != first->sha256);
    CHECK(shelf.find(first->sha256) == first);
    CHECK(shelf.find(second->sha256) == second);
    CHECK(shelf.find(std::string(64, '0')) == nullptr);
}

TEST_CASE("A phone asks whether its pack is still the one in force, and loads nothing when it is") {
    PackShelf shelf{pack_key()};
    const AskedDirectly server{&shelf};
    const HttpResponse first = server.get("/v1/pack");
    REQUIRE(first.status == 200);
    CHECK(first.body == sample_pack());
    const std::string tag = field(first, "ETag");
    CHECK(tag == "\"" + sha256(first.body) + "\"");
    CHECK(field(first, "Cache-Control") == "private, no-cache");
    const HttpResponse again = server.get("/v1/pack", tag);
    CHECK(again.status == 304);
    CHECK(again.body.empty());
    CHECK(server.get("/v1/pack", "\"another\"").status == 200);
    const HttpResponse by_hash = server.get("/v1/packs/" + sha256(first.body));
    CHECK(by_hash.body == first.body);
    CHECK(field(by_hash, "Cache-Control") == "private, max-age=31536000, immutable");
    CHECK_THROWS_AS(server.get("/v1/packs/" + std::string(64, '0')), NotFound);
    CHECK(server.get("/v1/pack-key").body ==
          R"({"algorithm":"Ed25519","public_key":")" + pack_key().public_key() + R"("})");
}

TEST_CASE("A server that makes no packs says so") {
    const AskedDirectly server{nullptr};
    CHECK_THROWS_AS(server.get("/v1/pack"), Unavailable);
    CHECK_THROWS_AS(server.get("/v1/pack-key"), Unavailable);
}

}  // namespace waybourne::server::test
