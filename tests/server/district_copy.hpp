#pragma once
/// The sample district in a folder of its own, to be changed.

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include "server/program_files.hpp"
#include "tests/server/guarded_sample.hpp"
#include "vocabulary/sha256.hpp"

namespace waybourne::server::test {

class DistrictCopy {
public:
    DistrictCopy() {
        for (const auto& entry :
             std::filesystem::directory_iterator(program_folder() / "maps-sample")) {
            if (entry.is_regular_file()) {
                std::filesystem::copy_file(entry.path(), file(entry.path().filename().string()));
            }
        }
    }
    std::filesystem::path path() const { return folder_.path(); }
    std::filesystem::path file(const std::string& name) const { return folder_.path() / name; }
    std::string read(const std::string& name) const {
        std::ifstream in{file(name), std::ios::binary};
        return {std::istreambuf_iterator<char>{in}, {}};
    }
    /// Writes or replaces a file, and says so in the manifest.
    void put(const std::string& name, const std::string& content) const {
        std::ofstream{file(name), std::ios::binary} << content;
        nlohmann::json manifest = nlohmann::json::parse(read("manifest.json"));
        manifest["files"][name] = {{"bytes", content.size()}, {"sha256", sha256(content)}};
        std::ofstream{file("manifest.json")} << manifest.dump();
    }
    /// Names a file of the district, e.g. `speeds`.
    void name_file(const std::string& what, const std::string& name) const {
        nlohmann::json district = nlohmann::json::parse(read("district.json"));
        district["files"][what] = name;
        put("district.json", district.dump());
    }

private:
    PrivateFolder folder_;
};

}  // namespace waybourne::server::test
