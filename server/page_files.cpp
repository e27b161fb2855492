#include "server/page_files.hpp"

#include <fmt/format.h>
#include <zlib.h>

#include <array>
#include <utility>

#include "server/program_files.hpp"
#include "vocabulary/error.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server {

namespace fs = std::filesystem;

namespace {

using Files = std::map<std::string, PageFile, std::less<>>;

/// A library's file, as the page names it and as npm places it.
struct Vendored {
    std::string_view name;
    std::string_view in_node_modules;
};
constexpr std::array vendored{
    Vendored{"leaflet.js", "node_modules/leaflet/dist/leaflet.js"},
    Vendored{"leaflet.css", "node_modules/leaflet/dist/leaflet.css"},
    Vendored{"noble-ed25519.js", "node_modules/@noble/ed25519/index.js"},
};

std::string path_of(const fs::path& relative) {
    const std::string name = relative.generic_string();
    if (name == "index.html") {
        return "/";
    }
    return (name == "worker.js" || name == "manifest.webmanifest" ? "/" : "/page/") + name;
}

/// Only names that no address has to escape.
bool is_plain(std::string_view name) {
    return name.find_first_not_of(
               "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_./") ==
           std::string_view::npos;
}

void read_folder(const fs::path& folder, const fs::path& below, Files& files) {
    for (const auto& entry : fs::directory_iterator(folder / below)) {
        const fs::path relative = below / entry.path().filename();
        const std::string name = relative.generic_string();
        if (entry.is_directory() && below.empty() && name != "node_modules") {
            read_folder(folder, relative, files);
        } else if (const auto type = content_type_of(relative); entry.is_regular_file() && type &&
                                                                is_plain(name) &&
                                                                !name.starts_with("package")) {
            files[path_of(relative)] = {*type, read_program_file(entry.path())};
        }
    }
}

void read_vendored(const fs::path& folder, Files& files) {
    for (const Vendored& library : vendored) {
        const std::string path = fmt::format("/page/vendor/{}", library.name);
        const fs::path file = folder / library.in_node_modules;
        if (files.count(path) == 0 && fs::exists(file)) {
            files[path] = {content_type_of(file).value_or(""), read_program_file(file)};
        }
    }
}

/// As small as zlib makes it, in gzip's form (RFC 1952). O(bytes): a second for ten megabytes.
std::string gzipped(const std::string& bytes) {
    constexpr int gzip_window = 15 + 16;  // zlib.h, deflateInit2: 16 more asks for gzip's form
    constexpr int most_memory = 9;
    z_stream stream{};
    if (deflateInit2(&stream, Z_BEST_COMPRESSION, Z_DEFLATED, gzip_window, most_memory,
                     Z_DEFAULT_STRATEGY) != Z_OK) {
        throw DataError("there is no memory to compress the page");
    }
    std::string packed(deflateBound(&stream, static_cast<uLong>(bytes.size())), '\0');
    std::string source = bytes;  // zlib's interface takes no constant bytes
    stream.next_in = reinterpret_cast<Bytef*>(source.data());
    stream.avail_in = static_cast<uInt>(source.size());
    stream.next_out = reinterpret_cast<Bytef*>(packed.data());
    stream.avail_out = static_cast<uInt>(packed.size());
    deflate(&stream, Z_FINISH);  // cannot fail: there is room for the worst case
    packed.resize(stream.total_out);
    deflateEnd(&stream);
    return packed;
}

/// The core is most of what a phone loads, and the HTTP library sends WebAssembly as it is.
void compress_core(Files& files) {
    for (auto& [path, file] : files) {
        if (file.content_type == "application/wasm") {
            file.gzip = gzipped(file.bytes);
        }
    }
}

/// What the service worker keeps, and a version that changes when any of it does.
std::string release_line(const Files& files) {
    std::string digests;
    std::string names;
    for (const auto& [path, file] : files) {
        digests += path + " " + sha256(file.bytes) + "\n";
        if (path != "/worker.js") {
            names += fmt::format("{}\"{}\"", names.empty() ? "" : ",", path);
        }
    }
    constexpr std::size_t length = 16;
    return fmt::format("const release = {{\"version\":\"{}\",\"files\":[{}]}};\n",
                       sha256(digests).substr(0, length), names);
}

}  // namespace

std::optional<std::string> content_type_of(const fs::path& file) {
    static const std::map<std::string, std::string, std::less<>> types{
        {".html", "text/html; charset=utf-8"},
        {".css", "text/css; charset=utf-8"},
        {".js", "text/javascript; charset=utf-8"},
        {".mjs", "text/javascript; charset=utf-8"},
        {".json", "application/json"},
        {".webmanifest", "application/manifest+json"},
        {".svg", "image/svg+xml"},
        {".png", "image/png"},
        {".wasm", "application/wasm"},
    };
    const auto found = types.find(file.extension().string());
    return found == types.end() ? std::nullopt : std::optional(found->second);
}

const PageFile* PageFiles::find(std::string_view path) const {
    const auto found = files_.find(path);
    return found == files_.end() ? nullptr : &found->second;
}

PageFiles read_page_files(const fs::path& folder) {
    if (!fs::exists(folder / "index.html")) {
        throw DataError(folder.string() + ": the page's files are missing");
    }
    Files files;
    read_folder(folder, {}, files);
    read_vendored(folder, files);
    compress_core(files);
    if (const auto worker = files.find("/worker.js"); worker != files.end()) {
        worker->second.bytes.insert(0, release_line(files));
    }
    return PageFiles{std::move(files)};
}

}  // namespace waybourne::server
