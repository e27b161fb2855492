#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

// Which headers a room may include is the architecture. This test reads every #include.

namespace {

namespace fs = std::filesystem;

/// What each room may know: folders, or single headers. Source: docs/architecture.md.
const std::map<std::string, std::set<std::string>>& may_know() {
    static const std::map<std::string, std::set<std::string>> rooms{
        {"vocabulary", {}},
        {"triage", {"vocabulary"}},
        {"facilities", {"vocabulary", "triage/capability.hpp"}},
        {"routing", {"vocabulary"}},
        {"journal", {"vocabulary"}},
        {"referral", {"vocabulary", "triage", "facilities", "routing"}},
        {"dispatch", {"vocabulary", "referral", "facilities", "routing"}},
        {"coverage", {"vocabulary", "facilities", "routing"}},
        {"server",
         {"vocabulary", "triage", "facilities", "routing", "referral", "dispatch", "coverage",
          "journal"}},
        {"phone", {"vocabulary", "triage", "facilities", "routing", "referral", "server"}},
    };
    return rooms;
}

struct Include {
    std::string from;
    std::string header;
};

std::vector<Include> includes_of(const fs::path& file) {
    static const std::regex quoted{R"re(^\s*#\s*include\s*["<]([^">]+)[">])re"};
    std::vector<Include> found;
    std::ifstream stream{file};
    for (std::string line; std::getline(stream, line);) {
        std::smatch match;
        if (std::regex_search(line, match, quoted)) {
            found.push_back({file.string(), match[1]});
        }
    }
    return found;
}

bool is_allowed(const std::string& room, const std::string& header) {
    const std::string folder = header.substr(0, header.find('/'));
    if (folder == room || may_know().count(folder) == 0) {
        return true;  // its own, or not a room's at all
    }
    const std::set<std::string>& known = may_know().at(room);
    const bool is_internal = header.find("/internal/") != std::string::npos;
    return !is_internal && (known.count(folder) != 0 || known.count(header) != 0);
}

std::vector<Include> offences(const fs::path& root) {
    std::vector<Include> found;
    for (const auto& [room, unused] : may_know()) {
        if (!fs::exists(root / room)) {
            continue;
        }
        for (const auto& entry : fs::recursive_directory_iterator(root / room)) {
            const std::string extension = entry.path().extension().string();
            if (extension != ".hpp" && extension != ".cpp") {
                continue;
            }
            for (const Include& include : includes_of(entry.path())) {
                if (!is_allowed(room, include.header)) {
                    found.push_back(include);
                }
            }
        }
    }
    return found;
}

const fs::path source_dir{WAYBOURNE_SOURCE_DIR};

/// Headers that are slow to compile or belong to the edge: only sources may include them.
bool is_heavy(const std::string& header) {
    return header.rfind("nlohmann/", 0) == 0 || header == "httplib.h" ||
           header.rfind("CLI/", 0) == 0 || header.rfind("spdlog/", 0) == 0 ||
           header.rfind("osmium/", 0) == 0 || header.rfind("boost/geometry", 0) == 0;
}

std::string read(const fs::path& file) {
    std::ifstream in{file};
    return {std::istreambuf_iterator<char>{in}, {}};
}

/// A source's text with strings that go on over several lines put together.
std::string joined(const std::string& source) {
    static const std::regex seam{R"re("\s*\n\s*")re"};
    return std::regex_replace(source, seam, "");
}

struct NamedTest {
    std::string file;
    std::string beginning;  ///< of the case's name
};

/// The tests that a document names, as in
/// `guard_test: "Twenty wrong keys…", "A token is good…"`.
std::vector<NamedTest> named_tests(const std::string& text) {
    static const std::regex group{R"re((\w+_test)(\.mjs)?: ((?:"[^"\n]+"(?:, )?)+))re"};
    static const std::regex quoted{R"re("([^"]+)")re"};
    std::vector<NamedTest> named;
    for (std::sregex_iterator found{text.begin(), text.end(), group}, end; found != end; ++found) {
        const std::string file = (*found)[1].str() + ((*found)[2].matched ? ".mjs" : ".cpp");
        const std::string list = (*found)[3];
        for (std::sregex_iterator one{list.begin(), list.end(), quoted}; one != end; ++one) {
            std::string name = (*one)[1];
            const std::string more = "…";
            if (name.ends_with(more)) {
                name.resize(name.size() - more.size());
            }
            named.push_back({file, name});
        }
    }
    return named;
}

}  // namespace

TEST_CASE("Every test that the security page names exists, and each risk of OWASP's ten has one") {
    const std::string page = read(source_dir / "docs" / "security.md");
    const auto named = named_tests(page);
    CHECK(named.size() > 40);
    for (const NamedTest& test : named) {
        const std::string source = joined(read(source_dir / "tests" / "server" / test.file));
        CHECK_MESSAGE(source.find(test.beginning) != std::string::npos,
                      test.file << ": " << test.beginning);
    }
    // The ten of 2023 (owasp.org/API-Security/editions/2023).
    std::istringstream lines{page.substr(page.find("## OWASP"))};
    int risks = 0;
    for (std::string line; std::getline(lines, line);) {
        if (line.starts_with("| " + std::to_string(risks + 1) + " ")) {
            ++risks;
            CHECK_MESSAGE(!named_tests(line).empty(), line);
        }
    }
    CHECK(risks == 10);
}

TEST_CASE("No room includes a header of a room it may not know") {
    for (const Include& offence : offences(source_dir)) {
        FAIL_CHECK(offence.from << " includes " << offence.header);
    }
    CHECK(fs::exists(source_dir / "triage" / "capability.hpp"));  // we looked in the right place
}

TEST_CASE("No public header brings in a library that only the edge needs") {
    std::size_t headers = 0;
    for (const auto& [room, unused] : may_know()) {
        if (!fs::exists(source_dir / room)) {
            continue;
        }
        for (const auto& entry : fs::recursive_directory_iterator(source_dir / room)) {
            if (entry.path().extension() != ".hpp" ||
                entry.path().string().find("/internal/") != std::string::npos) {
                continue;
            }
            ++headers;
            for (const Include& include : includes_of(entry.path())) {
                CHECK_MESSAGE(!is_heavy(include.header),
                              include.from << " includes " << include.header);
            }
        }
    }
    CHECK(headers > 10);
}

TEST_CASE("The check itself catches a room that reaches too far") {
    const fs::path folder = fs::temp_directory_path() / "waybourne_rooms_test";
    fs::remove_all(folder);
    fs::create_directories(folder / "routing");
    fs::create_directories(folder / "facilities");
    std::ofstream{folder / "routing" / "bad.cpp"} << "#include \"triage/assess.hpp\"\n";
    std::ofstream{folder / "facilities" / "bad.hpp"} << "#include <vector>\n"
                                                     << " # include \"triage/findings.hpp\"\n"
                                                     << "#include \"triage/capability.hpp\"\n"
                                                     << "#include <routing/internal/heap.hpp>\n";
    std::vector<std::string> caught;
    for (const Include& offence : offences(folder)) {
        caught.push_back(offence.header);
    }
    std::sort(caught.begin(), caught.end());
    CHECK(caught == std::vector<std::string>{"routing/internal/heap.hpp", "triage/assess.hpp",
                                             "triage/findings.hpp"});
    fs::remove_all(folder);
}
