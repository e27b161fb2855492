#include "server/pack/make_pack.hpp"

#include <sodium.h>
#include <zlib.h>

#include <algorithm>
#include <set>

#include "facilities/register_file.hpp"
#include "routing/network_file.hpp"
#include "server/json/recorded.hpp"
#include "server/json/road_conditions.hpp"
#include "server/pack/pack_content.hpp"
#include "server/pack/pack_file.hpp"
#include "server/security/private_text.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

namespace {

void start_sodium() {
    if (sodium_init() < 0) {
        throw Unavailable("the machine gives no random numbers");
    }
}

const unsigned char* as_bytes(std::string_view text) {
    return reinterpret_cast<const unsigned char*>(text.data());
}

/// Every zone that something in the snapshot names.
std::set<std::string> zone_names(const Snapshot& snapshot) {
    std::set<std::string> names{snapshot.district.time_zone};
    for (const facilities::Facility& place : snapshot.facilities.facilities()) {
        names.insert(place.time_zone);
    }
    for (const routing::Ferry& ferry : snapshot.roads->network().ferries()) {
        if (ferry.timetable) {
            names.insert(ferry.timetable->zone());
        }
    }
    return names;
}

void write_zone(JsonWriter& json, const TimeZone& zone) {
    json.begin_object().member("name", zone.name()).key("periods").begin_list();
    for (const OffsetPeriod& period : zone.periods()) {
        const bool is_first = &period == &zone.periods().front();
        const Seconds from = is_first ? Seconds{0} : period.from.time_since_epoch();
        json.begin_object().member("from_s", from).member("offset_s", period.offset).end_object();
    }
    json.end_list().end_object();
}

std::string about_text(const Snapshot& snapshot) {
    JsonWriter json;
    json.begin_object().member("version", snapshot.version);
    json.member("made_at", snapshot.made_at).member("map_sha256", snapshot.map_sha256);
    json.key("time_zones").begin_list();
    for (const std::string& name : zone_names(snapshot)) {
        write_zone(json, load_time_zone(name));
    }
    json.end_list().key("changes").begin_list();
    for (const routing::RoadChange& change : snapshot.roads->changes()) {
        write_change(json, change);
    }
    return json.end_list().end_object().take();
}

std::string texts_of(const Catalogue& catalogue) {
    JsonWriter json;
    json.begin_object().member("language", catalogue.language());
    json.member("decimal_sign", catalogue.decimal_sign()).key("texts").begin_object();
    for (const auto& [id, words] : catalogue.texts()) {
        json.member(id, words);
    }
    return json.end_object().end_object().take();
}

std::pair<std::string, std::string> named_texts(const Catalogue& catalogue) {
    return {pack_section::texts_prefix + catalogue.language() + ".json", texts_of(catalogue)};
}

std::string payload_of(const Snapshot& snapshot) {
    const facilities::FacilityRegister& places = snapshot.facilities;
    const std::string about = about_text(snapshot);
    std::vector<std::pair<std::string, std::string>> texts{named_texts(snapshot.catalogue)};
    for (const Catalogue& catalogue : snapshot.other_languages) {
        texts.push_back(named_texts(catalogue));
    }
    const std::string register_text = to_geojson(places.facilities(), places.holidays());
    const std::string reports = to_stored(places.reports(), "");
    const auto roads = routing::network_file_bytes(snapshot.roads->network(), snapshot.map_sha256,
                                                   snapshot.roads->hierarchy());
    const std::string_view road_bytes{reinterpret_cast<const char*>(roads.data()), roads.size()};
    PackSections sections{{pack_section::about, about},
                          {pack_section::district, snapshot.district_text},
                          {pack_section::protocol, snapshot.protocol_text}};
    sections.insert(sections.end(), texts.begin(), texts.end());
    sections.insert(sections.end(), {{pack_section::facilities, register_text},
                                     {pack_section::reports, reports},
                                     {pack_section::speeds, snapshot.speeds_text},
                                     {pack_section::roads, road_bytes}});
    return write_sections(sections);
}

std::string packed(const std::string& payload) {
    uLongf size = compressBound(static_cast<uLong>(payload.size()));
    std::string bytes(size, '\0');
    if (compress2(reinterpret_cast<Bytef*>(bytes.data()), &size, as_bytes(payload),
                  static_cast<uLong>(payload.size()), Z_BEST_COMPRESSION) != Z_OK) {
        throw Unavailable("not enough memory to make the pack");
    }
    bytes.resize(size);
    return bytes;
}

std::shared_ptr<const std::string> unpacked(std::string_view bytes, std::uint64_t size) {
    auto payload = std::make_shared<std::string>(static_cast<std::size_t>(size), '\0');
    auto got = static_cast<uLongf>(size);
    auto used = static_cast<uLong>(bytes.size());
    const int result =
        uncompress2(reinterpret_cast<Bytef*>(payload->data()), &got, as_bytes(bytes), &used);
    if (result != Z_OK || got != size || used != bytes.size()) {
        throw DataError("the pack cannot be used: its content cannot be unpacked");
    }
    return payload;
}

}  // namespace

PackKey::PackKey()
    : PackKey(to_hex([] {
          start_sodium();
          std::string seed(crypto_sign_SEEDBYTES, '\0');
          randombytes_buf(seed.data(), seed.size());
          return seed;
      }())) {}

PackKey::PackKey(std::string_view seed) {
    start_sodium();
    std::string bytes = from_hex(seed);
    if (bytes.size() != crypto_sign_SEEDBYTES) {
        throw InputError("a key for packs is 64 hexadecimal digits");
    }
    static_assert(sizeof secret_ == crypto_sign_SECRETKEYBYTES);
    std::string public_bytes(crypto_sign_PUBLICKEYBYTES, '\0');
    crypto_sign_seed_keypair(reinterpret_cast<unsigned char*>(public_bytes.data()), secret_.data(),
                             as_bytes(bytes));
    sodium_memzero(bytes.data(), bytes.size());
    public_key_ = to_hex(public_bytes);
}

PackKey::~PackKey() {
    sodium_memzero(secret_.data(), secret_.size());
}

std::string PackKey::sign(std::string_view bytes) const {
    std::string signature(crypto_sign_BYTES, '\0');
    crypto_sign_detached(reinterpret_cast<unsigned char*>(signature.data()), nullptr,
                         as_bytes(bytes), bytes.size(), secret_.data());
    return signature;
}

std::string PackKey::seed() const {
    std::string bytes(crypto_sign_SEEDBYTES, '\0');
    crypto_sign_ed25519_sk_to_seed(reinterpret_cast<unsigned char*>(bytes.data()), secret_.data());
    return to_hex(bytes);
}

PackKey load_pack_key(const std::filesystem::path& file) {
    const FileLock lock{file};
    if (auto text = read_private_text(file)) {
        if (!text->empty() && text->back() == '\n') {
            text->pop_back();
        }
        return PackKey{*text};
    }
    PackKey key;
    replace_private_text(file, key.seed() + "\n");
    return key;
}

std::string make_pack(const Snapshot& snapshot, const PackKey& key) {
    const std::string payload = payload_of(snapshot);
    const std::string bytes = packed(payload);
    PackHeader header;
    header.packed_bytes = bytes.size();
    header.unpacked_bytes = payload.size();
    header.made_at = snapshot.made_at;
    header.payload_sha256 = sha256(bytes);
    header.public_key = key.public_key();
    const std::string head = signed_part(header);
    return head + key.sign(head) + bytes;
}

std::shared_ptr<const Snapshot> open_pack(std::string_view file, std::string_view public_key) {
    start_sodium();
    const PackHeader header = read_pack_header(file);
    check_pack_key(header, public_key);
    const std::string signature = from_hex(header.signature);
    const std::string key = from_hex(header.public_key);
    const std::string_view head = file.substr(0, pack_signed_bytes);
    if (crypto_sign_verify_detached(as_bytes(signature), as_bytes(head), head.size(),
                                    as_bytes(key)) != 0) {
        throw DataError("the pack cannot be used: its signature is not the server's");
    }
    return snapshot_of_pack(unpacked(file.substr(pack_header_bytes), header.unpacked_bytes));
}

}  // namespace waybourne::server
