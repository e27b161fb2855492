#include <emscripten/emscripten.h>

#include <exception>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "phone/answers.hpp"
#include "phone/platform.hpp"
#include "server/json/writer.hpp"
#include "server/pack/pack_content.hpp"
#include "server/pack/pack_file.hpp"
#include "server/problem.hpp"

// The door between the page's JavaScript (page/core/) and the rooms: plain functions on bytes. What
// they answer stays until the next call. One thread, one pack.

namespace {

using namespace waybourne;

struct Core {
    std::shared_ptr<const server::Snapshot> snapshot;
    /// Where the page puts a pack's file, and what was in it once it is unpacked.
    std::string file;
    std::shared_ptr<std::string> payload;
    phone::Answer answer;
};

Core& core() {
    static Core one;
    return one;
}

phone::Answer unusable_pack() {
    const server::Problem cause = server::to_problem(std::current_exception());
    return phone::to_answer(
        {422, "unusable-pack", "This pack cannot be used", server::to_line(cause)});
}

std::string header_json(const server::PackHeader& header) {
    server::JsonWriter json;
    json.begin_object().member("made_at", header.made_at);
    json.member("unpacked_bytes", static_cast<std::int64_t>(header.unpacked_bytes));
    json.member("sha256", header.payload_sha256).member("public_key", header.public_key);
    return json.member("signature", header.signature).end_object().take();
}

std::string snapshot_json(const server::Snapshot& snapshot) {
    server::JsonWriter json;
    json.begin_object().member("district", snapshot.district.name);
    json.member("made_at", snapshot.made_at).member("version", snapshot.version);
    json.member("time_zone", snapshot.district.time_zone);
    json.member("language", snapshot.catalogue.language());
    json.member("facilities", snapshot.facilities.facilities().size());
    return json.member("reports", snapshot.report_count).end_object().take();
}

int show(phone::Answer answer) {
    core().answer = std::move(answer);
    return core().answer.status;
}

}  // namespace

extern "C" {

/// Room for a pack's file.
EMSCRIPTEN_KEEPALIVE char* core_file(std::size_t bytes) {
    core().file.assign(bytes, '\0');
    return core().file.data();
}

/// Reads the header of the file that stands there. @return 200 with what it says, or a problem
EMSCRIPTEN_KEEPALIVE int core_read_header(const char* trusted_key) {
    try {
        const server::PackHeader header = server::read_pack_header(core().file);
        server::check_pack_key(header, trusted_key);
        return show({200, header_json(header)});
    } catch (...) {
        return show(unusable_pack());
    }
}

/// Room for the unpacked payload; the file is let go.
EMSCRIPTEN_KEEPALIVE char* core_payload(std::size_t bytes) {
    core().file = std::string{};
    core().payload = std::make_shared<std::string>(bytes, '\0');
    return core().payload->data();
}

/// Answers from this payload from now on, or says why not and goes on with the one before.
EMSCRIPTEN_KEEPALIVE int core_open() {
    const std::shared_ptr<const std::string> payload = std::move(core().payload);
    std::optional<std::vector<TimeZone>> before;
    try {
        before = phone::provide_time_zones(server::zones_of_pack(server::read_sections(*payload)));
        core().snapshot = server::snapshot_of_pack(payload);
        return show({200, snapshot_json(*core().snapshot)});
    } catch (...) {
        if (before) {
            phone::provide_time_zones(std::move(*before));
        }
        return show(unusable_pack());
    }
}

/// @param languages as in an `Accept-Language` field
/// @param now_s seconds since 1970
EMSCRIPTEN_KEEPALIVE int core_ask(const char* method, const char* path, const char* languages,
                                  const char* body, std::size_t body_bytes, double now_s) {
    const Instant now{Seconds{static_cast<std::int64_t>(now_s)}};
    return show(
        phone::answer(core().snapshot.get(), {method, path, {body, body_bytes}, languages}, now));
}

EMSCRIPTEN_KEEPALIVE const char* core_text() {
    return core().answer.text.data();
}

EMSCRIPTEN_KEEPALIVE std::size_t core_text_bytes() {
    return core().answer.text.size();
}

}  // extern "C"
