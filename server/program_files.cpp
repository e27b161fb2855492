#include "server/program_files.hpp"

#include <fstream>
#include <sstream>
#include <vector>

#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace fs = std::filesystem;

fs::path program_folder() {
    const fs::path known{"triage/protocol/protocol.json"};
    std::error_code none;
    const fs::path program = fs::read_symlink("/proc/self/exe", none);
    std::vector<fs::path> places{program.parent_path().parent_path() / "share" / "waybourne"};
    for (fs::path above = program.parent_path(); above.has_relative_path();
         above = above.parent_path()) {
        places.push_back(above);
    }
    places.emplace_back(WAYBOURNE_SHARE_DIR);
    for (const fs::path& place : places) {
        if (fs::exists(place / known, none)) {
            return place;
        }
    }
    throw DataError("the files that come with the program are missing: looked for " +
                    known.string() + " beside the program, above it and in " WAYBOURNE_SHARE_DIR);
}

std::string read_program_file(const fs::path& file) {
    std::ifstream stream{file, std::ios::binary};
    std::ostringstream text;
    text << stream.rdbuf();
    if (!stream || !text) {
        throw DataError(file.string() + ": cannot be read");
    }
    return std::move(text).str();
}

}  // namespace waybourne::server
