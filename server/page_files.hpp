#pragma once
/// The page that browsers load: its files, held in memory as they are served.

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <string_view>

namespace waybourne::server {

struct PageFile {
    std::string content_type;
    std::string bytes;
    /// The same, compressed once for all (RFC 1952); empty for what is compressed when it is sent.
    std::string gzip = {};
    bool operator==(const PageFile&) const = default;
};

/// Every file of the page by the path under which it is served. Immutable; share it between
/// threads.
///
/// | file in the folder               | served as                    |
/// |----------------------------------|------------------------------|
/// | `index.html`                     | `/`                          |
/// | `worker.js`                      | `/worker.js`                 |
/// | `manifest.webmanifest`           | `/manifest.webmanifest`      |
/// | `NAME`, `FOLDER/NAME`            | `/page/NAME`, `/page/FOLDER/NAME` |
///
/// The service worker is told what it is to keep: its first line is `const release = {version,
/// files};`, made here, so that it changes exactly when a file does.
class PageFiles {
public:
    PageFiles() = default;
    explicit PageFiles(std::map<std::string, PageFile, std::less<>> files)
        : files_(std::move(files)) {}
    /// Null where nothing is served under the path.
    const PageFile* find(std::string_view path) const;
    const std::map<std::string, PageFile, std::less<>>& all() const { return files_; }

private:
    std::map<std::string, PageFile, std::less<>> files_;
};

/// Reads the page's folder. The libraries come from `vendor/`, where an installation has them, or
/// from `node_modules/`, where npm puts them; the page works without them, but for the map.
/// @throws DataError when `index.html` is missing or a file cannot be read
PageFiles read_page_files(const std::filesystem::path& folder);

/// By the ending of the name; none for a file that is not served.
std::optional<std::string> content_type_of(const std::filesystem::path& file);

}  // namespace waybourne::server
