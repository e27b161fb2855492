#include <doctest/doctest.h>

#include <fstream>

#include "server/page_files.hpp"
#include "tests/server/guarded_sample.hpp"

// Content Security Policy Level 3; ETag: RFC 9110 section 8.8.3.

namespace waybourne::server::test {

namespace {

bool mentions(const std::string& text, std::string_view part) {
    return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("The page opens without a key, and its browser may load nothing from elsewhere") {
    GuardedSample sample;
    const Reply page = sample.send({"GET", "/", ""});
    REQUIRE(page.status == 200);
    CHECK(page.field("Content-Type") == "text/html; charset=utf-8");
    const std::string policy = page.field("Content-Security-Policy");
    CHECK(policy.starts_with("default-src 'none'"));
    CHECK(mentions(policy, "script-src 'self' 'wasm-unsafe-eval';"));
    CHECK(mentions(policy, "img-src 'self';"));
    CHECK_FALSE(mentions(policy, "unsafe-inline"));
    CHECK_FALSE(mentions(policy, "http"));
    CHECK_FALSE(mentions(page.body, "<style"));
    CHECK_FALSE(mentions(page.body, "://"));
}

TEST_CASE("A phone that has a file of the page is not sent it again") {
    GuardedSample sample;
    const Reply first = sample.send({"GET", "/page/app.js", ""});
    REQUIRE(first.status == 200);
    CHECK(first.field("Content-Type") == "text/javascript; charset=utf-8");
    CHECK(first.field("Cache-Control") == "no-cache");
    RawClient client{sample.port()};
    client.send("GET /page/app.js HTTP/1.1\r\nHost: 127.0.0.1\r\nIf-None-Match: " +
                first.field("ETag") + "\r\nConnection: close\r\n\r\n");
    CHECK(parse_reply(client.receive()).status == 304);
}

TEST_CASE("Nothing but the page's own files is served with it") {
    GuardedSample sample;
    for (const char* path : {"/page/nothing.js", "/page/package.json", "/page/package-lock.json",
                             "/page/..%2f..%2fDEVELOPERS.md", "/page/node_modules/leaflet"}) {
        CAPTURE(path);
        CHECK(sample.send({"GET", path, ""}).status == 404);
    }
}

TEST_CASE("The list of what a phone keeps names every file, and changes when one of them does") {
    PrivateFolder folder;
    const auto write = [&](const char* name, const std::string& text) {
        std::ofstream{folder.path() / name} << text;
    };
    write("index.html", "<!doctype html>");
    write("app.js", "one();");
    write("worker.js", "keep(release);");
    write("notes.txt", "not served");
    const PageFiles before = read_page_files(folder.path());
    CHECK(before.all().size() == 3);
    const std::string& worker = before.find("/worker.js")->bytes;
    CHECK(mentions(worker, R"("files":["/","/page/app.js"]};)"));
    CHECK(worker.ends_with("keep(release);"));
    CHECK(read_page_files(folder.path()).find("/worker.js")->bytes == worker);
    write("app.js", "two();");
    CHECK(read_page_files(folder.path()).find("/worker.js")->bytes != worker);
}

TEST_CASE(
    "A phone that takes compressed bytes gets the core compressed, and one that does not gets it "
    "whole") {
    // Content-Encoding and Vary: RFC 9110, sections 8.4 and 12.5.5; gzip's first bytes: RFC 1952,
    // section 2.3.1.
    PrivateFolder folder;
    std::filesystem::create_directory(folder.path() / "core");
    const std::string core(100'000, 'w');
    std::ofstream{folder.path() / "index.html"} << "<!doctype html>";
    std::ofstream{folder.path() / "core" / "core.wasm"} << core;
    const PageFiles files = read_page_files(folder.path());
    const PageFile* file = files.find("/page/core/core.wasm");
    REQUIRE(file != nullptr);
    CHECK(file->bytes == core);
    CHECK(file->gzip.size() < 1000);
    CHECK(file->gzip.starts_with("\x1f\x8b"));
    CHECK(files.find("/")->gzip.empty());  // compressed when it is sent, as every text is
}

}  // namespace waybourne::server::test
