#include "server/cli/output_files.hpp"

#include <filesystem>
#include <fstream>

#include "vocabulary/error.hpp"

namespace waybourne::server {

namespace fs = std::filesystem;

namespace {

/// By another name, through a link, or not there yet.
bool is_same_file(const std::string& one, const std::string& other) {
    std::error_code failed;
    if (fs::equivalent(one, other, failed)) {
        return true;
    }
    const fs::path whole = fs::weakly_canonical(one, failed);
    return !failed && whole == fs::weakly_canonical(other, failed) && !failed;
}

}  // namespace

void refuse_same_file(const std::vector<GivenFile>& files) {
    for (std::size_t i = 0; i < files.size(); ++i) {
        for (std::size_t j = 0; j < i; ++j) {
            if (!files[i].path.empty() && !files[j].path.empty() &&
                is_same_file(files[i].path, files[j].path)) {
                throw InputError(files[i].option + " names the same file as " + files[j].option +
                                 ": " + files[i].path);
            }
        }
    }
}

void refuse_existing(const std::string& path) {
    if (fs::exists(fs::symlink_status(path))) {
        throw Conflict(path + " exists already");
    }
}

void write_new_public_file(const std::string& path, const std::string& content) {
    refuse_existing(path);
    const std::string beside = path + ".part";
    std::ofstream stream{beside, std::ios::binary};
    stream << content;
    stream.close();
    std::error_code failed;
    if (stream) {
        fs::rename(beside, path, failed);
    }
    if (!stream || failed) {
        std::error_code ignored;
        fs::remove(beside, ignored);
        throw Unavailable(path + ": cannot be written");
    }
}

}  // namespace waybourne::server
